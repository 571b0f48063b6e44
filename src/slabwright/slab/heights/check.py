"""What a person should know about finished heights: limits that were bent, and published limits passed.

The program's own limits come from the job and its defaults; these checks look at the surface that
was found and compare it with the published figures, whatever the job asked for.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from slabwright.findings import Finding, Value, find
from slabwright.ground.model import Ground
from slabwright.measure import Quantity
from slabwright.notes.spec import SlabSpec
from slabwright.slab.heights.fixed import DRIVEN, door_run, resolve_height
from slabwright.slab.heights.limits import EQUAL_HEIGHT, EQUAL_SLOPE, LEVEL_SLOPE, READ_SLOPE, WALKED, value
from slabwright.slab.heights.problem import Problem, Shape
from slabwright.slab.heights.rows import Floats
from slabwright.slab.heights.steps import steps
from slabwright.slab.heights.surface import Falls


def checks(
    shape: Shape,
    problem: Problem,
    z: Floats,
    falls: Falls,
    ground: Ground,
    x: Floats,
    gave: frozenset[int],
) -> tuple[Finding, ...]:
    """Return the findings on one slab's heights: z (n,) [m] by node, `gave` the families that were bent."""
    found = [*over(shape, problem, x, gave)]
    said = {f.code for f in found}
    found += _slopes(shape, falls, said)
    found += _house(shape, falls, said)
    found += _level_changes(shape, z, ground)
    found += _sills(shape, z, ground)
    found += _siding(shape, ground)
    found += steps(shape.part.spec)
    return tuple(found)


def over(shape: Shape, problem: Problem, x: Floats, gave: frozenset[int]) -> Iterable[Finding]:
    """Return a stop finding for each limit of the slab that the heights do not keep, at its worst place.

    What is passed by less than a level shows is left out beside what is passed by more; alone it is told,
    so that a conflict always has the limit that was bent.
    """
    excess = problem.program.excess(x)
    for k, by, worst in _bent(problem, excess, gave):
        family = problem.program.families[k]
        if family.slab != shape.part.spec.name:
            continue
        place = int(problem.program.place[worst])
        where = family.slab if place < 0 else _panel(*problem.places[place])
        reached = float(problem.program.activity(x)[worst])
        kinds = {"m": "inches", "-": "slope", "1/m": "slope"}
        twist: dict[str, Value] = {}
        if family.unit == "1/m":  # told as what a straight board shows: a corner off the other three
            first = next(i for i, (slab, _) in enumerate(problem.places) if slab == family.slab)
            spread = float(shape.probes.twist_area[place - first])
            twist = {"off": Quantity("inches", (family.limit + by) * spread)}
            twist["most"] = Quantity("inches", family.limit * spread)
        yield find(
            "slab", told(f"over-{family.kind}", family.kind, shape.part.spec), where=where, line=family.line,
            thing=family.who or family.slab,
            by=Quantity("inches", by) if family.unit == "m" else Quantity("slope", by),
            reached=Quantity(kinds[family.unit], abs(reached) if family.unit != "m" else by),
            limit=Quantity(kinds[family.unit], family.limit), **twist,
        )  # fmt: skip


def _bent(problem: Problem, excess: Floats, gave: frozenset[int]) -> list[tuple[int, float, int]]:
    """Return the bent families worth telling: its number, by how much (its unit), and the worst row."""
    program = problem.program
    found, seen = [], []
    for k in sorted(gave):
        rows = np.flatnonzero(program.family == k)
        worst = int(rows[int(np.argmax(excess[rows]))])
        found.append((k, float(excess[worst]), worst))
        seen.append(found[-1][1] > (EQUAL_HEIGHT if program.families[k].unit == "m" else READ_SLOPE))
    return [row for row, plain in zip(found, seen, strict=True) if plain or not any(seen)]


def told(code: str, kind: str, spec: SlabSpec) -> str:
    """Return the code of a text about a limit of this kind: another on private ground, where it differs."""
    steep = kind in ("across-most", "along-most", "total-most")
    return f"{code}-private" if steep and not spec.fall.public else code


