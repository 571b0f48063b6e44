"""After stripping: rod readings on the finished slab against the plan and the published tolerances."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from slabwright.build.tables import rule as table_rule
from slabwright.findings import Finding, find
from slabwright.ground.exchange import RodRow
from slabwright.measure import Quantity
from slabwright.slab.model import Node, Shaped, Slab


@dataclass(frozen=True, slots=True)
class BuiltMark:
    """One mark as built: planned and built height [m], built less planned [m], within tolerance."""

    slab: str
    label: str
    planned: float
    built: float
    off: float
    within: bool


@dataclass(frozen=True, slots=True)
class BuiltFall:
    """The fall between two neighbouring marks, planned and built [-], from the first down to the second."""

    slab: str
    a: str
    b: str
    planned: float
    built: float


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """A finished job against its plan: marks, falls along the edges and joints, what was noticed."""

    marks: tuple[BuiltMark, ...]
    falls: tuple[BuiltFall, ...]
    findings: tuple[Finding, ...]


def rule(name: str) -> float:
    """Return one tolerance [m]; KeyError for an unknown name."""
    return table_rule("as_built", name)


def compare(shaped: Shaped, heights: Mapping[str, float], rows: Sequence[RodRow]) -> AsBuilt:
    """Return the finished slabs against the plan.

    shaped: the plan. heights: surveyed heights by name [m]. rows: rod readings [m] taken after
    stripping, on marks by their labels ('7', or 'side walk 7' where two slabs share a label) and, from
    every set-up, on at least one point whose height is known. Sources ufgs-tolerances, ufgs-walks.
    """
    found: list[Finding] = []
    sights = _lines_of_sight(heights, rows, found)
    names = _names(shaped)
    built: dict[tuple[str, str], float] = {}
    for row in rows:
        if row.point in heights:
            continue
        here = names.get(row.point)
        sight = sights.get(row.set_up or "")
        if here is None:
            found.append(find("build", "built-unknown-mark", where=row.point, line=row.line, mark=row.point))
        elif sight is not None:
            built[here[0].spec.name, here[1].label] = sight - row.reading
    marks = tuple(
        _mark(slab.spec.name, node, built[slab.spec.name, node.label])
        for slab in shaped.slabs
        for node in slab.height_plan.nodes
        if (slab.spec.name, node.label) in built
    )
    falls = tuple(fall for slab in shaped.slabs for fall in _falls(slab, built))
    found += [_off(mark) for mark in marks if not mark.within]
    found += _uneven(shaped, marks)
    found += [_turned(fall) for fall in falls if fall.planned > 0.005 and fall.built <= 0]
    return AsBuilt(marks, falls, tuple(found))


def _lines_of_sight(
    heights: Mapping[str, float], rows: Sequence[RodRow], found: list[Finding]
) -> dict[str, float]:
    """Return the height of each set-up's line of sight [m] from the known points read from it."""
    sights: dict[str, float] = {}
    for set_up in dict.fromkeys(row.set_up or "" for row in rows):
        known = [
            (row.point, heights[row.point] + row.reading)
            for row in rows
            if (row.set_up or "") == set_up and row.point in heights
        ]
        if not known:
            found.append(find("build", "built-no-bench", where=set_up))
            continue
        values = [value for _, value in known]
        sights[set_up] = sum(values) / len(values)
        if max(values) - min(values) > rule("agree"):
            off = Quantity("inches", max(values) - min(values))
            points = ", ".join(name for name, _ in known)
            found.append(find("build", "built-benches-differ", where=set_up, points=points, off=off))
    return sights


def _names(shaped: Shaped) -> dict[str, tuple[Slab, Node]]:
    """Return the marks by what a person may call them; a label that two slabs share needs the slab's name."""
    names: dict[str, tuple[Slab, Node]] = {}
    labels = [n.label for s in shaped.slabs for n in s.height_plan.nodes if n.label]
    for slab in shaped.slabs:
        for node in slab.height_plan.nodes:
            if not node.label:
                continue
            names[f"{slab.spec.name} {node.label}"] = (slab, node)
            if labels.count(node.label) == 1:
                names[node.label] = (slab, node)
    return names


def _mark(slab: str, node: Node, built: float) -> BuiltMark:
    off = built - node.z
    return BuiltMark(slab, node.label, node.z, built, off, abs(off) <= rule("top") + 1e-9)


def _falls(slab: Slab, built: Mapping[tuple[str, str], float]) -> list[BuiltFall]:
    """Falls between neighbours along the panels' sides, from the planned higher end down."""
    nodes = slab.height_plan.nodes
    seen: set[frozenset[int]] = set()
    falls: list[BuiltFall] = []
    for facet in slab.height_plan.facets:
        for i, j in pairwise((*facet.nodes, facet.nodes[0])):
            pair = frozenset((i, j))
            ends = [built.get((slab.spec.name, nodes[k].label)) for k in (i, j)]
            if pair in seen or ends[0] is None or ends[1] is None:
                continue
            seen.add(pair)
            run = math.dist((nodes[i].x, nodes[i].y), (nodes[j].x, nodes[j].y))
            down = (nodes[i].z - nodes[j].z) / run
            real = (ends[0] - ends[1]) / run
            if down < 0:
                i, j, down, real = j, i, -down, -real
            falls.append(BuiltFall(slab.spec.name, nodes[i].label, nodes[j].label, down, real))
    return falls


def _off(mark: BuiltMark) -> Finding:
    return find(
        "build",
        "built-off",
        where=f"{mark.slab} {mark.label}",
        off=Quantity("height_difference", mark.off),
        limit=Quantity("inches", rule("top")),
    )


def _uneven(shaped: Shaped, marks: Sequence[BuiltMark]) -> list[Finding]:
    """Neighbours along the edge whose errors differ by more than the straightedge allows."""
    by_slab = {m: [x for x in marks if x.slab == m] for m in dict.fromkeys(x.slab for x in marks)}
    found: list[Finding] = []
    for slab in shaped.slabs:
        places = {n.label: (n.x, n.y) for n in slab.height_plan.nodes}
        for a, b in pairwise(by_slab.get(slab.spec.name, [])):
            run = math.dist(places[a.label], places[b.label])
            allowed = rule("evenness") * max(1.0, run / rule("evenness_over"))
            if abs(a.off - b.off) > allowed + 1e-9:
                found.append(
                    find(
                        "build",
                        "built-uneven",
                        where=f"{slab.spec.name} {a.label}-{b.label}",
                        off=Quantity("inches", abs(a.off - b.off)),
                        run=Quantity("length", run),
                        limit=Quantity("inches", allowed),
                    )
                )
    return found


def _turned(fall: BuiltFall) -> Finding:
    return find(
        "build",
        "built-falls-back",
        where=f"{fall.slab} {fall.a}-{fall.b}",
        planned=Quantity("slope", fall.planned),
        built=Quantity("slope", -fall.built),
    )
