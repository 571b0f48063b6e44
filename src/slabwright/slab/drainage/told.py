"""What the check of drainage has to say, as findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slabwright.findings import Finding, find
from slabwright.measure import Quantity
from slabwright.slab.drainage.model import EdgeFlow, Pond, RoofWater, TrenchDrain, WallWater
from slabwright.slab.drainage.rain import Storm, channel_flow, rules

LEAST_EDGE = 0.05  # [m2] less than this at a wall is the last digit of a height
STAYS = {"piece": "level-panel", "side": "level-channel", "dam": "higher-neighbour"}


def told(
    storm: Storm,
    edges: Sequence[EdgeFlow],
    walls: Sequence[WallWater],
    ponds: Sequence[Pond],
    before: Sequence[Pond],
    roofs: Sequence[RoofWater],
    drained: Mapping[str, float],
    trenches: Sequence[TrenchDrain],
    stays: Sequence[tuple[str, str, str, float]],
) -> tuple[Finding, ...]:
    """Return the findings, gravest causes first within each kind."""
    out: list[Finding] = []
    if not storm.chosen:
        out.append(find("slab", "storm-assumed", rain=Quantity("rain", storm.intensity)))
    out += [_edge(edge) for edge in edges if edge.kind == "wall" and edge.area > LEAST_EDGE]
    for what, slab, panel, area in stays:
        if area > LEAST_EDGE:
            out.append(find("slab", STAYS[what], where=slab, panel=panel, area=Quantity("area", area)))
    out += [_pond(pond) for pond in ponds]
    gone = [pond for pond in before if not any(_near(pond, other) for other in ponds)]
    out += [find("slab", "pond-gone", depth=Quantity("inches", pond.depth)) for pond in gone]
    out += [row for wall in walls for row in _wall(wall)]
    out += [row for roof in roofs for row in _roof(roof)]
    out += [row for trench in trenches for row in _trench(trench, drained.get(trench.name, 0.0))]
    return tuple(out)


def _edge(edge: EdgeFlow) -> Finding:
    return find(
        "slab",
        "slab-sheds-to-wall",
        where=f"{edge.slab}, {edge.against}" if edge.against else edge.slab,
        area=Quantity("area", edge.area),
        flow=Quantity("flow", edge.flow),
    )


def _pond(pond: Pond) -> Finding:
    """Return the finding of one pond, by where it lies, how deep it is and whether it is new."""
    if pond.kind == "slab":
        code = "slab-pond" if pond.depth >= rules()["pond-caution"] else "slab-film"
    elif pond.kind == "dammed":
        code = "pond-dammed"
    else:
        code = "yard-pond-new" if pond.new else "yard-pond-was"
    return find(
        "slab",
        code,
        where=pond.where,
        depth=Quantity("inches", pond.depth),
        area=Quantity("area", pond.area),
        volume=Quantity("volume", pond.volume),
    )


def _near(one: Pond, other: Pond) -> bool:
    """Tell whether two ponds lie at about the same place."""
    apart = ((one.at[0] - other.at[0]) ** 2 + (one.at[1] - other.at[1]) ** 2) ** 0.5
    return bool(apart < (one.area**0.5 + other.area**0.5))


def _wall(wall: WallWater) -> list[Finding]:
    """Return what to say of a wall that gets water: more than before, as before, or less."""
    least, now, was = rules()["wall-area"], wall.area, wall.area_before
    if now < least and was < least:
        return []
    more, less = now > was * 1.1 + least / 10, now < 0.9 * was
    return [
        find(
            "slab",
            "wall-gets-more" if more else "wall-gets-less" if less else "wall-gets",
            where=wall.wall,
            area=Quantity("area", now),
            before=Quantity("area", was),
            flow=Quantity("flow", wall.flow),
        )
    ]


def _roof(roof: RoofWater) -> list[Finding]:
    """Return what to say of a downspout."""
    flow = Quantity("flow", roof.flow)
    out = [find("slab", "roof-on-slab", where=roof.downspout, flow=flow, slab=name) for name in roof.crosses]
    if roof.ends == "wall":
        out.append(find("slab", "roof-to-wall", where=roof.downspout, flow=flow))
    if roof.ends == "pond":
        out.append(find("slab", "roof-to-pond", where=roof.downspout, flow=flow))
    return out


def _trench(trench: TrenchDrain, flow: float) -> list[Finding]:
    """Return a caution when a trench drain cannot carry what reaches it."""
    takes = channel_flow(trench.width, trench.depth, trench.fall, rules()["roughness-drain"])
    if flow <= takes:
        return []
    return [
        find(
            "slab",
            "drain-too-small",
            where=trench.name,
            flow=Quantity("flow", flow),
            takes=Quantity("flow", takes),
        )
    ]