def _panel(slab: str, panel: str) -> str:
    return f"{slab}, panel {panel}"


def _worst(shape: Shape, slopes: Floats) -> tuple[str, float]:
    """Return the place and size of the steepest of the slopes at probes."""
    k = int(np.argmax(np.abs(slopes)))
    return _panel(shape.part.spec.name, shape.part.net.pieces[shape.probes.owner[k]].panel), float(
        abs(slopes[k])
    )


def _slopes(shape: Shape, falls: Falls, said: set[str]) -> Iterable[Finding]:
    spec = shape.part.spec
    cross, running = value("cross-accessible"), value("running-accessible")
    if spec.use in WALKED and not said & {"over-across-most", "over-across-most-private"}:
        where, steep = _worst(shape, falls.across)
        if steep > cross + EQUAL_SLOPE:
            code = "cross-fall-steep" if spec.fall.public else "cross-fall-steep-private"
            yield _steep(code, shape, where, steep, cross)
    if spec.use in ("patio", "pad"):
        where, steep = _worst(shape, falls.total)
        if steep > cross + READ_SLOPE:
            yield _steep("sitting-steep", shape, where, steep, cross)
    if spec.use == "landing":
        where, steep = _worst(shape, falls.total)
        if steep > value("landing-fall") + EQUAL_SLOPE:
            yield _steep("landing-steep", shape, where, steep, value("landing-fall"))
    if spec.use in WALKED:
        where, steep = _worst(shape, falls.along)
        if steep > value("running-ramp") + EQUAL_SLOPE:
            yield _steep("running-over-ramp", shape, where, steep, value("running-ramp"))
        elif steep > running + EQUAL_SLOPE:
            yield _steep("running-steep", shape, where, steep, running)
    if spec.use in DRIVEN and len(shape.creases.a):
        yield from _drive_breaks(shape, falls)
    flat = int(np.argmin(falls.total))
    if falls.total[flat] < value("flat-panel") - EQUAL_SLOPE:
        where = _panel(spec.name, shape.part.net.pieces[shape.probes.owner[flat]].panel)
        code = "holds-water-level" if falls.total[flat] < LEVEL_SLOPE else "holds-water"
        yield _steep(code, shape, where, float(falls.total[flat]), value("flat-panel"))


def _steep(code: str, shape: Shape, where: str, fall: float, limit: float) -> Finding:
    return find(
        "slab", code, where=where, line=shape.part.spec.line,
        fall=Quantity("slope", fall), limit=Quantity("slope", limit),
    )  # fmt: skip


def _drive_breaks(shape: Shape, falls: Falls) -> Iterable[Finding]:
    c, aims = shape.creases, shape.aim

    def normal_fall(which: np.ndarray) -> Floats:
        down = falls.across[which, None] * aims.down[which] + falls.along[which, None] * aims.long[which]
        return np.asarray((down * c.normal).sum(axis=1))

    change = np.abs(normal_fall(c.a) - normal_fall(c.b))
    k = int(np.argmax(change))
    easy = value("drive-break-easy")
    if change[k] > easy + EQUAL_SLOPE:
        where = _panel(shape.part.spec.name, shape.part.net.pieces[shape.probes.owner[c.a[k]]].panel)
        yield _steep("drive-break", shape, where, float(change[k]), easy)


def _house(shape: Shape, falls: Falls, said: set[str]) -> Iterable[Finding]:
    """Less than 2 % away from the house within 10 ft: a stop, but a note where an existing edge decides."""
    least = value("house-fall")
    by_wall: dict[tuple[str, bool], tuple[float, str]] = {}
    asked = shape.house
    for i in np.flatnonzero(falls.house < least - EQUAL_SLOPE).tolist():
        fall, wall = falls.house[i], asked.walls[asked.number[i]]
        where = _panel(shape.part.spec.name, shape.part.net.pieces[asked.owner[i]].panel)
        key = wall, bool(shape.pinned[asked.probe[i]])
        if key not in by_wall or fall < by_wall[key][0]:
            by_wall[key] = float(fall), where
    for (wall, pinned), (fall, where) in sorted(by_wall.items()):
        if not pinned and "over-house" in said:
            continue
        code = (
            "house-fall-by-existing"
            if pinned
            else ("house-fall-back" if fall < -EQUAL_SLOPE else "house-fall-small")
        )
        if abs(fall) < LEVEL_SLOPE:
            code = "house-level-by-existing" if pinned else "house-fall-level"
        yield find(
            "slab", code, where=where, line=shape.part.spec.line, wall=wall,
            fall=Quantity("slope", abs(fall)), limit=Quantity("slope", least),
        )  # fmt: skip


