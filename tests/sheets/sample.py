"""A made-up side walk past a house, with walls, stakes, heights, joints and steel, to draw and to look at."""

from __future__ import annotations

import math

from slabwright.sheets.drawing import (
    Arc,
    Area,
    Arrow,
    Dimension,
    Drawing,
    Item,
    Line,
    Marker,
    Point,
    Polyline,
    Text,
    drawing,
    rectangle,
)

FT = 0.3048


def ft(feet: float, inches: float = 0.0) -> float:
    return (feet + inches / 12.0) * FT


def walk() -> Drawing:
    """Return a 3 ft walk, 32 ft long, bent once, beside a house wall, between a patio and a gate walk."""
    house: tuple[Point, ...] = ((0.0, ft(3)), (ft(30), ft(3)), (ft(30), ft(9)), (0.0, ft(9)))
    walk_ring: tuple[Point, ...] = (
        (0.0, ft(-1)),
        (ft(32), ft(-1)),
        (ft(35), ft(2)),
        (ft(35), ft(8)),
        (ft(32), ft(8)),
        (ft(32), ft(2)),
        (0.0, ft(2)),
    )
    items: list[Item] = [
        Area("house", (house,), hatch="house"),
        Polyline("house", house, True),
        Text("house", (ft(12), ft(6.4)), "HOUSE", size="big", weight=700, room=ft(2)),
        Line("house", (ft(7), ft(3)), (ft(10), ft(3)), style="thin"),
        Arc("house", (ft(7), ft(3)), ft(3), 0.0, math.pi / 2, style="thin"),
        Text("heights", (ft(8.5), ft(3.4)), 'back sill\n0"', weight=600, rank=3),
        Area(
            "existing",
            (rectangle("existing", ft(-8), ft(-4), ft(8), ft(7)).points,),
            "cured",
            0.5,
            "cured",
            "existing",
        ),
        Text("existing", (ft(-4), ft(-1)), "old patio", room=ft(2)),
        Area(
            "existing",
            (rectangle("existing", ft(30), ft(8), ft(8), ft(4)).points,),
            "cured",
            0.5,
            "cured",
            "existing",
        ),
        Text("existing", (ft(35.5), ft(10)), "gate walk", room=ft(1.5)),
        Area("slab", (walk_ring,), "fresh", 0.18, "concrete", "edge"),
        Line("forms", (0.0, ft(-1)), (ft(32), ft(-1))),
        Line("forms", (ft(32), ft(-1)), (ft(35), ft(2))),
        Line("forms", (ft(35), ft(2)), (ft(35), ft(8))),
        Line("forms", (0.0, ft(2)), (ft(32), ft(2))),
        Line("forms", (ft(32), ft(2)), (ft(32), ft(8))),
    ]
    for n in range(1, 7):
        x = ft(32.0 * n / 7)
        items.append(Line("joints", (x, ft(-1)), (x, ft(2))))
    items.append(Line("joints", (ft(32), ft(2)), (ft(33.5), ft(0.5))))
    items.append(Line("joints", (ft(32), ft(2)), (ft(35), ft(2))))
    items.append(Line("joints", (0.0, ft(-1)), (0.0, ft(2)), style="isolation"))
    items += [Line("steel", (ft(0.3), ft(off)), (ft(31.6), ft(off))) for off in (-0.25, 0.5, 1.25)]
    heights = ['- 4 3/8"', '- 4 5/8"', '- 4 7/8"', '- 5 1/8"', '- 5 3/8"', '- 5 5/8"', '- 5 7/8"', '- 6 1/8"']
    for n in range(8):
        x = ft(32.0 * n / 7)
        items.append(
            Marker(
                "stakes", (x, ft(-1.15)), "stake", f"S{n + 1}\n{heights[n]}", weight=600, side=-math.pi / 2
            )
        )
    for n, (x, y) in enumerate(((35.15, 3), (35.15, 7.5))):
        items.append(Marker("stakes", (ft(x), ft(y)), "stake", f"S{9 + n}", weight=600, side=0.0))
    items += [
        Marker("ground", (ft(15), ft(-5)), "head", "H1 throws 15'"),
        Marker("ground", (ft(23), ft(-4.6)), "shot", 'lawn 7\n- 8 1/2"'),
        Marker("existing", (0.0, ft(2)), "fixed", 'patio edge\n- 4 3/8"', rank=1),
        Marker("set-out", (0.0, ft(3)), "corner", "A"),
        Marker("set-out", (ft(30), ft(3)), "corner", "B"),
        Dimension("dimensions", (0.0, ft(-1)), (ft(32), ft(-1)), "32'-0\"", offset=-30.0),
        Dimension("dimensions", (0.0, ft(-1)), (ft(32 / 7), ft(-1)), "4'-6 7/8\"", offset=-21.0),
        Dimension("dimensions", (ft(35), ft(2)), (ft(35), ft(8)), "6'-0\"", offset=-16.0),
        Dimension("dimensions", (ft(26), ft(-1)), (ft(26), ft(2)), "3'-0\"", offset=0.0),
        Dimension("dimensions", (ft(32), ft(-1)), (ft(35), ft(2)), "4'-2 15/16\"", offset=-9.0),
        Arrow("water", (ft(18), ft(1.2)), (ft(18), ft(-0.6)), "1/4 in per ft", length=9.0),
        Arrow("water", (ft(3), ft(1.2)), (ft(3), ft(-0.6)), "2 %", length=9.0),
    ]
    for n in range(7):
        items.append(
            Text(
                "joints",
                (ft(32.0 * (n + 0.5) / 7), ft(0.9)),
                f"P{n + 1}",
                size="figure",
                weight=700,
                room=ft(1.2),
            )
        )
    return drawing(
        "Plan of the side walk", items, alt="A 3 ft walk along the house from the old patio to the gate walk."
    )
