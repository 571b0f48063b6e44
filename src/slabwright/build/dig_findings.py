"""What a crew should know about its dig: low ground, slabs in a hole, depths to check, what it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from slabwright.build.earth import JUST, Measured, Row, below, hand_time, lifts_for, loads, machine_time
from slabwright.build.tables import rule
from slabwright.findings import Finding, Value, find
from slabwright.ground import beyond
from slabwright.ground.model import ExistingSlab, Floats, Ground, Surface
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.slab.model import Shaped, Slab

MEETS = 0.05  # [m] a slab's edge this near to an existing slab is poured against it
EVEN = 0.0016  # [m] depths this near (1/16 in) are told as one
COVERED = 0.99  # share of a slab that its facets must cover for its dig to be the whole of it


def fill_depths(found: Measured, organic: float) -> dict[int, float]:
    """Return the rows where the stripped ground lies below the dig's floor, and how far at most [m]."""
    depths = organic - found.low
    return {int(k): float(depths[k]) for k in np.flatnonzero(depths > JUST)}


def work_of(cut: float, backfill: float, spoil: float, truck: float, soil: str) -> list[Finding]:
    """Return what the dig takes: hand time, topsoil to keep, loads that leave."""
    if cut <= 0:
        return []
    time = hand_time(cut, soil)
    made = find(
        "build",
        "dig-rock" if time is None else "dig-work",
        cut=Quantity("volume", cut),
        spoil=Quantity("volume", spoil),
        loads=loads(spoil, truck),
        truck=Quantity("volume", truck),
        keep=Quantity("volume", backfill),
    )
    if time is None:
        return [made]
    machine = machine_time(cut, soil) or time
    times = dict(zip(("least", "most", "quick", "slow"), (*time, *machine), strict=True))
    return [
        replace(made, values={**made.values, **{key: Quantity("duration", t) for key, t in times.items()}})
    ]


def low_and_sunk(rows: Sequence[Row], found: Measured, ground: Ground) -> list[Finding]:
    """Return findings on low ground and on slabs that lie in a hole."""
    made: list[Finding] = []
    depths = fill_depths(found, ground.organic)
    by_slab: dict[str, list[int]] = {}
    for k, row in enumerate(rows):
        by_slab.setdefault(row.slab.spec.name, []).append(k)
    for name, own in by_slab.items():
        slab = rows[own[0]].slab
        area = sum(float(found.area[k]) for k in own if not rows[k].strip)
        if area < COVERED * slab.outline.area:
            part = Quantity("percent", area / slab.outline.area)
            made.append(find("build", "dig-no-heights", where=name, line=slab.spec.line, part=part))
        if float(found.fill[own].sum()) > rule("earth", "fill_worth"):
            panels = dict.fromkeys(rows[k].panel for k in own if k in depths)
            made += _low_ground(slab, panels, found, own, ground.organic)
        tops = [
            found.low[k] - rows[k].under for k in own if not rows[k].strip and math.isfinite(found.low[k])
        ]
        if tops and min(tops) > rule("earth", "sunk"):
            least = Quantity("inches", float(min(tops)))
            made.append(find("build", "dig-sunk-slab", where=name, line=slab.spec.line, least=least))
    if ground.organic == 0.0:
        made.append(find("build", "dig-no-organic"))
    return made


def _low_ground(
    slab: Slab, panels: dict[str, None], found: Measured, own: list[int], organic: float
) -> list[Finding]:
    """Return what to do where a slab's stripped ground lies below its dig's floor."""
    deep = organic - float(np.nanmin(found.low[own]))
    made = [
        find(
            "build",
            "dig-fill",
            where=_where(slab.spec.name, panels),
            line=slab.spec.line,
            volume=Quantity("volume", float(found.fill[own].sum())),
            depth=Quantity("inches", deep),
            lifts=lifts_for(deep),
        )
    ]
    if organic > 0:
        sod = Quantity("inches", organic)
        code = "dig-organic-under-fill"
        made.append(find("build", code, where=slab.spec.name, line=slab.spec.line, organic=sod))
    return made


def _where(slab: str, panels: dict[str, None]) -> str:
    return f"{slab} {', '.join(panels)}"


def beyond_shots(shaped: Shaped, surface: Surface) -> list[Finding]:
    found = []
    for slab in shaped.slabs:
        far = beyond(surface, slab.outline.ring)
        if far > rule("earth", "shot_reach"):
            found.append(
                find(
                    "ground",
                    "beyond-shots",
                    where=slab.spec.name,
                    line=slab.spec.line,
                    far=Quantity("length", far),
                )
            )
    return found


def beside_existing(shaped: Shaped, ground: Ground) -> list[Finding]:
    """Return how far below the top of each slab that it meets a new slab is dug: a hand's check on site."""
    found = []
    for slab in shaped.slabs:
        for there in ground.existing:
            depths = depths_beside(slab, there)
            if not len(depths):
                continue
            least, most = float(depths.min()), float(depths.max())
            values: dict[str, Value] = {
                "existing": there.name,
                "least": Quantity("inches", least),
                "concrete": Quantity("inches", slab.spec.thickness),
                "base": Quantity("inches", slab.spec.base),
            }
            if most - least < EVEN:
                code = "dig-beside"
            else:
                code, values["most"] = "dig-beside-varies", Quantity("inches", most)
            found.append(find("build", code, where=slab.spec.name, line=slab.spec.line, **values))
    return found


def depths_beside(slab: Slab, there: ExistingSlab) -> Floats:
    """Return how far below an existing slab's top the dig's floor lies [m], at each node that meets it."""
    if len(there.edge) < 2:
        return np.empty(0)
    edge = shapely.linestrings(there.edge)
    nodes = [node for node in slab.height_plan.nodes if math.isfinite(node.z)]
    near = shapely.distance(shapely.points([(node.x, node.y) for node in nodes]), edge) < MEETS
    depths = []
    for node, close in zip(nodes, near, strict=True):
        top = there.height_on_edge(node.x, node.y)
        if close and top is not None:
            depths.append(top - (node.z - below(slab)))
    return np.array(depths)
