"""Cautions: where the work can hurt people, lines or trees. Each names its source and who has the last word.

Wet cement on skin is said with the kit and used engine oil with the forms (`kit.py`, `forms.py`).
"""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.build.model import Dig, Order
from slabwright.build.tables import rule
from slabwright.findings import Finding, Value, find
from slabwright.ground.model import BuriedLine, Ground, TreeAt
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity, System
from slabwright.slab.model import Shaped, Slab

LAWN = frozenset(("sprinkler",))  # the owner's own pipe: wet, not deadly


def cautions(
    shaped: Shaped,
    ground: Ground,
    dig: Dig | None = None,
    order: Order | None = None,
    *,
    system: System = System.IMPERIAL,
) -> tuple[Finding, ...]:
    """Return the cautions of a job.

    shaped: its slabs; ground: buried lines, trees, existing slabs; dig: depths [m], None when the ground
    was not shot (it is then taken at the slab's top); order: bags or trucks.
    """
    if not shaped.slabs:
        return ()
    found = [find("build", "care-call-first", zone=_zone(system))]
    for slab in shaped.slabs:
        hole = dug_area(slab, system)
        depth = _deepest(slab, dig)
        found += [f for line in ground.buried for f in _line(slab, hole, line, depth, system)]
        found += [f for tree in ground.trees for f in _tree(slab, hole, tree)]
    if _saws(shaped, ground):
        found.append(find("build", "care-silica"))
    if order is not None and order.bags:
        found.append(find("build", "care-lifting", most=Quantity("mass", rule("shop", "lift_most"))))
    if order is None or not order.bags:
        wires = Quantity("length", rule("shop", "wires_clear", system))
        found.append(find("build", "care-truck", wires=wires))
    return tuple(found)


def dug_area(slab: Slab, system: System = System.IMPERIAL) -> object:
    """Return the area that a slab's dig disturbs, its form strip included, as a polygon."""
    shape = shapely.polygons(slab.outline.ring)
    return shapely.buffer(shape, rule("earth", "over_dig", system), join_style="mitre")


def _zone(system: System) -> Quantity:
    return Quantity("length", rule("shop", "tolerance_zone", system))


def _deepest(slab: Slab, dig: Dig | None) -> float:
    """Return the deepest dig of a slab [m]."""
    own = [line.depth_most for line in dig.lines if line.slab == slab.spec.name] if dig is not None else []
    return max(own, default=slab.spec.thickness + slab.spec.base)


def _say(slab: Slab, code: str, **values: Value) -> Finding:
    return find("build", code, where=slab.spec.name, line=slab.spec.line, **values)


def _line(slab: Slab, hole: object, line: BuriedLine, dig: float, system: System) -> list[Finding]:
    """Return what to say of one buried line near one slab; dig: how deep it is dug [m]."""
    if len(line.line) < 2:
        return []
    away = float(shapely.distance(shapely.linestrings(line.line), hole))
    name, zone = line.name, _zone(system)
    if away > zone.si:
        return []
    if away > 0:
        return [_say(slab, "care-line-near", line_name=name, zone=zone, away=Quantity("length", away))]
    if line.depth is None:
        return [_say(slab, "care-line-under-unknown", line_name=name, zone=zone)]
    depth = Quantity("inches", line.depth)
    if line.depth > dig:
        deep = Quantity("inches", dig)
        return [_say(slab, "care-line-under", line_name=name, zone=zone, depth=depth, dig=deep)]
    code = "care-pipe-in-dig" if line.kind in LAWN else "care-line-in-dig"
    return [_say(slab, code, line_name=name, depth=depth)]


def _tree(slab: Slab, hole: object, tree: TreeAt) -> list[Finding]:
    """Return what to say of one tree near one slab."""
    trunk = shapely.points(tree.at)
    away = float(shapely.distance(trunk, hole))
    if away >= tree.root_zone:
        return []
    zone = shapely.buffer(trunk, tree.root_zone, quad_segs=32)
    share = float(shapely.area(shapely.intersection(zone, hole)) / shapely.area(zone))
    near, reach = Quantity("length", away), Quantity("length", tree.root_zone)
    found = [
        _say(slab, "care-roots", tree=tree.name, away=near, zone=reach, share=Quantity("percent", share))
    ]
    closest = rule("shop", "root_trunks") * tree.trunk
    if away < closest:
        least = Quantity("length", closest)
        found.append(_say(slab, "care-roots-close", tree=tree.name, away=near, least=least))
    return found


def _saws(shaped: Shaped, ground: Ground) -> bool:
    """Return whether concrete is sawn: joints, or a slab that does not keep its place."""
    sawn = any(joint.made == "sawn" for slab in shaped.slabs for joint in slab.joint_plan.joints)
    return sawn or _broken_out(shaped.slabs, ground)


def _broken_out(slabs: Sequence[Slab], ground: Ground) -> bool:
    gone = [shapely.polygons(s.ring) for s in ground.existing if not s.keeps_height and len(s.ring) > 2]
    new = [shapely.polygons(slab.outline.ring) for slab in slabs]
    return any(bool(shapely.intersects(old, slab)) for old in gone for slab in new)
