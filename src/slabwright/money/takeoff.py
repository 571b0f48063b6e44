"""What a plan has to be paid for: every line of its shopping list, and the work in every step."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from slabwright.build.materials import curing_volume
from slabwright.build.model import Material
from slabwright.build.order import bag_volume
from slabwright.build.tables import rule
from slabwright.build.whole import Built
from slabwright.findings import Finding, Level, Value, find
from slabwright.ground.model import ExistingSlab, Ground
from slabwright.measure import POUND, Quantity, System, read, write
from slabwright.money.model import Amount, Need, PlanQuantities, Priced, Work
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped

XY = tuple[float, float]
Shares = tuple[tuple[str, float], ...]

_GROUPS: dict[str, Priced] = {"shop-plant": "plant", "shop-haul": "disposal", "shop-rental": "rental"}
_TAKES = {
    "board": "build.forms.boards",
    "stakes": "build.forms.stakes",
    "nails": "build.forms.nails",
    "release": "build.forms.release",
    "base": "build.dig.base_mass",
    "spoil": "build.dig.spoil_loose",
    "bars": "build.steel",
    "gfrp": "build.steel",
    "mesh": "build.steel",
    "chairs": "build.steel.chairs",
    "ties": "build.steel.ties",
    "curing": "slabs.outline.area",
    "filler": "slabs.joint_plan.joints",
    "concrete": "build.order.order",
    "bags": "build.order.bags",
    "fiber": "slabs.steel.dose",
}
OLD_THICKNESS = read("length", "4 in")  # of an old slab that nobody measured (source own-setting)
_DIMENSIONS = frozenset(("area", "volume", "mass", "length", "duration"))


def take_off(
    shaped: Shaped,
    built: Built,
    ground: Ground,
    notes: Notes,
    points: Mapping[str, XY],
    *,
    extra: Iterable[Material] = (),
    stops: Iterable[Finding] = (),
) -> PlanQuantities:
    """Return all that a plan has to be paid for.

    points: surveyed places [m], for drains along named points. extra: lines beside the shopping list.
    stops: the plan's findings, of which those that stop the work stay with its price. Every line becomes a
    need, known or not, so that nothing is left unpriced in silence.
    """
    found: list[Finding] = [finding for finding in stops if finding.level is Level.STOP]
    weights = _weights(shaped, built)
    area: Shares = tuple((slab.spec.name, slab.outline.area) for slab in shaped.slabs)
    needs = [_need(line, built, shaped, weights, area) for line in (*built.materials, *extra)]
    work = list(_work(shaped, built, notes))
    if notes.access.by == "pump" and not built.order.bags:
        one = (Amount("job", 1.0), Amount("volume", built.order.order))
        shares = tuple(built.order.by_slab)
        needs.append(Need("subcontract", "pump", "", one, "notes.access.by", shares, "concrete pump"))
    for old in ground.existing:
        if not old.keeps_height:
            _take_out(old, needs, work, found)
    _drains(notes, points, needs, work, found)
    order = built.order
    # where bags do it no truck comes, and no plant charges for a small load
    ordered = sum(count * bag_volume(each) for each, count in order.bags[-1:]) or order.order
    return PlanQuantities(
        title=notes.title,
        areas=area,
        needs=tuple(needs),
        work=tuple(item for item in work if item.amount.amount > 0),
        people=notes.crew.people,
        need=order.need,
        need_sd=order.need_sd,
        order=ordered,
        loads=() if order.bags else order.loads,
        units=notes.units,
        findings=tuple(found),
    )


def _summed(pairs: Iterable[tuple[str, float]]) -> Shares:
    sums: dict[str, float] = {}
    for slab, weight in pairs:
        sums[slab] = sums.get(slab, 0.0) + weight
    return tuple(sums.items())


def _weights(shaped: Shaped, built: Built) -> dict[str, Shares]:
    """Return by what each code is shared among slabs; the rest is shared by area."""
    dig = built.dig.lines if built.dig else ()
    forms = _summed((run.slab, run.length) for run in built.forms.runs)
    steel = _summed((s.spec.name, s.steel.length + s.steel.mesh_area) for s in shaped.slabs)
    filler = _summed(
        (slab.spec.name, math.fsum(math.dist(p, q) for p, q in pairwise(joint.line)))
        for slab in shaped.slabs
        for joint in slab.joint_plan.joints
        if joint.kind == "isolation"
    )
    return {
        **dict.fromkeys(("board", "stakes", "nails", "release"), forms),
        **dict.fromkeys(("bars", "gfrp", "mesh", "chairs", "ties"), steel),
        **dict.fromkeys(("concrete", "bags", "fiber"), tuple(built.order.by_slab)),
        "filler": filler,
        "base": _summed((line.slab, line.base_volume + line.fill) for line in dig),
        "spoil": _summed((line.slab, line.cut) for line in dig),
    }


def _need(line: Material, built: Built, shaped: Shaped, weights: Mapping[str, Shares], area: Shares) -> Need:
    """Return a line of the shopping list as a need, in every measure that a shop may price it by."""
    said = line.said
    code = said[1].key.removeprefix("want-") if said else line.what.lower()
    values: Mapping[str, object] = said[1].values if said else {}
    shares = weights.get(code) or area
    return Need(
        group=_GROUPS.get(said[0].key, "material") if said else "material",
        code=code,
        condition=built.order.bags[-1][0] if code == "bags" else _condition(code, values),
        amounts=tuple(_amounts(code, line, values, built, shaped)),
        takes=_TAKES.get(code, "build.materials"),
        shares=shares if math.fsum(weight for _, weight in shares) > 0 else area,
        what=line.what,
    )


def _condition(code: str, values: Mapping[str, object]) -> str:
    """Return what a price depends on, as a book writes it: '2x4', '#3', '4000 psi'."""
    strength = values.get("strength")
    if isinstance(strength, Quantity):
        # Plants price by their own country's classes, whatever the job is drawn in.
        return write(strength, system=System.IMPERIAL)
    if code == "board":
        return str(values["size"])
    if code in ("bars", "gfrp"):
        return f"#{values['number']}"
    return str(values["number"]).lower() if code == "mesh" else ""


def _amounts(
    code: str, line: Material, values: Mapping[str, object], built: Built, shaped: Shaped
) -> Iterator[Amount]:
    if code in ("plate", "saw"):
        yield Amount("day", line.amount)
        return
    yield Amount(line.kind if line.kind in _DIMENSIONS else "each", line.amount)
    each: Value | object = values.get("length")
    if code in ("board", "bars", "gfrp", "mesh") and isinstance(each, Quantity):
        yield Amount("length", line.amount * each.si)
    if code == "mesh":
        yield Amount("area", math.fsum(s.steel.mesh_area for s in shaped.slabs))
    if code == "bags":
        yield Amount("bag", float(built.order.bags[-1][1]))
    if code == "nails":
        yield Amount("mass", line.amount / rule("shop", "nails_lb") * POUND)
    if code == "release":
        yield Amount("volume", built.forms.release)
    if code == "curing":
        yield Amount("volume", sum(curing_volume(s.outline.area, s.spec.finish) for s in shaped.slabs))
    if built.dig is not None and code == "base":
        yield Amount("volume", built.dig.base_loose)
    if built.dig is not None and code == "spoil":
        yield Amount("load", float(built.dig.spoil_loads))


def _work(shaped: Shaped, built: Built, notes: Notes) -> Iterator[Work]:
    """Yield the steps of every slab in the order of the work."""
    placed = dict(built.order.by_slab)
    for slab in shaped.slabs:
        name, area = slab.spec.name, Amount("area", slab.outline.area)
        stakes = sum(1 for stake in built.set_out.stakes if stake.slab == name)
        yield Work("set out", "", Amount("each", float(stakes)), name, "build.set_out.stakes")
        yield from _digging(name, built, notes)
        for kind, bent in (("straight", False), ("curved", True)):
            runs = [r.length for r in built.forms.runs if r.slab == name and (r.radius is not None) is bent]
            yield Work("forms", kind, Amount("length", math.fsum(runs)), name, "build.forms.runs")
        if slab.steel.choice in ("bars", "gfrp", "mesh"):
            yield Work("steel", slab.steel.choice, area, name, "slabs.outline.area")
        ways = built.access.by_way(name) or ((notes.access.by or "chute", 1.0),)
        drawn = math.fsum(volume for _, volume in ways)
        for way, volume in ways:  # more comes than is drawn, by the same ways
            share = Amount("volume", placed.get(name, 0.0) * volume / drawn)
            yield Work("place", way, share, name, "build.order.by_slab")
        yield Work("finish", slab.spec.finish, area, name, "slabs.outline.area")
        sawn = [
            math.fsum(math.dist(p, q) for p, q in pairwise(joint.line))
            for joint in slab.joint_plan.joints
            if joint.made == "sawn"
        ]
        yield Work("saw", "", Amount("length", math.fsum(sawn)), name, "slabs.joint_plan.joints")
        yield Work("cure", "", area, name, "slabs.outline.area")
        every = math.fsum(r.length for r in built.forms.runs if r.slab == name)
        yield Work("strip forms", "", Amount("length", every), name, "build.forms.runs")


def _digging(name: str, built: Built, notes: Notes) -> Iterator[Work]:
    if built.dig is None:
        return
    lines = [line for line in built.dig.lines if line.slab == name]
    sod = math.fsum(line.area for line in lines if line.organic_volume > 0)
    earth = math.fsum(line.cut - line.organic_volume for line in lines)
    base = math.fsum(line.base_volume + line.fill for line in lines)
    loose = built.dig.spoil_loose * math.fsum(line.cut for line in lines) / max(built.dig.cut, 1e-12)
    yield Work("strip sod", "", Amount("area", sod), name, "build.dig.lines")
    yield Work("dig", notes.place.soil, Amount("volume", max(0.0, earth)), name, "build.dig.lines")
    yield Work("load spoil", "", Amount("volume", loose), name, "build.dig.spoil_loose")
    yield Work("base", "", Amount("volume", base), name, "build.dig.lines")
    if base > 0:
        packed = math.fsum(line.area for line in lines) * built.dig.lifts
        yield Work("compact", "", Amount("area", packed), name, "build.dig.lifts")


def _ring_area(ring: tuple[XY, ...]) -> float:
    return abs(math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in pairwise((*ring, ring[0])))) / 2.0


def _take_out(old: ExistingSlab, needs: list[Need], work: list[Work], found: list[Finding]) -> None:
    if len(old.ring) < 3:
        found.append(find("money", "old-slab-no-outline", where=old.name, item=old.name))
        return
    thick = old.thickness
    if thick is None:
        thick = OLD_THICKNESS
        found.append(find("money", "old-slab-guess", where=old.name, thickness=Quantity("inches", thick)))
    area = _ring_area(old.ring)
    amounts = (Amount("volume", area * thick), Amount("area", area))
    takes = "ground.existing"
    needs.append(Need("disposal", "old concrete", "", amounts, takes, (), f"old concrete: {old.name}"))
    work.append(Work("take out", "", Amount("area", area), None, takes))


def _drains(
    notes: Notes, points: Mapping[str, XY], needs: list[Need], work: list[Work], found: list[Finding]
) -> None:
    """Price trench drains: the job file lists those that the job is to have."""
    for drain in notes.water.trench_drains:
        lost = [name for name in drain.along if name not in points]
        if lost:
            found.append(
                find("money", "drain-no-place", where=drain.name, item=drain.name, points=", ".join(lost))
            )
            continue
        run = math.fsum(math.dist(points[a], points[b]) for a, b in pairwise(drain.along))
        length, takes = Amount("length", run), "notes.water.trench_drains"
        needs.append(
            Need("material", "trench drain", "", (length,), takes, (), f"trench drain: {drain.name}")
        )
        work.append(Work("trench drain", "", length, None, takes))
        found.append(
            find(
                "money",
                "drain-priced",
                where=drain.name,
                length=Quantity("feet_inches", run),
                item=drain.name,
            )
        )
