"""What the new layout of sprinklers means for the crew, as findings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from slabwright.build.model_yard import SprinklerHead, SprinklerPlan
from slabwright.build.sprinklers.yard import Yard
from slabwright.build.tables import rule
from slabwright.findings import Finding, find
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity

DRY = 1.0  # [m2] more unreached lawn than this is said


def layout_findings(
    heads: Sequence[SprinklerHead], hit: Sequence[int], yard: Yard, plan: SprinklerPlan, *, strict: bool
) -> list[Finding]:
    """Return the findings on a layout: heads in the way, the setback taken, lawn that stays dry."""
    if not hit:
        return [find("build", "sprinkler-clear")]
    return [*_in_way(heads, hit, yard), *_rule(yard, plan, strict=strict), *_result(plan)]


def _in_way(heads: Sequence[SprinklerHead], hit: Sequence[int], yard: Yard) -> Iterator[Finding]:
    inside = [heads[k] for k in hit if shapely.intersects(yard.slabs, shapely.points(heads[k].x, heads[k].y))]
    over = [heads[k] for k in hit if heads[k] not in inside]
    if inside:
        yield find("build", "sprinkler-in-slab", heads=_names(inside), count=len(inside))
    if over:
        yield find("build", "sprinkler-over-slab", heads=_names(over), count=len(over))


def _names(heads: Sequence[SprinklerHead]) -> str:
    return ", ".join(head.name for head in heads)


def _rule(yard: Yard, plan: SprinklerPlan, *, strict: bool) -> Iterator[Finding]:
    yield find(
        "build",
        "sprinkler-setback-strict" if strict else "sprinkler-setback-custom",
        off=Quantity("length", plan.kept_off),
        other=Quantity("length", rule("yard", "off_custom" if strict else "off_strict")),
    )
    narrow = rule("yard", "strip_least")
    wide = shapely.buffer(shapely.buffer(yard.lawn, -narrow / 2), narrow / 2 + 1e-6)
    strips = shapely.difference(shapely.buffer(yard.lawn, -0.01), shapely.buffer(wide, 0.1))
    beside = [
        g for g in shapely.get_parts(strips) if g.area > DRY and shapely.distance(g, yard.slabs) < narrow
    ]
    if beside:
        area = float(sum(g.area for g in beside))
        yield find("build", "sprinkler-strip", area=Quantity("area", area), least=Quantity("length", narrow))


def _result(plan: SprinklerPlan) -> Iterator[Finding]:
    before, after = plan.before, plan.after
    changed = [head for head in plan.heads if head.change != "stays"]
    yield find(
        "build",
        "sprinkler-layout",
        turned=sum(head.change == "turned" for head in changed),
        moved=sum(head.change == "moved" for head in changed),
        new=sum(head.change == "new" for head in changed),
        capped=len(plan.removed),
        du_before=Quantity("percent", before.du),
        du=Quantity("percent", after.du),
        rate=Quantity("rain", after.rate),
    )
    if after.unreached > before.unreached + DRY:
        yield find(
            "build",
            "sprinkler-dry",
            area=Quantity("area", after.unreached),
            before=Quantity("area", before.unreached),
        )
    if after.du < before.du - rule("yard", "du_lost"):
        yield find(
            "build",
            "sprinkler-uneven",
            du=Quantity("percent", after.du),
            du_before=Quantity("percent", before.du),
        )
    for line in plan.lines:
        if line.flow_after > line.flow_most * (1 + 1e-6):
            yield find(
                "build",
                "sprinkler-line-over",
                where=line.name,
                flow=Quantity("flow", line.flow_after),
                most=Quantity("flow", line.flow_most),
            )
    if not plan.proved:
        yield find(
            "build",
            "sprinkler-not-proved",
            cost=Quantity("ratio", plan.cost),
            bound=Quantity("ratio", plan.bound),
        )
