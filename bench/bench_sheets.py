"""Time to place labels, write SVG, CSV and a packet, beside general-purpose ways to the same end.

    python bench/bench_sheets.py

SVG of 4,000 lines: beside the standard library's element tree building and writing the same lines, one
element each. Packet of three pages: beside the typesetter alone on three blank pages (the floor).
Figures are the best of several rounds; all is warm.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable
from datetime import date
from xml.etree import ElementTree as ET

import typst

from slabwright.measure import Both
from slabwright.sheets import pages as pg
from slabwright.sheets.drawing import Dimension, Item, Line, Marker, Text, drawing
from slabwright.sheets.furniture import compose
from slabwright.sheets.lettering import font_folder
from slabwright.sheets.packet import compose_pages, pdf_bytes
from slabwright.sheets.picture import Picture, Stroke, overlaps
from slabwright.sheets.svg import svg
from slabwright.sheets.tables import Column, Table

FT = 0.3048


def best(job: Callable[[], object], rounds: int = 7) -> float:
    """Return the least time of one call [s] over rounds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def patio() -> list[Item]:
    """Return a 40 x 30 ft patio: 63 heights, 48 panel names, 14 dimensions."""
    items: list[Item] = [Line("joints", (i * 5 * FT, 0.0), (i * 5 * FT, 30 * FT)) for i in range(9)]
    items += [Line("joints", (0.0, j * 5 * FT), (40 * FT, j * 5 * FT)) for j in range(7)]
    items += [
        Marker("heights", (i * 5 * FT, j * 5 * FT), "shot", f'-{i + j} 3/8"')
        for i in range(9)
        for j in range(7)
    ]
    items += [
        Text("joints", ((i + 0.5) * 5 * FT, (j + 0.5) * 5 * FT), f"P{6 * i + j + 1}", room=1.5 * FT)
        for i in range(8)
        for j in range(6)
    ]
    corners = [i * 5 * FT for i in range(9)]
    items += [Dimension("dimensions", (a, 0.0), (a + 5 * FT, 0.0), "5'-0\"", -10.0) for a in corners[:8]]
    items += [Dimension("dimensions", (0.0, a), (0.0, a + 5 * FT), "5'-0\"", 10.0) for a in corners[:6]]
    return items


def thicket() -> Picture:
    """Return a picture of 4,000 short lines."""
    turns = [0.37 * k for k in range(4000)]
    lines = [
        Line(
            "ground",
            (10 * math.cos(t), 7 * math.sin(1.3 * t)),
            (10 * math.cos(t) + 0.2, 7 * math.sin(1.3 * t)),
        )
        for t in turns
    ]
    return compose(drawing("thicket", lines), width=260.0, height=160.0, explained=False)


def by_elements(paper: Picture) -> str:
    """Return the same lines as one element each, built and written by the standard library."""
    root = ET.Element("svg", {"xmlns": "http://www.w3.org/2000/svg"})
    for stroke in paper.strokes:
        if isinstance(stroke, Stroke):
            (ax, ay), (bx, by) = stroke.points[0], stroke.points[1]
            ends = {"x1": f"{ax:.2f}", "y1": f"{ay:.2f}", "x2": f"{bx:.2f}", "y2": f"{by:.2f}"}
            ET.SubElement(root, "line", {**ends, "stroke": stroke.style.colour})
    return ET.tostring(root, encoding="unicode")


def packet() -> list[pg.Page]:
    """Return three pages: the patio, its heights, and figures with words."""
    columns = (Column("p", "Point", "Punto"), Column("h", "From sill", "Desde", "height_difference"))
    rows = tuple((f"N{n}", -0.1 - 0.003 * n) for n in range(25))
    heights = Table("heights", Both("Heights", "Alturas"), columns, rows)
    plan = drawing("patio", patio())
    return [
        pg.Page("Plan", (pg.DrawingBlock(plan),), "tabloid"),
        pg.Page(
            "Heights",
            (pg.SideBySide((pg.DrawingBlock(plan, 0.9),), (pg.TableBlock(heights),), 0.7),),
            "tabloid",
        ),
        pg.Page(
            "Order",
            (pg.FigureBlock((pg.Figure("Concrete", "15 1/4 yd3"),)), pg.TableBlock(heights)),
            "tabloid",
        ),
    ]


def main() -> None:
    """Print each figure beside its peer."""
    plan = drawing("patio", patio())
    placed = compose(plan, width=410.0, height=235.0)
    seconds = best(lambda: compose(plan, width=410.0, height=235.0))
    leaders = sum(one.leader is not None for one in placed.letters)
    print(
        f"compose a patio with {len(placed.letters)} labels: {1e3 * seconds:.1f} ms, "
        f"{len(overlaps(placed))} overlaps, {len(placed.left_out)} left out, {leaders} leaders"
    )
    many = thicket()
    ours, peer = best(lambda: svg(many)), best(lambda: by_elements(many))
    sizes = len(svg(many)) / len(by_elements(many))
    print(
        f"SVG of 4,000 lines: {1e3 * ours:.1f} ms; element tree {1e3 * peer:.1f} ms, "
        f"ratio {ours / peer:.2f}; size ratio {sizes:.2f}"
    )
    sheets, strip = packet(), pg.Strip("Invented patio", date(2026, 5, 4))
    made = compose_pages(sheets, strip)
    fonts = typst.Fonts(font_paths=[str(font_folder())], include_system_fonts=False)
    blank = {"main": b'#set page("us-tabloid", flipped: true)\n#pagebreak()\n#pagebreak()'}
    ready = best(lambda: compose_pages(sheets, strip))
    # The typesetter remembers pages that it has seen, so each round has another job name.
    rounds = []
    for n in range(7):
        data = {**made.data, "pages": [{**p, "job": f"round {n}"} for p in made.data["pages"]]}
        start = time.perf_counter()
        pdf_bytes(data, made.files)
        rounds.append(time.perf_counter() - start)
    floor = best(lambda: typst.compile(blank, font_paths=fonts))
    total = ready + statistics.median(rounds[1:])
    print(
        f"three-page packet, warm: compose {1e3 * ready:.1f} ms + typeset {1e3 * (total - ready):.1f} ms "
        f"= {1e3 * total:.1f} ms; typesetter on three blank pages {1e3 * floor:.1f} ms"
    )


if __name__ == "__main__":
    main()
