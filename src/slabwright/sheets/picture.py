"""A drawing on paper: every line, shape and label where it will be printed. Millimetres, y down.

`picture` plays a drawing through a view and places its labels; each writer only copies what stands here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

from slabwright.sheets.boxes import Box, meet
from slabwright.sheets.candidates import Ask, readable
from slabwright.sheets.drawing import (
    Arc,
    Area,
    Arrow,
    Dimension,
    Drawing,
    Line,
    Marker,
    Point,
    Polyline,
    Text,
)
from slabwright.sheets.lettering import block, label, size_for
from slabwright.sheets.markers import Sign, sign, turned
from slabwright.sheets.place import Barrier, place
from slabwright.sheets.scale import View
from slabwright.sheets.styles import LineStyle, colour, layer_line, letter_size, line_styles, part


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points [mm] in one style."""

    layer: str
    style: LineStyle
    points: tuple[Point, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Curve:
    """An arc about centre [mm] of radius [mm] from start to end [rad], counter-clockwise as seen."""

    layer: str
    style: LineStyle
    centre: Point
    radius: float
    start: float
    end: float
    full: bool


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled shape of rings [mm] by the even-odd rule: colour '#rrggbb' and share of it over white [-].

    A `mark` is part of a sign and lies above all lines; other shapes are ground and lie below them.
    """

    layer: str
    rings: tuple[tuple[Point, ...], ...]
    fill: str
    tint: float = 1.0
    hatch: str = ""
    mark: bool = False


def mark(layer: str, ring: tuple[Point, ...], fill: str) -> Shape:
    """Return a solid part of a sign: one ring [mm] in a colour '#rrggbb'."""
    return Shape(layer, (ring,), fill, mark=True)


@dataclass(frozen=True, slots=True)
class Letters:
    """A placed label: text as it is set, its box and em height [mm], its leader if it has one.

    `about` is the place [mm] that it belongs to, None for letters that belong to the sheet; labels of a
    lower `rank` matter more.
    """

    layer: str
    text: str
    box: Box
    size: float
    weight: int
    halo: bool
    leader: tuple[Point, Point] | None = None
    about: Point | None = None
    rank: int = 5


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing on paper: its size [mm], what is drawn in drawing order, and texts that found no place."""

    name: str
    alt: str
    view: View
    width: float
    height: float
    shapes: tuple[Shape, ...]
    strokes: tuple[Stroke | Curve, ...]
    letters: tuple[Letters, ...]
    left_out: tuple[str, ...] = ()


@dataclass(slots=True)
class _Draft:
    """What has been played so far."""

    view: View
    shapes: list[Shape] = field(default_factory=list)
    strokes: list[Stroke | Curve] = field(default_factory=list)
    asks: list[tuple[Ask, str, str, float, int, bool]] = field(default_factory=list)
    barriers: list[Barrier] = field(default_factory=list)
    blocks: list[Box] = field(default_factory=list)

    def line(self, layer: str, style: str, points: tuple[Point, ...], *, closed: bool = False) -> None:
        """Add a line in a style and keep letters off it by its weight."""
        ink = line_styles()[style or layer_line(layer)]
        self.strokes.append(Stroke(layer, ink, points, closed))
        touch, per_mm = _keep_off(ink)
        ring = (*points, points[0]) if closed else points
        self.barriers.extend(Barrier(a, b, touch, per_mm) for a, b in pairwise(ring))

    def label(
        self, layer: str, text: str, ask: Ask, size: str | float, *, weight: int = 400, halo: bool = True
    ) -> None:
        """Ask for a place for text; the ask's half sizes are set here from the real font."""
        high = size_for(text, letter_size(size) if isinstance(size, str) else size)
        text = label(text, high, weight=weight)
        wide, tall = block(text, high, weight=weight)
        # Words along a line of no stated length stand over their point, not past the end of nothing.
        span = ask.span if ask.span > 0.0 else wide / 2.0
        sized = replace(ask, half_w=wide / 2.0, half_h=tall / 2.0, span=span)
        self.asks.append((sized, layer, text, high, weight, halo))


# What a line costs to be written over, by its width [mm]: touch, and each mm (our own choice, for ranking).
_KEEP_OFF = ((0.45, 9.0, 1.2), (0.30, 5.0, 0.6), (0.22, 3.0, 0.4), (0.0, 0.8, 0.08))


def _keep_off(style: LineStyle) -> tuple[float, float]:
    for width, touch, per_mm in _KEEP_OFF:
        if style.width >= width:
            # A dashed line shows through between the letters' halos and is followed by eye.
            share = 0.4 if style.dash else 1.0
            return share * touch, share * per_mm
    return 0.0, 0.0


def dimension_line(item: Dimension, view: View) -> tuple[Point, Point, Point, Point]:
    """Return the paper points [mm] of a dimension: both measured points, then both ends of its line.

    The offset lies to the left of a towards b as seen on paper.
    """
    a, b = view.to_paper(item.a), view.to_paper(item.b)
    if item.along is None:
        ux, uy = b[0] - a[0], b[1] - a[1]
    else:
        turn = item.along + view.turn
        ux, uy = math.cos(turn), -math.sin(turn)
        if ux * (b[0] - a[0]) + uy * (b[1] - a[1]) < 0.0:
            ux, uy = -ux, -uy
    length = math.hypot(ux, uy)
    if length < 1e-9:
        ux, uy, length = 1.0, 0.0, 1.0
    ux, uy = ux / length, uy / length
    left = (uy, -ux)
    reach_a = a[0] * left[0] + a[1] * left[1]
    reach_b = b[0] * left[0] + b[1] * left[1]
    # The line clears whichever of the two points lies further out on its side.
    far = max(reach_a, reach_b) if item.offset >= 0.0 else min(reach_a, reach_b)
    go_a, go_b = far + item.offset - reach_a, far + item.offset - reach_b
    end_a = (a[0] + left[0] * go_a, a[1] + left[1] * go_a)
    end_b = (b[0] + left[0] * go_b, b[1] + left[1] * go_b)
    return a, b, end_a, end_b


def _play_dimension(draft: _Draft, item: Dimension) -> None:
    a, b, p, q = dimension_line(item, draft.view)
    gap, over, tick = part("extension-gap"), part("extension-over"), part("tick") / 2.0
    for foot, end in ((a, p), (b, q)):
        run = math.hypot(end[0] - foot[0], end[1] - foot[1])
        if run > gap:
            vx, vy = (end[0] - foot[0]) / run, (end[1] - foot[1]) / run
            start = (foot[0] + vx * gap, foot[1] + vy * gap)
            draft.line(item.layer, "thin", (start, (end[0] + vx * over, end[1] + vy * over)))
    length = math.hypot(q[0] - p[0], q[1] - p[1])
    ux, uy = ((q[0] - p[0]) / length, (q[1] - p[1]) / length) if length > 1e-9 else (1.0, 0.0)
    beyond = part("extension-over")
    line = ((p[0] - ux * beyond, p[1] - uy * beyond), (q[0] + ux * beyond, q[1] + uy * beyond))
    draft.line(item.layer, "thin", line)
    # Nothing but its own text may come near a dimension line: whoever reads it must not doubt which it is.
    draft.barriers.append(Barrier(p, q, 4.0, 0.4))
    for end in (p, q):
        # the stroke leans to the right as the text reads
        lean = math.radians(readable(math.degrees(math.atan2(-uy, ux)))) + math.pi / 4.0
        dx, dy = math.cos(lean) * tick, -math.sin(lean) * tick
        stroke = ((end[0] - dx, end[1] - dy), (end[0] + dx, end[1] + dy))
        draft.strokes.append(Stroke(item.layer, line_styles()["tick"], stroke))
    if item.text.strip():
        angle = readable(math.degrees(math.atan2(-uy, ux)))
        mid = ((p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0)
        ask = Ask(
            mid, 0, 0, "along", angle, clear=part("dimension-gap"), span=length / 2.0 - tick, rank=item.rank
        )
        draft.label(item.layer, item.text, ask, item.size, weight=600)


def arrow_parts(
    layer: str, ink: LineStyle, at: Point, along: Point, length: float
) -> tuple[list[Shape], Stroke]:
    """Return head and shaft of an arrow from `at` [mm] in the unit direction `along`, `length` [mm] long."""
    (ux, uy), head = along, min(part("arrow-head"), 0.6 * length)
    half = part("arrow-half") * head / part("arrow-head")
    tip = (at[0] + ux * length, at[1] + uy * length)
    neck = (tip[0] - ux * head, tip[1] - uy * head)
    barb = ((neck[0] - uy * half, neck[1] + ux * half), tip, (neck[0] + uy * half, neck[1] - ux * half))
    return [mark(layer, barb, ink.colour)], Stroke(layer, ink, (at, neck))


def _play_arrow(draft: _Draft, item: Arrow) -> None:
    a, b = draft.view.to_paper(item.a), draft.view.to_paper(item.b)
    run = math.hypot(b[0] - a[0], b[1] - a[1])
    if run < 1e-9:
        return
    ux, uy = (b[0] - a[0]) / run, (b[1] - a[1]) / run
    run = run if item.length is None else item.length
    b = (a[0] + ux * run, a[1] + uy * run)
    ink = line_styles()[item.style or layer_line(item.layer)]
    shapes, shaft = arrow_parts(item.layer, ink, a, (ux, uy), run)
    draft.shapes += shapes
    draft.line(item.layer, ink.name, shaft.points)
    head = part("arrow-head") / 2.0
    draft.blocks.append(Box(b[0] - ux * head, b[1] - uy * head, part("arrow-half"), part("arrow-half")))
    if item.text.strip():
        angle = readable(math.degrees(math.atan2(-uy, ux)))
        mid = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        ask = Ask(mid, 0, 0, "along", angle, clear=part("label-gap"), span=run / 2.0, rank=item.rank)
        draft.label(item.layer, item.text, ask, item.size)


def sign_parts(
    layer: str, shape: Sign, at: Point, angle: float = 0.0
) -> tuple[list[Shape], list[Stroke | Curve]]:
    """Return a sign drawn at a place [mm], turned by angle [rad, counter-clockwise as seen]."""
    ink = line_styles()["edge"]
    strokes: list[Stroke | Curve] = [Stroke(layer, ink, turned(p, at, angle)) for p in shape.strokes]
    shapes = [mark(layer, turned(points, at, angle), colour("ink")) for points in shape.solids]
    for x, y, radius, solid in shape.circles:
        (centre,) = turned(((x, y),), at, angle)
        if solid:
            ring = tuple(
                (centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t))
                for t in (n * math.pi / 8.0 for n in range(16))
            )
            shapes.append(mark(layer, ring, colour("ink")))
        else:
            strokes.append(Curve(layer, ink, centre, radius, 0.0, 2.0 * math.pi, True))
    return shapes, strokes


def _play_marker(draft: _Draft, item: Marker) -> None:
    at = draft.view.to_paper(item.at)
    shape = sign(item.kind)
    shapes, strokes = sign_parts(item.layer, shape, at, item.angle + draft.view.turn if item.angle else 0.0)
    draft.shapes += shapes
    draft.strokes += strokes
    draft.blocks.append(Box(at[0], at[1], shape.reach, shape.reach))
    if item.text.strip():
        towards = None if item.side is None else item.side + draft.view.turn
        ask = Ask(at, 0, 0, "beside", clear=shape.reach + part("label-gap"), rank=item.rank, towards=towards)
        draft.label(item.layer, item.text, ask, item.size, weight=item.weight)


def _play_text(draft: _Draft, item: Text) -> None:
    if not item.text.strip():
        return
    at = draft.view.to_paper(item.at)
    angle = readable(math.degrees(item.angle + draft.view.turn)) if item.angle else 0.0
    room = item.room * draft.view.scale.mm_per_m
    gap = part("label-gap")
    ask = Ask(at, 0, 0, item.mode, angle, clear=gap, span=room, room=room, rank=item.rank)
    draft.label(item.layer, item.text, ask, item.size, weight=item.weight, halo=item.halo)


def _play_arc(draft: _Draft, item: Arc) -> None:
    ink = line_styles()[item.style or layer_line(item.layer)]
    view = draft.view
    centre, radius = view.to_paper(item.centre), item.radius * view.scale.mm_per_m
    start, end = item.start + view.turn, item.end + view.turn
    draft.strokes.append(Curve(item.layer, ink, centre, radius, start, end, item.full))
    touch, per_mm = _keep_off(ink)
    # Only for keeping letters off: chords of at most 15 degrees.
    parts = max(2, math.ceil(abs(end - start) / math.radians(15.0)))
    turns = [start + (end - start) * n / parts for n in range(parts + 1)]
    points = [(centre[0] + radius * math.cos(t), centre[1] - radius * math.sin(t)) for t in turns]
    draft.barriers.extend(Barrier(a, b, touch, per_mm) for a, b in pairwise(points))


def _play_area(draft: _Draft, item: Area) -> None:
    rings = tuple(tuple(map(draft.view.to_paper, ring)) for ring in item.rings)
    if item.fill or item.hatch:
        fill = colour(item.fill) if item.fill else ""
        draft.shapes.append(Shape(item.layer, rings, fill, item.tint, item.hatch))
    if item.outline:
        for ring in rings:
            draft.line(item.layer, item.outline, ring, closed=True)


def _play(draft: _Draft, items: Iterable[object]) -> None:
    view = draft.view
    for item in items:
        match item:
            case Line():
                draft.line(item.layer, item.style, (view.to_paper(item.a), view.to_paper(item.b)))
            case Polyline():
                points = tuple(map(view.to_paper, item.points))
                draft.line(item.layer, item.style, points, closed=item.closed)
            case Area():
                _play_area(draft, item)
            case Arc():
                _play_arc(draft, item)
            case Dimension():
                _play_dimension(draft, item)
            case Arrow():
                _play_arrow(draft, item)
            case Marker():
                _play_marker(draft, item)
            case Text():
                _play_text(draft, item)


def picture(whole: Drawing, view: View) -> Picture:
    """Return the drawing as it stands on paper in a view, its labels placed clear of each other."""
    draft = _Draft(view)
    _play(draft, whole.shown())
    asks = [entry[0] for entry in draft.asks]
    spots = place(asks, barriers=draft.barriers, blocks=draft.blocks, width=view.width, height=view.height)
    letters: list[Letters] = []
    left_out: list[str] = []
    for (ask, layer, text, size, weight, halo), spot in zip(draft.asks, spots, strict=True):
        if spot is None:
            left_out.append(text)
        else:
            placed = Letters(layer, text, spot.box, size, weight, halo, spot.leader, ask.at, ask.rank)
            letters.append(placed)
    return Picture(
        whole.name,
        whole.alt or whole.name,
        view,
        view.width,
        view.height,
        tuple(draft.shapes),
        tuple(draft.strokes),
        tuple(letters),
        tuple(left_out),
    )


def overlaps(paper: Picture) -> list[tuple[str, str]]:
    """Return every two labels of a picture that overlap on paper; an empty list is what a sheet must have."""
    ordered = sorted(paper.letters, key=lambda one: one.box.bounds()[0])
    found: list[tuple[str, str]] = []
    for n, one in enumerate(ordered):
        right = one.box.bounds()[2]
        for other in ordered[n + 1 :]:
            if other.box.bounds()[0] > right:
                break
            if meet(one.box, other.box):
                found.append((one.text, other.text))
    return found
