"""The dig on a drawing: its edge, its depth at every mark, and where it is between which depths."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from slabwright.build.strips import form_strips
from slabwright.build.tables import rule
from slabwright.build.top import top_facets
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity, System, read, write
from slabwright.result import Plan
from slabwright.sheets.drawing import Area, Item, Marker
from slabwright.sheets.scene import outward
from slabwright.slab.model import Slab

XY = tuple[float, float]

# What a dig is checked to on site, with a rule on the spade's handle: our own choice.
DIG_STEP = {System.IMPERIAL: read("inches", "1/4 in"), System.METRIC: read("inches", "5 mm")}
SLIVER = 1e-4  # m2
HATCHES = 8  # depth-1 (light) to depth-8 (dark) in styles.toml
APART = 2  # hatches from one band to the next, where there are few bands


def dig_items(plan: Plan) -> Iterator[Item]:
    """Yield the bands of depth, the edge of the dig and its depth at every mark, to the step of a rule."""
    work = plan.built.dig
    if work is None:
        return
    bands = work.map.bands if work.map is not None else ()
    for band, hatch in zip(bands, band_hatches(len(bands)), strict=True):
        yield Area("dig", band.rings, hatch=hatch)
    for whole in _holes(plan):
        for part in getattr(whole, "geoms", (whole,)):
            if part.geom_type == "Polygon" and part.area > SLIVER:
                ring = tuple((x, y) for x, y in part.exterior.coords[:-1])
                yield Area("dig", (ring,), hatch="" if bands else "earth", outline="cut")
    depths = {(slab, node): depth for slab, node, depth in work.node_depths}
    for slab in plan.shaped.slabs:
        yield from _depths(slab, depths, plan.notes.units)


def _holes(plan: Plan) -> Iterator[Any]:
    """Yield what is dug for each slab: its outline with the strips for the forms."""
    taken = [slab.ring for slab in plan.ground.existing if slab.ring]
    taken += [plan.ground.house_ring] if plan.ground.house_ring else []
    for slab in plan.shaped.slabs:
        wide = rule("earth", "over_dig", plan.notes.units)
        strips = form_strips(slab, top_facets(slab), wide, taken)
        whole = shapely.union_all(
            [shapely.make_valid(shapely.Polygon(r)) for r in (slab.outline.ring, *(s.ring for s in strips))]
        )
        # strips and slab are computed apart: close the hair between them
        yield whole.buffer(0.002, join_style="mitre").buffer(-0.002, join_style="mitre")


def band_hatches(count: int) -> tuple[str, ...]:
    """Return the hatches of so many bands, shallow first, each darker than the one before.

    Beyond HATCHES bands the darkest is taken again; `build` makes no more bands than that.
    """
    step = APART if count * APART <= HATCHES else 1
    return tuple(f"depth-{min(1 + k * step, HATCHES)}" for k in range(count))


def dig_told(plan: Plan, lang: str) -> tuple[tuple[str, str], ...]:
    """Return what the key says of each band's hatch: between which depths the dig is there."""
    work = plan.built.dig
    bands = work.map.bands if work is not None and work.map is not None else ()
    return tuple(
        (f"key-hatch-{hatch}", " - ".join(_inches((band.shallow, band.deep), plan.notes.units, lang)))
        for band, hatch in zip(bands, band_hatches(len(bands)), strict=True)
    )


def _inches(depths: Sequence[float], system: System, lang: str) -> list[str]:
    return [write(Quantity("inches", depth), system=system, lang=lang) for depth in depths]


def _depths(slab: Slab, depths: dict[tuple[str, str], float], system: System) -> Iterator[Item]:
    for node in slab.height_plan.nodes:
        depth = depths.get((slab.spec.name, node.label))
        if depth is None or node.shape_only:
            continue
        at = (node.x, node.y)
        out = outward(slab.outline.ring, at)
        text = write(Quantity("inches", to_step(depth, system)), system=system)
        yield Marker("dig", at, "point", text, weight=600, side=out, rank=2)


def to_step(depth: float, system: System) -> float:
    """Return a depth [m] to the step that a dig is checked to."""
    step = DIG_STEP[system]
    return round(depth / step) * step
