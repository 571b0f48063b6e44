"""What stands under every drawing: stated scale, scale bar with its check, and the north arrow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from slabwright.measure import System
from slabwright.sheets import key
from slabwright.sheets.boxes import Box
from slabwright.sheets.drawing import Drawing, Point
from slabwright.sheets.extent import extents
from slabwright.sheets.lettering import block, size_for, typeset
from slabwright.sheets.picture import Curve, Letters, Picture, Shape, Stroke, mark, picture
from slabwright.sheets.scale import Extent, Scale, View, bar, fit, north
from slabwright.sheets.styles import colour, letter_size, line_styles
from slabwright.sheets.words import word

STRIP_MM = 14.0
BAR_HIGH_MM = 2.4
NORTH_MM = 5.4
# What a snug drawing keeps free above and below [mm], for labels that give way to each other.
SNUG_MM = 6.0


def _set(text: str, x: float, y: float, size: float, *, weight: int = 400, middle: bool = False) -> Letters:
    """Return letters whose left (or middle) is at x and whose box is centred on y [mm]."""
    shown = typeset(text)
    size = size_for(shown, size)
    wide, high = block(shown, size, weight=weight)
    centre = x if middle else x + wide / 2.0
    return Letters("notes", shown, Box(centre, y, wide / 2.0, high / 2.0), size, weight, False)


def _written_length(mm: float, system: System) -> str:
    """Return a length on paper as a pocket rule shows it."""
    if system is System.METRIC:
        return f"{mm:.1f} mm".replace(".0 mm", " mm")
    sixteenths = round(mm / 25.4 * 16.0)
    whole, rest = divmod(sixteenths, 16)
    if rest == 0:
        return f'{whole}"'
    shrink = math.gcd(rest, 16)
    return f'{whole} {rest // shrink}/{16 // shrink}"' if whole else f'{rest // shrink}/{16 // shrink}"'


def _north_arrow(x: float, y: float, degrees: float, lang: str) -> tuple[list[Shape], list[Stroke], Letters]:
    turn = math.radians(degrees)
    ux, uy = math.sin(turn), -math.cos(turn)
    vx, vy = -uy, ux

    def at(along: float, across: float) -> Point:
        return (x + ux * along + vx * across, y + uy * along + vy * across)

    r = NORTH_MM
    left = (at(r, 0.0), at(-0.75 * r, -0.55 * r), at(-0.35 * r, 0.0))
    outline = (at(r, 0.0), at(-0.75 * r, 0.55 * r), at(-0.35 * r, 0.0), at(-0.75 * r, -0.55 * r))
    ink = line_styles()["thin"]
    shape = mark("notes", left, colour("ink"))
    letter = _set(word("north", lang), x + NORTH_MM + 2.2, y, letter_size("label"), weight=700, middle=True)
    return [shape], [Stroke("notes", ink, outline, True)], letter


def furnish(paper: Picture, *, lang: str = "en", bearing: float | None = 0.0, stated: bool = True) -> Picture:
    """Return the picture made STRIP_MM taller, with scale, bar and north arrow below the drawing.

    bearing: where north lies on site, clockwise from the drawing's own y axis [rad]; no arrow where nobody
    wrote it (None). stated: with the scale
    and the bar's length in words, which only hold on paper; a screen has the bar alone.
    """
    view = paper.view
    one = bar(view.scale, view.system)
    base = paper.height + STRIP_MM - 6.2
    x0 = 1.5
    k = view.scale.mm_per_m
    shapes: list[Shape] = []
    strokes: list[Stroke] = []
    letters: list[Letters] = []
    thin = line_styles()["thin"]
    for n, (a, b) in enumerate(zip(one.ends, one.ends[1:], strict=False)):
        ring = (
            (x0 + a * k, base - BAR_HIGH_MM),
            (x0 + b * k, base - BAR_HIGH_MM),
            (x0 + b * k, base),
            (x0 + a * k, base),
        )
        strokes.append(Stroke("notes", thin, ring, True))
        if n % 2 == 0:
            shapes.append(mark("notes", ring, colour("ink")))
    for n in (0, 2, 4):
        x = x0 + one.ends[n] * k
        letters.append(
            _set(
                one.marks[n], x if n else x + 0.8, base - BAR_HIGH_MM - 2.6, letter_size("small"), middle=True
            )
        )
    if stated:
        check = word("scale-check", lang, length=_written_length(one.length, view.system))
        letters.append(_set(check, x0, base + 3.2, letter_size("small")))
        says = f"{word('scale', lang)} {view.scale.says}"
        # Stated scale beside the bar, clear of the last mark.
        beside = x0 + one.length + 7.0
        letters.append(_set(says, beside, base - 1.6, letter_size("figure"), weight=600))
    if bearing is not None:
        turned = north(view) + math.degrees(bearing)
        middle = (paper.width - 12.0, paper.height + STRIP_MM / 2.0)
        more_shapes, more_strokes, letter = _north_arrow(*middle, turned, lang)
        shapes, strokes, letters = [*shapes, *more_shapes], [*strokes, *more_strokes], [*letters, letter]
    return _with(paper, STRIP_MM, shapes, strokes, letters)


def _with(
    paper: Picture,
    taller: float,
    shapes: list[Shape],
    strokes: Sequence[Stroke | Curve],
    letters: list[Letters],
) -> Picture:
    return replace(
        paper,
        height=paper.height + taller,
        shapes=(*paper.shapes, *shapes),
        strokes=(*paper.strokes, *strokes),
        letters=(*paper.letters, *letters),
    )


def _needed(listed: Sequence[Extent], view: View) -> float:
    """Return how much height [mm] extents take in a view."""
    ys = [(view.to_paper(one.at)[1], one) for one in listed]
    return max(y + one.down for y, one in ys) - min(y - one.up for y, one in ys)


def compose(
    whole: Drawing,
    *,
    width: float,
    height: float,
    system: System = System.IMPERIAL,
    lang: str = "en",
    turn: float = 0.0,
    bearing: float | None = 0.0,
    scale: Scale | None = None,
    margin: float = 3.0,
    explained: bool = True,
    snug: bool = False,
) -> Picture:
    """Return a drawing composed for a frame of width x height [mm]: scaled, labelled and furnished.

    turn [rad, counter-clockwise] brings the site the way round that the person holds the sheet; bearing
    [rad, clockwise from the drawing's y axis] is where north lies; scale keeps several sheets alike;
    explained puts the key of lines, hatches and signs below the drawing; snug takes off the height that
    the drawing does not need at its scale.
    Raises ValueError when nothing is shown or the frame is too small.
    """
    words = key.lay_out(whole, width=width, lang=lang) if explained else ()
    listed = extents(whole, turn=turn)

    def view(high: float, scale: Scale | None) -> View:
        return fit(listed, width=width, height=high, system=system, turn=turn, scale=scale, margin=margin)

    room = height - STRIP_MM - key.height(words)
    seen = view(room, scale)
    paper = None
    if snug:
        low = min(room, _needed(listed, seen) + 2.0 * margin + SNUG_MM)
        paper = picture(whole, view(low, seen.scale))
    if paper is None or paper.left_out:  # the letters want the whole frame
        paper = picture(whole, seen)
    paper = _with(paper, key.height(words), *key.drawn(words, paper.height))
    return furnish(paper, lang=lang, bearing=bearing)