def _level_changes(shape: Shape, z: Floats, ground: Ground) -> Iterable[Finding]:
    """Steps along edges poured against existing slabs, whether the job asked to meet them or not."""
    part = shape.part
    worst: dict[str, float] = {}
    stepped = {m.existing: m.step for m in part.spec.meets if m.step}
    for edge in part.outline.edges:
        there = next((e for e in ground.existing if e.name == edge.against), None)
        if edge.kind != "existing" or there is None or not there.keeps_height:
            continue
        for t in (0.0, 0.25, 0.5, 0.75, 1.0):
            p = (edge.p[0] + t * (edge.q[0] - edge.p[0]), edge.p[1] + t * (edge.q[1] - edge.p[1]))
            h = there.height_on_edge(*p)
            if h is not None:
                step = resolve_height(part.net, p, z) - h + stepped.get(there.name, 0.0)
                if abs(step) > abs(worst.get(there.name, 0.0)):
                    worst[there.name] = step
    for name, step in sorted(worst.items()):
        limit = (
            value("lip-upright")
            if abs(step) <= value("lip-bevelled") + EQUAL_HEIGHT
            else value("lip-bevelled")
        )
        if abs(step) > value("lip-upright") + EQUAL_HEIGHT:
            code = "lip-bevel" if limit == value("lip-upright") else "lip-step"
            yield find(
                "slab", code, where=f"{part.spec.name}, {name}", line=part.spec.line, thing=name,
                step=Quantity("inches", abs(step)), limit=Quantity("inches", limit),
            )  # fmt: skip


def _sills(shape: Shape, z: Floats, ground: Ground) -> Iterable[Finding]:
    """The finished top against the sills of doors that open onto the slab, and against the siding."""
    part = shape.part
    for door in ground.doors:
        if door.sill is None:
            continue
        run = door_run(part, door)
        if not run:
            continue
        tops = [sum(w * z[k - part.first] for k, w in zip(*weights, strict=True)) for weights, _ in run]
        low, high = door.sill - max(tops), door.sill - min(tops)
        values: dict[str, Value] = {"door": door.name, "down": Quantity("inches", abs(low))}
        where = f"{part.spec.name}, {door.name}"
        if low < -EQUAL_HEIGHT:
            yield find("slab", "sill-below", where=where, line=part.spec.line, **values)
        elif low < value("sill-drop") - EQUAL_HEIGHT and part.spec.use not in DRIVEN:
            limit = Quantity("inches", value("sill-drop"))
            yield find("slab", "sill-close", where=where, line=part.spec.line, limit=limit, **values)
        if part.spec.use in DRIVEN:
            continue
        for bound, code in ((value("sill-drop-other"), "sill-far"), (value("sill-drop"), "sill-drop-most")):
            if high > bound + EQUAL_HEIGHT:
                yield find(
                    "slab", code, where=where, line=part.spec.line, door=door.name,
                    down=Quantity("inches", high), limit=Quantity("inches", bound),
                )  # fmt: skip
                break


def _siding(shape: Shape, ground: Ground) -> Iterable[Finding]:
    """Say that the clearance below wood or stucco could not be checked where its bottom was not shot."""
    spec = shape.part.spec
    beside = any(edge.kind == "wall" for edge in shape.part.outline.edges)
    if beside and ground.siding in ("wood", "stucco") and ground.siding_bottom is None:
        clear = Quantity("inches", value(f"siding-{ground.siding}"))
        code = "siding-unshot-wood" if ground.siding == "wood" else "siding-unshot-stucco"
        yield find("slab", code, where=spec.name, line=spec.line, limit=clear)
