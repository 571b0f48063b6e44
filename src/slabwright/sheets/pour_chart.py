"""The pour hour by hour as a chart: evaporation against bleed water, and each panel's windows as bars.

Black on white with hatches, so that a photocopy says the same. Millimetres on paper, y down.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from slabwright.measure import HOUR, Quantity, System, in_units, write
from slabwright.pourday.model import Band, HourRow, PanelWindow, PourDay
from slabwright.pourday.tables import rule
from slabwright.result import Plan
from slabwright.sheets.boxes import Box
from slabwright.sheets.drawing import Point
from slabwright.sheets.lettering import block, shorten, size_for, typeset
from slabwright.sheets.picture import Letters, Picture, Shape, Stroke
from slabwright.sheets.pour_tables import chance, told, worst
from slabwright.sheets.scale import Scale, View
from slabwright.sheets.styles import colour, letter_size, line_styles
from slabwright.sheets.words import word as say

LEFT_MM, RIGHT_MM = 38.0, 9.0  # for names and figures beside the frame
LEGEND_MM, AXIS_MM, ROW_MM, GAP_MM = 7.0, 6.5, 7.0, 2.0
ROUND_MM = 3.5 * LEGEND_MM + AXIS_MM + ROW_MM + GAP_MM  # what graph and bars leave free: legends, hours
LEAST_ROW_MM, MOST_ROW_MM = 5.4, 9.0
GRAPH_LEAST_MM, GRAPH_MOST_MM = 26.0, 70.0
CLEAR_MM = 2.6  # from the middle of small letters to a line
LAYER = "notes"


@dataclass(slots=True)
class _Sheet:
    """What has been drawn so far, in a frame whose hours run from `first` to `last` [s, clock]."""

    wide: float
    first: float
    last: float
    shapes: list[Shape] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    letters: list[Letters] = field(default_factory=list)

    def x(self, clock: float) -> float:
        """Return where a clock [s] lies [mm], held within the frame."""
        part = (min(max(clock, self.first), self.last) - self.first) / (self.last - self.first)
        return LEFT_MM + part * (self.wide - LEFT_MM - RIGHT_MM)

    def line(self, style: str, *points: Point) -> None:
        """Draw a line through points [mm]."""
        self.strokes.append(Stroke(LAYER, line_styles()[style], points))

    def text(
        self,
        text: str,
        x: float,
        y: float,
        *,
        lean: float = 0.0,
        size: str = "small",
        weight: int = 400,
        room: float = 1e3,
    ) -> float:
        """Set text with its middle at y; lean -1: x is its right end, 0: its middle, 1: its left end.

        Returns how wide it is [mm].
        """
        high = size_for(text, letter_size(size))
        shown = shorten(typeset(text), room=room, size=high, weight=weight)
        wide, tall = block(shown, high, weight=weight)
        centre = x + lean * wide / 2.0
        self.letters.append(
            Letters(LAYER, shown, Box(centre, y, wide / 2.0, tall / 2.0), high, weight, False)
        )
        return wide

    def bar(self, a: float, b: float, top: float, high: float, look: str) -> None:
        """Draw a bar between two x [mm]: look 'solid', 'open', or the name of a hatch."""
        if b - a < 0.05:
            return
        ring = ((a, top), (b, top), (b, top + high), (a, top + high))
        if look == "solid":
            self.shapes.append(Shape(LAYER, (ring,), colour("ink")))
        elif look != "open":
            self.shapes.append(Shape(LAYER, (ring,), "", hatch=look))
        self.strokes.append(Stroke(LAYER, line_styles()["thin"], ring, True))


def hours_chart(plan: Plan, lang: str) -> Callable[[float, float], Picture]:
    """Return what draws the chart of a plan with a pour in a width and height [mm]."""

    def draw(wide: float, high: float) -> Picture:
        return _draw(plan, lang, wide, high)

    return draw


def _draw(plan: Plan, lang: str, wide: float, high: float) -> Picture:
    pour, run = told(plan)
    system = plan.notes.units
    # mixes with air bleed little and are held to half the limit
    limit = rule("evaporation_caution" if run.mix.entrained else "evaporation_act") / HOUR
    sheet = _Sheet(wide, *span(pour))
    count, row = _rows(len(pour.windows), high)
    graph = min(GRAPH_MOST_MM, high - count * row - ROUND_MM)
    _graph(sheet, plan, limit, lang, LEGEND_MM, LEGEND_MM + graph)
    top = LEGEND_MM + graph + ROW_MM + GAP_MM
    _bars(sheet, pour, lang, top, count, row)
    foot = top + count * row
    _clocks(sheet, system, foot)
    legend = foot + AXIS_MM + 0.5 * LEGEND_MM
    _bar_legend(sheet, lang, legend)
    if count < len(pour.windows):
        more = say("pour-more-panels", lang, shown=count, all=len(pour.windows))
        sheet.text(more, LEFT_MM, legend + LEGEND_MM, lean=1.0)
        legend += LEGEND_MM
    tall = legend + 0.5 * LEGEND_MM
    view = View(Scale(1000.0, "1:1"), 0.0, (0.0, 0.0), (0.0, 0.0), wide, tall, system)
    return Picture(
        "pour-hours",
        say("pour-chart-alt", lang),
        view,
        wide,
        tall,
        tuple(sheet.shapes),
        tuple(sheet.strokes),
        tuple(sheet.letters),
    )


def _rows(panels: int, high: float) -> tuple[int, float]:
    """Return how many panels are drawn in a height [mm], and how high the bar of each is [mm]."""
    room = high - ROUND_MM - GRAPH_LEAST_MM
    count = max(1, min(panels, int(room / LEAST_ROW_MM)))
    return count, max(LEAST_ROW_MM, min(MOST_ROW_MM, room / count))


def span(pour: PourDay) -> tuple[float, float]:
    """Return the hours to show [s, clock]: from the first placing to a little after the last broom."""
    first = math.floor(min(w.placed_at for w in pour.windows) / HOUR) * HOUR
    ends = [
        t
        for w in pour.windows
        for t in (w.broom_end.late, w.broom_end.likely, w.broom.late, w.broom.likely, w.placed_at + 2 * HOUR)
        if t is not None
    ]
    return first, math.ceil(max(ends) / HOUR + 0.25) * HOUR


def _graph(sheet: _Sheet, plan: Plan, limit: float, lang: str, top: float, foot: float) -> None:
    """Draw evaporation and bleed water of the worst panel between two heights [mm] of the sheet."""
    (pour, _), system = told(plan), plan.notes.units
    one = worst(pour)
    rows = [r for r in pour.hours if (r.slab, r.panel) == (one.slab, one.panel) and r.clock <= sheet.last]
    highest = max([limit, *(r.evaporation or 0.0 for r in rows), *(r.bleed_rate for r in rows)]) * 1.15
    step = _step(in_units("evaporation", highest, system)) / in_units("evaporation", 1.0, system)

    def y(rate: float) -> float:
        return foot - rate / highest * (foot - top)

    left, right = sheet.x(sheet.first), sheet.x(sheet.last)
    for n in range(int(highest / step) + 1):
        height = y(n * step)
        sheet.line("thin" if n == 0 else "pull", (left, height), (right, height))
        shown = write(Quantity("evaporation", n * step), system=system, lang=lang)
        sheet.text(shown, left - 1.5, height, lean=-1.0)
    _hour_lines(sheet, top, foot)
    sheet.line("hidden", (left, y(limit)), (right, y(limit)))
    asked = [(sheet.x(r.clock), y(r.evaporation)) for r in rows if r.evaporation is not None]
    bled = [(sheet.x(r.clock), y(r.bleed_rate)) for r in rows]
    for style, points in (("wall", asked), ("steel", bled)):
        if len(points) > 1:
            sheet.line(style, *points)
    if one.cure_on.likely is not None and one.cure_on.likely < sheet.last - 0.5 * HOUR:
        x = sheet.x(one.cure_on.likely)
        sheet.line("edge", (x, top), (x, foot))
        # clear of the limit's line, which would strike it through
        clear = top + 3.0 if abs(y(limit) - top - 3.0) > CLEAR_MM else top + 3.0 + 2.0 * CLEAR_MM
        sheet.text(say("pour-chart-cure", lang), x + 1.5, clear, lean=1.0)
    _graph_legend(sheet, lang, write(Quantity("evaporation", limit), system=system, lang=lang))
    _chances(sheet, rows, foot + 0.5 * ROW_MM, lang)


def _step(highest: float) -> float:
    """Return a round step that gives three to seven lines up to `highest`."""
    ten = 10.0 ** math.floor(math.log10(highest))
    return next(part * ten for part in (0.1, 0.2, 0.5, 1.0, 2.0) if highest / (part * ten) <= 6.0)


def _graph_legend(sheet: _Sheet, lang: str, limit: str) -> None:
    x = LEFT_MM
    for style, text in (
        ("wall", say("pour-chart-asked", lang)),
        ("steel", say("pour-chart-bleed", lang)),
        ("hidden", say("pour-chart-limit", lang, limit=limit)),
    ):
        sheet.line(style, (x, 2.6), (x + 13.0, 2.6))
        x += 15.0 + sheet.text(text, x + 14.5, 2.6, lean=1.0) + 7.0


def _chances(sheet: _Sheet, rows: list[HourRow], y: float, lang: str) -> None:
    """Write under each hour the chance that the surface dries too fast in it."""
    sheet.text(say("pour-chart-chance", lang), LEFT_MM - 1.5, y, lean=-1.0, room=LEFT_MM - 2.0)
    room = sheet.x(sheet.first + HOUR) - sheet.x(sheet.first)
    every = max(1, math.ceil(10.5 / room))
    for r in rows[::every]:
        middle = sheet.x(r.clock + 0.5 * HOUR)
        if r.evaporation is not None and middle + 5.0 < sheet.x(sheet.last):
            sheet.text(chance(r.shrink_chance), middle, y)


def _hour_lines(sheet: _Sheet, top: float, foot: float) -> None:
    for k in range(round((sheet.last - sheet.first) / HOUR) + 1):
        x = sheet.x(sheet.first + k * HOUR)
        sheet.line("pull", (x, top), (x, foot))


def _bars(sheet: _Sheet, pour: PourDay, lang: str, top: float, count: int, row: float) -> None:
    """Draw the windows of the first `count` panels, each in a row [mm] of its own."""
    _hour_lines(sheet, top, top + count * row)
    several = len({w.slab for w in pour.windows}) > 1
    for n, window in enumerate(pour.windows[:count]):
        y = top + n * row
        name = f"{window.slab}, {window.panel}" if several else f"{say('pour-panel', lang)} {window.panel}"
        sheet.text(name, LEFT_MM - 1.5, y + 0.45 * row, lean=-1.0, weight=600, room=LEFT_MM - 2.0)
        _bar(sheet, window, y, row)


def _bar(sheet: _Sheet, window: PanelWindow, y: float, row: float) -> None:
    top, high = y + 0.16 * row, 0.46 * row
    marks = [window.placed_at]
    for one in (window.strike_off, window.edge, window.broom, window.broom_end):
        marks.append(max(marks[-1], one.likely if one.likely is not None else sheet.last))
    for a, b, look in zip(marks, marks[1:], ("solid", "open", "cut", "fill"), strict=False):
        sheet.bar(sheet.x(a), sheet.x(b), top, high, look)
    for level, one in ((0.76, window.broom), (0.9, window.broom_end)):
        _whisker(sheet, one, y + level * row)


def _whisker(sheet: _Sheet, one: Band, y: float) -> None:
    if one.early is None:
        return
    a, b = sheet.x(one.early), sheet.x(one.late if one.late is not None else sheet.last)
    sheet.line("edge", (a, y), (b, y))
    for x in (a, b):
        sheet.line("edge", (x, y - 0.6), (x, y + 0.6))


def _clocks(sheet: _Sheet, system: System, y: float) -> None:
    """Write the hours under the bars, as many as have room."""
    hours = round((sheet.last - sheet.first) / HOUR)
    room = (sheet.x(sheet.last) - sheet.x(sheet.first)) / hours
    widest = block("12:00 am", letter_size("small"))[0]
    every = next((n for n in (1, 2, 3, 4, 6, 12) if n * room > widest + 2.0), 24)
    for k in range(0, hours + 1, every):
        clock = (sheet.first + k * HOUR) % (24.0 * HOUR)
        sheet.text(write(Quantity("clock", clock), system=system), sheet.x(sheet.first + k * HOUR), y + 3.6)


def _bar_legend(sheet: _Sheet, lang: str, y: float) -> None:
    x = LEFT_MM
    for look, key in (("solid", "placed"), ("open", "wait"), ("cut", "edge"), ("fill", "broom")):
        sheet.bar(x, x + 9.0, y - 1.7, 3.4, look)
        x += 10.5 + sheet.text(say(f"pour-chart-legend-{key}", lang), x + 10.5, y, lean=1.0) + 5.0
    for end in (x, x + 9.0):
        sheet.line("edge", (end, y - 0.8), (end, y + 0.8))
    sheet.line("edge", (x, y), (x + 9.0, y))
    sheet.text(say("pour-chart-legend-band", lang), x + 10.5, y, lean=1.0)
