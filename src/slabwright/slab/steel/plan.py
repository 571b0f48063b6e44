"""Steel of one slab: bars, glass-fibre bars, mesh, fibres or none, placed and counted.

Steel in a slab on ground does not stop cracks; it holds them shut. What each choice does and does not
do is said in a finding, with the drag formula and the published ratio beside what was chosen.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

from slabwright.findings import Finding, Value, find
from slabwright.measure import GRAVITY, Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.model import Bar, JointPlan, Outline, SteelPlan
from slabwright.slab.steel.dowels import place_dowels
from slabwright.slab.steel.layout import (
    Line,
    corner_bars,
    crossings,
    length_of,
    long_direction,
    opening_bars,
    parallel_bars,
    ribbon_bars,
    ribbon_cross_bars,
    sharpest_bend,
    steel_region,
    straightened,
)
from slabwright.slab.steel.mesh import lay_mesh
from slabwright.slab.steel.tables import BarSize, bar_size, drag_area, lap_of, meshes, rule, steel_ratio
from slabwright.slab.thickness import check_thickness

JUST = 1e-6  # [-] a ratio this near a limit is at the limit, not past it


@dataclass(frozen=True, slots=True)
class _Layers:
    along: tuple[Line, ...]
    across: tuple[Line, ...]
    trim: tuple[Line, ...]
    corners: tuple[Line, ...]

    @property
    def all(self) -> tuple[Line, ...]:
        return self.along + self.across + self.trim + self.corners


def plan_steel(
    outline: Outline,
    joint_plan: JointPlan,
    spec: SlabSpec,
    soil: str | None = None,
    *,
    before: Collection[str] = (),
    gone: Collection[str] = (),
) -> SteelPlan:
    """Return the steel of one slab, with findings on steel and thickness.

    soil: sand, loam, clay or rock, for the check of wheels; None takes the softest. before: names of
    the slabs that are listed earlier, whose joints with this one get their bars here; gone: of slabs there
    that will not stay.

    Lengths and masses are of bars as placed, before laps; cutting from stock adds the laps. Never
    raises for a slab that has an outline: a slab too small for any bar gets none, and a finding.
    Sources: astm-a615, aci-302-steel, ci-drag-qa, crsi-drag, aci-318-laps.
    """
    thick = check_thickness(spec, soil)
    if spec.steel.choice in ("bars", "gfrp"):
        plan = _bars(outline, joint_plan, spec)
    elif spec.steel.choice == "mesh":
        plan = _mesh(outline, joint_plan, spec)
    else:
        plan = _no_bars(outline, spec)
    dowels, crossed = place_dowels(outline, joint_plan, spec, before, gone)
    return replace(plan, findings=thick + plan.findings + crossed, dowels=dowels)


def bar_depth(thickness: float) -> float:
    """Return the depth [m] of the upper layer's centre: half of a slab to 5 in, else its upper third."""
    return thickness / 2 if thickness <= rule("mid_depth_to") + JUST else thickness / 3


def _bars(outline: Outline, joint_plan: JointPlan, spec: SlabSpec) -> SteelPlan:
    gfrp = spec.steel.choice == "gfrp"
    size = bar_size(spec.steel.bar, gfrp=gfrp)
    layers = _place(outline, joint_plan, spec)
    lap = lap_of(size.number, spec.strength, gfrp=gfrp)
    bent = gfrp and any(sharpest_bend(line) > rule("gfrp_bend") for line in layers.all)
    if bent:
        layers = _unbent(layers, steel_region(outline, joint_plan, spec.steel.cover), lap)
    depth = bar_depth(spec.thickness)
    under = depth + size.diameter  # bars across hang under the long ones, so that both keep top cover
    bars = [Bar(size.number, line, depth) for line in layers.along]
    bars += [Bar(size.number, line, under) for line in layers.across]
    bars += [Bar(size.number, line, depth) for line in layers.trim]
    bars += [Bar("4", line, depth) for line in layers.corners]
    diagonal = bar_size("4", gfrp=gfrp)
    corner_length = math.fsum(map(length_of, layers.corners))
    length = math.fsum(map(length_of, layers.all))
    return SteelPlan(
        choice=spec.steel.choice,
        number=size.number,
        bars=tuple(bars),
        spacing=spec.steel.spacing,
        length=length,
        mass=(length - corner_length) * size.mass + corner_length * diagonal.mass,
        ratio=steel_ratio(size.area, spec.steel.spacing, spec.thickness),
        lap=lap,
        chairs=sum(math.ceil(length_of(line) / rule("chair_spacing")) + 1 for line in layers.along),
        ties=math.ceil(rule("tied_part") * crossings(layers.along, layers.across + layers.trim)),
        findings=_bar_findings(outline, spec, size, layers, lap if bent else None),
    )


def _unbent(layers: _Layers, region: Any, past: float) -> _Layers:
    """Return layers whose bars are bent nowhere: glass fibre is never bent on site."""

    def straight(lines: tuple[Line, ...]) -> tuple[Line, ...]:
        bend = rule("gfrp_bend")
        return tuple(part for line in lines for part in straightened(line, region, bend=bend, past=past))

    return _Layers(*(straight(part) for part in (layers.along, layers.across, layers.trim, layers.corners)))


