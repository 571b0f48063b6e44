"""The plan's picture as one piece of SVG: a group a switch, letters each by itself, places to press."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from slabwright.office.picture.facts import Spot, spots
from slabwright.office.picture.parts import AT_FIRST, BASE, Part, parts
from slabwright.result import Plan
from slabwright.sheets.drawing import Point, drawing
from slabwright.sheets.furniture import STRIP_MM, furnish
from slabwright.sheets.lettering import FONT, clean
from slabwright.sheets.picture import Letters, Picture, picture
from slabwright.sheets.scale import MM_PER_M, Scale, View
from slabwright.sheets.styles import colour, part
from slabwright.sheets.svg import layer_groups, lettered
from slabwright.sheets.window import Window
from slabwright.sheets.words import word

WIDE_MM, HIGH_MM = 200.0, 230.0  # of the picture, where the work is small enough
LEAST_MM_PER_M, MOST_WIDE_MM = 20.0, 380.0  # a long walk gets a wider picture, so that its labels have room
LEAST_HIGH_MM = 90.0
ROUND_MM = 17.0  # round the window, for dimensions and words
KEPT = 24

_kept: OrderedDict[tuple[int, str], tuple[Plan, Drawn]] = OrderedDict()
_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class Drawn:
    """A plan's picture: SVG, its switches that have something to show, what can be pressed, its view."""

    svg: str
    switches: tuple[str, ...]
    spots: tuple[Spot, ...]
    view: View


def page_svg(plan: Plan, lang: str = "en") -> str:
    """Return the plan as inline SVG; `drawn` gives what belongs to it besides."""
    return drawn(plan, lang).svg


def drawn(plan: Plan, lang: str = "en") -> Drawn:
    """Return the plan's picture in a language, kept for the plans asked for last."""
    key = (id(plan), lang)
    with _lock:
        found = _kept.get(key)
        if found is not None:
            _kept.move_to_end(key)
            return found[1]
    made = _draw(plan, lang)
    with _lock:
        # the plan is kept with its picture, so that no other can have its id meanwhile
        _kept[key] = (plan, made)
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return made


def view_of(window: Window, plan: Plan) -> View:
    """Return where a window of the site falls on the picture [mm]: as large as it can be."""
    wide, high = window.right - window.left, window.high - window.low
    k = min((WIDE_MM - 2 * ROUND_MM) / wide, (HIGH_MM - 2 * ROUND_MM) / high)  # [mm/m]
    k = max(k, min(LEAST_MM_PER_M, (MOST_WIDE_MM - 2 * ROUND_MM) / max(wide, high)))
    across, tall = k * wide + 2 * ROUND_MM, max(LEAST_HIGH_MM, k * high + 2 * ROUND_MM)
    middle = ((window.left + window.right) / 2, (window.low + window.high) / 2)
    return View(Scale(MM_PER_M / k, ""), 0.0, middle, (across / 2, tall / 2), across, tall, plan.notes.units)


def _draw(plan: Plan, lang: str) -> Drawn:
    window, listed = parts(plan, lang)
    view = view_of(window, plan)
    title = word("alt-plan", lang, title=plan.notes.title)
    switches = tuple(p.key for p in listed if p.key != BASE)
    pressed = tuple(spots(plan, lang))
    k = view.scale.mm_per_m
    x0, y0 = view.to_paper((0.0, 0.0))
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plan" viewBox="0 0 {view.width:.2f} '
        f'{view.height + STRIP_MM:.2f}" role="group" aria-label={quoteattr(clean(title))} '
        f'data-k="{k:.5f}" data-x0="{x0:.3f}" data-y0="{y0:.3f}" stroke-linecap="butt">\n'
    ]
    letters: list[str] = []
    for one in listed:
        paper = _paper(one, view, plan.name)
        if one.key == BASE:
            paper = furnish(paper, lang=lang, bearing=plan.notes.place.bearing, stated=False)
        hidden = "" if one.key == BASE or one.key in AT_FIRST else " off"
        out.append(f'<g class="part part-{one.key}{hidden}" data-part="{one.key}" aria-hidden="true">\n')
        out += layer_groups(paper)
        out.append("</g>\n")
        letters.append(_words(one.key, paper.letters, hidden))
    out.append(_pressed(pressed, view))
    out += letters
    out.append("</svg>")
    return Drawn("".join(out), switches, pressed, view)


def _paper(one: Part, view: View, name: str) -> Picture:
    return picture(drawing(name, one.items), view)


def _words(key: str, letters: Sequence[Letters], hidden: str) -> str:
    """Return the letters of a part, each in a group that says where it belongs and how much it matters."""
    if not letters:
        return ""
    face = f"font-family=\"'{FONT}', 'Sheet Sans', Arial, sans-serif\" text-anchor=\"middle\""
    halo = f'stroke="#ffffff" stroke-width="{part("halo"):.2f}" stroke-linejoin="round" paint-order="stroke"'
    told = "\n".join(_word(one, halo) for one in letters)
    ink = colour("ink")
    return (
        f'<g class="words part part-{key}{hidden}" data-part="{key}" aria-hidden="true" '
        f'fill="{ink}" {face}>\n{told}\n</g>\n'
    )


def _word(one: Letters, halo: str) -> str:
    look = halo if one.halo else ""
    x, y = one.about or (one.box.x, one.box.y)  # the bar's and the arrow's letters stay where they are
    bounds = " ".join(f"{side:.2f}" for side in one.box.bounds())
    about = f'data-at="{x:.2f} {y:.2f}" data-box="{bounds}" data-rank="{one.rank}"'
    return f'<g class="word" {about} {look}>{lettered(one)}</g>'


def _pressed(pressed: Iterable[Spot], view: View) -> str:
    """Return the places that can be pressed: panels lowest, then lines, points on top."""
    out = ['<g class="spots">\n']
    for spot in pressed:
        about = (
            f'class="spot spot-{spot.kind}" data-key={quoteattr(spot.key)} tabindex="-1" role="button" '
            f"aria-label={quoteattr(clean(spot.said))}"
        )
        points = [view.to_paper(p) for p in spot.places]
        if spot.kind == "panel":
            out.append(f'<path {about} d="{_path(points)}Z"/>\n')
        elif len(points) > 1:
            out.append(f'<path {about} fill="none" d="{_path(points)}"/>\n')
        else:
            x, y = points[0]
            out.append(f'<circle {about} cx="{x:.2f}" cy="{y:.2f}" r="3.4"/>\n')
    out.append("</g>\n")
    return "".join(out)


def _path(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
