"""The room's door: field notes with adjusted points and heights in, everything that is there out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

import numpy as np

from slabwright.findings import Finding, find
from slabwright.ground.model import (
    XY,
    BuriedLine,
    DoorAt,
    ExistingSlab,
    Floats,
    Ground,
    Surface,
    TreeAt,
    Wall,
)
from slabwright.ground.rules import rules
from slabwright.ground.shots import surface_from
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity
from slabwright.notes.models import Existing, House, Notes, line_of

Points = Mapping[str, XY]
Heights = Mapping[str, float]

ON_SLAB = 0.02  # [m] a shot this close to an existing slab's edge still counts as on it


def survey_ground(notes: Notes, points: Points, heights: Heights) -> Ground:
    """Return what is there before the work.

    :param notes: the job file.
    :param points: adjusted places by name, (x, y) [m].
    :param heights: adjusted heights by name [m].
    :return: walls, doors, slabs, trees, buried lines, heads and the ground's surface, with findings.
        What hangs on a point without a place is left out with a finding.
    """
    house = notes.house
    findings: list[Finding] = []
    walls, ring = _walls(house, points, findings)
    existing = tuple(
        made for row in notes.existing if (made := _existing(row, points, heights, findings)) is not None
    )
    surface = _surface(notes, points, heights, existing, ring, findings)
    organic = notes.ground.organic
    if organic is None:
        organic = rules()["organic"]
        findings.append(find("ground", "organic-assumed", depth=Quantity("length", organic)))
    return Ground(
        walls=walls,
        house_ring=ring,
        doors=_doors(house, points, heights, findings),
        existing=existing,
        trees=tuple(
            TreeAt(tree.name, points[tree.at], tree.trunk, rules()["root-zone"] * tree.trunk)
            for tree in notes.trees
            if _placed(tree.name, (tree.at,), points, findings, line_of(tree))
        ),
        buried=tuple(
            BuriedLine(row.name or row.kind, row.kind, tuple(points[p] for p in row.along), row.depth)
            for row in notes.buried
            if _placed(row.name or row.kind, row.along, points, findings, line_of(row))
        ),
        heads=tuple(
            (row.head, points[row.at], row.throw)
            for row in notes.sprinklers
            if _placed(row.head, (row.at,), points, findings, line_of(row))
        ),
        surface=surface,
        organic=organic,
        soil=notes.place.soil,
        siding=house.siding if house else "none",
        siding_bottom=heights.get(house.siding_bottom or "") if house else None,
        findings=tuple(findings),
        baseline=() if house else tuple(notes.baseline or ()),
    )


def _placed(
    thing: str, names: Iterable[str], points: Points, findings: list[Finding], line: int | None
) -> bool:
    """Tell whether every name has a place; a finding names the first that has none."""
    missing = next((name for name in names if name not in points), None)
    if missing is None:
        return True
    findings.append(find("ground", "not-placed", where=thing, line=line, point=missing))
    return False


def _walls(
    house: House | None, points: Points, findings: list[Finding]
) -> tuple[tuple[Wall, ...], tuple[XY, ...]]:
    """Return the walls between placed corners, and the house's ring when it is closed."""
    if house is None:
        return (), ()
    corners = house.walls
    pairs = [*pairwise(corners), *([(corners[-1], corners[0])] if house.closed else [])]
    walls = tuple(
        Wall(f"{p}-{q}", points[p], points[q])
        for p, q in pairs
        if _placed(f"{p}-{q}", (p, q), points, findings, line_of(house))
    )
    whole = house.closed and len(corners) > 2 and all(name in points for name in corners)
    ring = tuple(points[name] for name in corners) if whole else ()
    return walls, () if _crosses(ring, "-".join(corners), findings, line_of(house)) else ring


def _crosses(ring: tuple[XY, ...], thing: str, findings: list[Finding], line: int | None) -> bool:
    """Tell whether a ring runs across itself, as one wrongly placed corner makes it; with a finding."""
    if not ring or shapely.is_valid(shapely.polygons(ring)):
        return False
    findings.append(find("ground", "ring-crosses", where=thing, line=line))
    return True


def _doors(
    house: House | None, points: Points, heights: Heights, findings: list[Finding]
) -> tuple[DoorAt, ...]:
    """Return the doors, each on its wall's line from the first corner that was written."""
    doors: list[DoorAt] = []
    for row in house.doors if house else ():
        ends = _wall_ends(row.on, points)
        if ends is None:
            findings.append(find("ground", "not-placed", where=row.name, line=line_of(row), point=row.on))
            continue
        p, q = np.array(points[ends[0]]), np.array(points[ends[1]])
        run = float(np.hypot(*(q - p)))
        near, far = row.from_, row.from_ + row.width
        if far > run + ON_SLAB:
            over, wall = Quantity("length", far - run), Quantity("length", run)
            findings.append(
                find("ground", "door-past-wall", where=row.name, line=line_of(row), over=over, wall=wall)
            )
        u = (q - p) / run
        sill = heights.get(row.sill) if row.sill else None
        doors.append(DoorAt(row.name, row.on, _xy(p + near * u), _xy(p + far * u), sill, row.sill))
    return tuple(doors)


def _wall_ends(written: str, points: Points) -> tuple[str, str] | None:
    """Return the two corner names of a wall such as 'A-B'; names may hold hyphens themselves."""
    cuts = [k for k, letter in enumerate(written) if letter == "-"]
    for k in cuts:
        p, q = written[:k].strip(), written[k + 1 :].strip()
        if p in points and q in points and points[p] != points[q]:
            return p, q
    return None