def _place(outline: Outline, joint_plan: JointPlan, spec: SlabSpec) -> _Layers:
    steel = spec.steel
    region = steel_region(outline, joint_plan, steel.cover)
    if region.is_empty:
        return _Layers((), (), (), ())
    across: list[Line] = []
    if outline.axis and outline.width is not None:
        along = ribbon_bars(region, outline.axis, spec.side, outline.width, steel.cover, steel.spacing)
        if steel.both_ways:
            across = ribbon_cross_bars(region, outline.axis, outline.width, steel.cover, steel.spacing)
        (x0, y0), (x1, y1) = outline.axis[0], outline.axis[-1]
        direction = math.atan2(y1 - y0, x1 - x0)
    else:
        direction = long_direction(outline)
        along = parallel_bars(region, direction, steel.spacing)
        if steel.both_ways:
            across = parallel_bars(region, direction + math.pi / 2, steel.spacing)
    return _Layers(
        tuple(along),
        tuple(across),
        tuple(opening_bars(outline, region, direction, steel.cover)),
        tuple(corner_bars(outline, joint_plan, region, steel.cover)),
    )


def percent(ratio: float) -> str:
    """Return a steel ratio as the trade writes it, two decimals of a percent."""
    return f"{100 * ratio:.2f} %"


def _bar_findings(
    outline: Outline, spec: SlabSpec, size: BarSize, layers: _Layers, past: float | None
) -> tuple[Finding, ...]:
    """Return what to say of bars; past: how far glass bars run past a bend [m], None where none do."""

    def say(code: str, **values: Value) -> Finding:
        return find("slab", code, where=spec.name, line=spec.line, **values)

    if not layers.along:
        return (say("steel-no-room", cover=Quantity("inches", spec.steel.cover)),)
    ratio = steel_ratio(size.area, spec.steel.spacing, spec.thickness)
    longest = max(map(length_of, layers.along))
    weight = rule("density") * spec.thickness * GRAVITY
    asked = drag_area(rule("friction"), longest, weight, rule("yield_strength") * rule("drag_stress_part"))
    given = size.area / spec.steel.spacing
    found = [
        say(
            "steel-gfrp" if spec.steel.choice == "gfrp" else "steel-bars",
            bar=f"#{size.number}",
            spacing=Quantity("inches", spec.steel.spacing),
            ratio=percent(ratio),
        )
    ]
    if ratio < rule("light_ratio") - JUST:
        found.append(say("steel-light", ratio=percent(ratio), advice=percent(rule("light_ratio"))))
    elif rule("between_from") + JUST < ratio < rule("between_to") - JUST:
        found.append(say("steel-between", ratio=percent(ratio), advice=percent(rule("light_ratio"))))
    if spec.steel.choice == "bars" and given < asked:
        found.append(
            say(
                "steel-drag",
                length=Quantity("length", longest),
                asked=percent(asked / spec.thickness),
                given=percent(ratio),
            )
        )
    top = bar_depth(spec.thickness) - size.diameter / 2
    if top < rule("top_cover") - JUST:
        found.append(
            say("steel-top-cover", top=Quantity("inches", top), least=Quantity("inches", rule("top_cover")))
        )
    if past is not None:
        found.append(say("steel-gfrp-bent", lap=Quantity("inches", past)))
    if layers.trim:
        beyond = Quantity("inches", rule("trim_past"))
        found.append(say("steel-openings", openings=len(outline.holes), bar=f"#{size.number}", past=beyond))
    if layers.corners:
        found.append(say("steel-corners", corners=len(layers.corners) // 2 or 1))
    return tuple(found)


def _mesh(outline: Outline, joint_plan: JointPlan, spec: SlabSpec) -> SteelPlan:
    """Choose the lightest mesh that reaches the published ratio, and lay its sheets out."""
    light = rule("light_ratio") * spec.thickness
    mesh = next((m for m in meshes() if m.area >= light * (1 - JUST)), meshes()[-1])
    lap = mesh.wire + rule("mesh_lap_over_wire")
    long, wide = rule("mesh_sheet_length"), rule("mesh_sheet_width")
    region = steel_region(outline, joint_plan, spec.steel.cover)
    sheets = lay_mesh(region, long_direction(outline), length=long, width=wide, lap=lap)
    laid = math.fsum(sheet.length * sheet.width for sheet in sheets)
    ratio = mesh.area / spec.thickness
    found = find(
        "slab",
        "steel-mesh",
        where=spec.name,
        line=spec.line,
        style=mesh.name,
        ratio=percent(ratio),
        lap=Quantity("inches", lap),
        area=Quantity("area", rule("mesh_chair_area")),
    )
    return SteelPlan(
        choice="mesh",
        number=mesh.name,
        bars=(),
        spacing=mesh.wire,
        length=0.0,
        mass=laid * mesh.mass,
        ratio=ratio,
        lap=lap,
        chairs=math.ceil(region.area / rule("mesh_chair_area")),
        ties=0,
        findings=(found,),
        mesh_area=laid,
        sheets=tuple(sheets),
    )


def _no_bars(outline: Outline, spec: SlabSpec) -> SteelPlan:
    fiber = spec.steel.choice == "fiber"
    dose = rule("fiber_dose") if fiber else 0.0
    found = find(
        "slab",
        "steel-fiber" if fiber else "steel-none",
        where=spec.name,
        line=spec.line,
        **({"dose": Quantity("density", dose)} if fiber else {}),
    )
    return SteelPlan(
        choice=spec.steel.choice,
        number="macro synthetic" if fiber else "",
        bars=(),
        spacing=0.0,
        length=0.0,
        mass=dose * outline.area * spec.thickness,
        ratio=0.0,
        lap=0.0,
        chairs=0,
        ties=0,
        findings=(found,),
        dose=dose,
    )