def _xy(place: Floats) -> XY:
    return float(place[0]), float(place[1])


def _existing(
    row: Existing, points: Points, heights: Heights, findings: list[Finding]
) -> ExistingSlab | None:
    """Return an existing slab with its heights and, from three shot corners on, its plane."""
    ring_names, names = row.corners, row.corners or row.edge
    if not _placed(row.name, names, points, findings, line_of(row)):
        return None
    shot = {name: heights[name] for name in dict.fromkeys((*names, *row.edge)) if name in heights}
    shot = {name: height for name, height in shot.items() if name in points}
    plane, off = best_plane(np.array([(*points[name], shot[name]) for name in shot]).reshape(-1, 3))
    if off > rules()["off-plane"]:
        findings.append(
            find("ground", "slab-not-plane", where=row.name, line=line_of(row), off=Quantity("length", off))
        )
    if len(shot) < 2 and row.keeps == "height":
        findings.append(find("ground", "slab-without-height", where=row.name, line=line_of(row)))
    along: list[float | None] = []
    for name in names:
        height = shot.get(name)
        if height is None and plane is not None:
            x, y = points[name]
            height = plane[0] * x + plane[1] * y + plane[2]
            findings.append(
                find("ground", "corner-from-plane", where=row.name, line=line_of(row), corner=name)
            )
        along.append(height)
    ring = tuple(points[name] for name in ring_names)
    if _crosses(ring, row.name, findings, line_of(row)):
        return None
    edge = tuple(points[name] for name in names)
    if ring:
        edge, names, along = (*edge, edge[0]), (*names, names[0]), [*along, along[0]]
    joints = tuple((points[p], points[q]) for p, q in row.joints if p in points and q in points)
    return ExistingSlab(
        name=row.name,
        ring=_counter_clockwise(ring),
        edge=edge,
        names=names,
        heights=tuple(along),
        plane=plane,
        keeps_height=row.keeps == "height",
        thickness=row.thickness,
        joints=joints,
    )


def _counter_clockwise(ring: tuple[XY, ...]) -> tuple[XY, ...]:
    """Return the ring turning left."""
    doubled = sum(p[0] * q[1] - p[1] * q[0] for p, q in zip(ring, ring[1:] + ring[:1], strict=True))
    return ring if doubled >= 0 else ring[::-1]


def best_plane(xyz: Floats) -> tuple[tuple[float, float, float] | None, float]:
    """Return the least-squares plane through points (n, 3) [m] and the largest misfit [m].

    The plane is (a, b, c), height = a x + b y + c; None when the points do not span one.
    """
    if len(xyz) < 3:
        return None, 0.0
    centre = xyz.mean(axis=0)
    rel = xyz - centre
    u, spread, vt = np.linalg.svd(rel[:, :2], full_matrices=False)
    if spread[1] < 1e-3 * spread[0]:
        return None, 0.0
    slope = vt.T @ ((u.T @ rel[:, 2]) / spread)
    off = float(np.abs(rel[:, :2] @ slope - rel[:, 2]).max())
    return (float(slope[0]), float(slope[1]), float(centre[2] - slope @ centre[:2])), off


def _surface(
    notes: Notes,
    points: Points,
    heights: Heights,
    existing: tuple[ExistingSlab, ...],
    house_ring: tuple[XY, ...],
    findings: list[Finding],
) -> Surface | None:
    """Return the surface through the shots that lie on the ground."""
    asked = notes.ground.shots
    if asked == "all":
        names = [name for name in heights if name in points and name not in _not_ground(notes)]
        on = _on_something(names, points, existing, house_ring)
        names = [name for name in names if name not in on]
        if on:
            findings.append(find("ground", "shots-on-slab", shots=", ".join(on)))
    else:
        names = []
        for name in dict.fromkeys(asked):
            if name not in points or name not in heights:
                code = "shot-without-place" if name not in points else "shot-without-height"
                findings.append(find("ground", code, where=name, line=line_of(notes.ground), shot=name))
            elif name not in notes.ground.not_ground:
                names.append(name)
    surface, odd = surface_from(
        {name: (*points[name], heights[name]) for name in names}, notes.ground.break_lines
    )
    findings += odd
    return surface


def _not_ground(notes: Notes) -> set[str]:
    """Return the names that stand on something other than the ground, whatever their height."""
    names = {*notes.ground.not_ground, *notes.heights, *(row.set_up for row in notes.levels)}
    names |= {name for row in notes.existing for name in (*row.corners, *row.edge)}
    if notes.house:
        names |= {door.sill for door in notes.house.doors if door.sill}
        names |= {notes.house.siding_bottom} if notes.house.siding_bottom else set()
    return names


def _on_something(
    names: list[str], points: Points, existing: tuple[ExistingSlab, ...], house_ring: tuple[XY, ...]
) -> list[str]:
    """Return those names whose places lie on an existing slab, or well inside the house."""
    if not names:
        return []
    places = shapely.points(np.array([points[name] for name in names]))
    on = np.zeros(len(names), dtype=np.bool_)
    for slab in existing:
        if slab.ring:
            on |= shapely.distance(shapely.polygons(slab.ring), places) < ON_SLAB
    if house_ring:
        on |= shapely.within(places, shapely.buffer(shapely.polygons(house_ring), -ON_SLAB))
    return [name for name, there in zip(names, on, strict=True) if there]
