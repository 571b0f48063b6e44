"""From shots to the ground's surface: which shots lie on it, and which look wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from slabwright.findings import Finding, find
from slabwright.ground.model import XY, Floats, Surface
from slabwright.ground.triangulate import SAME_POINT, triangulate
from slabwright.ground.untyped import shapely
from slabwright.measure import Quantity

STRIP = 1.0  # [m] half width of the ground made from shots in one line
NEIGHBOURS = 7  # shots that a shot is held against
LEAST_OFF = 0.15  # [m] about half a foot: less than that is lumpy ground, not a slip
TIMES_USUAL = 4.0  # and this many times the usual misfit of the other shots
CLEARED = 0.3  # share of the squared misfit that may stay around a shot once it is left out
LEAST_SHOTS = 6  # below this nobody can tell which shot is wrong


def surface_from(
    shots: Mapping[str, tuple[float, float, float]], break_lines: Sequence[Sequence[str]] = ()
) -> tuple[Surface | None, tuple[Finding, ...]]:
    """Return the ground's surface through shots, and what is odd about them.

    One shot makes level ground, shots in one line make ground that is level square to the line; both
    are findings. Every shot is used; one that its neighbours contradict is a finding.

    :param shots: name -> (x, y, height) [m].
    :param break_lines: names along edges of the ground that triangles must not cross.
    :return: the surface, None without any shot; and findings.
    """
    if not shots:
        return None, (find("ground", "no-shots"),)
    names, xyz, findings = _merged(shots)
    findings += outliers(names, xyz)
    place = {part: k for k, name in enumerate(names) for part in name.split(" = ")}
    edges: list[tuple[int, int]] = []
    for line in break_lines:
        missing = [name for name in line if name not in place]
        findings += [find("ground", "break-line-gap", where=" - ".join(line), shot=name) for name in missing]
        there = [place[name] for name in line if name in place]
        edges += list(pairwise(there))
    triangles, left_out = triangulate(xyz[:, :2], edges)
    findings += [find("ground", "break-lines-cross", where=f"{names[a]} - {names[b]}") for a, b in left_out]
    if not len(triangles):
        return _in_line(names, xyz), (*findings, find("ground", "few-shots", where=", ".join(names)))
    return Surface(xyz, triangles, _hull(xyz), names), tuple(findings)


def _merged(
    shots: Mapping[str, tuple[float, float, float]],
) -> tuple[tuple[str, ...], Floats, list[Finding]]:
    """Return names and points (n, 3) with shots of one place made one (mean height), and findings."""
    names = list(shots)
    xyz = np.array([shots[name] for name in names], dtype=np.float64)
    groups: list[list[int]] = []
    cells: dict[tuple[int, int], list[int]] = {}
    for k, (x, y) in enumerate(xyz[:, :2].tolist()):
        i, j = round(x / SAME_POINT), round(y / SAME_POINT)
        near = (g for di in (-1, 0, 1) for dj in (-1, 0, 1) for g in cells.get((i + di, j + dj), ()))
        same = next((g for g in near if np.hypot(*(xyz[groups[g][0], :2] - (x, y))) < SAME_POINT), None)
        if same is None:
            cells.setdefault((i, j), []).append(len(groups))
            groups.append([k])
        else:
            groups[same].append(k)
    findings = [
        find(
            "ground",
            "same-place",
            where=", ".join(names[k] for k in group),
            apart=Quantity("length", float(np.ptp(xyz[group, 2]))),
        )
        for group in groups
        if np.ptp(xyz[group, 2]) > SAME_POINT
    ]
    points = np.array([[*xyz[group[0], :2], xyz[group, 2].mean()] for group in groups])
    return tuple(" = ".join(names[k] for k in group) for group in groups), points, findings


def outliers(names: Sequence[str], xyz: Floats) -> list[Finding]:
    """Return a caution for each shot that the plane through its neighbours contradicts.

    Each shot is predicted from the plane through its nearest neighbours; the misfit is scaled by how
    well that plane can be known there. The worst one is named and left out, and the rest looked at
    again, so that one slip is not blamed on its neighbours.

    :param xyz: points (n, 3) [m].
    """
    findings: list[Finding] = []
    left = np.arange(len(xyz))
    while len(left) >= LEAST_SHOTS and len(findings) <= len(xyz) // 5:
        off, scaled = _misfits(xyz[left])
        worst = int(np.argmax(np.abs(scaled)))
        usual = float(np.median(np.abs(np.delete(scaled, worst))))
        if abs(scaled[worst]) < max(LEAST_OFF, TIMES_USUAL * usual) or not _clears(xyz[left], worst, scaled):
            break
        findings.append(
            find(
                "ground", "shot-off", where=names[left[worst]], off=Quantity("length", float(abs(off[worst])))
            )
        )
        left = np.delete(left, worst)
    return findings


def _clears(xyz: Floats, worst: int, scaled: Floats) -> bool:
    """Tell whether the shots around the worst one agree again once it is left out.

    On a real bank they do not: there the misfit is shared by many.
    """
    around = np.hypot(*(xyz[:, :2] - xyz[worst, :2]).T).argsort()[1 : NEIGHBOURS + 1]
    after = np.zeros(len(xyz))
    after[np.arange(len(xyz)) != worst] = _misfits(np.delete(xyz, worst, axis=0))[1]
    before = scaled[worst] ** 2 + (scaled[around] ** 2).sum()
    return bool((after[around] ** 2).sum() < CLEARED * before)


def _misfits(xyz: Floats) -> tuple[Floats, Floats]:
    """Return each shot's height less its neighbours' plane (n,) [m], raw and scaled by its certainty."""
    count = min(NEIGHBOURS, len(xyz) - 1)
    apart = np.hypot(xyz[:, None, 0] - xyz[None, :, 0], xyz[:, None, 1] - xyz[None, :, 1])
    np.fill_diagonal(apart, np.inf)
    near = np.argpartition(apart, count - 1, axis=1)[:, :count]
    rel = xyz[near, :2] - xyz[:, None, :2]
    size = np.sqrt((rel**2).sum(axis=(1, 2)) / count)
    design = np.concatenate([np.ones((len(xyz), count, 1)), rel / size[:, None, None]], axis=2)
    inverse = np.linalg.pinv(design)
    off = xyz[:, 2] - np.einsum("ij,ij->i", inverse[:, 0], xyz[near, 2])
    leverage = (inverse[:, 0] ** 2).sum(axis=1)
    return off, off / np.sqrt(1.0 + leverage)


def _hull(xyz: Floats) -> tuple[XY, ...]:
    """Return the outline of points (n, 3) as a counter-clockwise ring, or a line's two ends, or a point."""
    hull = shapely.convex_hull(shapely.multipoints(xyz[:, :2]))
    if hull.geom_type == "Polygon":
        hull = shapely.orient_polygons(hull).exterior
        return tuple((float(x), float(y)) for x, y in hull.coords[:-1])
    return tuple((float(x), float(y)) for x, y in hull.coords)


def _in_line(names: tuple[str, ...], xyz: Floats) -> Surface:
    """Return ground that is level square to the line of the shots (level all round for one shot)."""
    along = xyz[:, :2] - xyz[0, :2]
    far = int(np.argmax(np.hypot(*along.T)))
    run = float(np.hypot(*along[far]))
    u = along[far] / run if run > 0 else np.array([1.0, 0.0])
    if run == 0:
        xyz = np.vstack([xyz, xyz])
        xyz[1, 0] += STRIP
    order = np.argsort((xyz[:, :2] - xyz[0, :2]) @ u)
    line = xyz[order]
    square = STRIP * np.array([-u[1], u[0], 0.0])
    points = np.vstack([line - square, line + square])
    n = len(line)
    k = np.arange(n - 1)
    triangles = np.vstack(
        [np.column_stack([k, k + 1, k + n + 1]), np.column_stack([k, k + n + 1, k + n])]
    ).astype(np.int64)
    hull = tuple((float(x), float(y)) for x, y in line[[0, -1], :2]) if run > 0 else (tuple(line[0, :2]),)
    labels = tuple(names[i] if i < len(names) else "" for i in order)
    return Surface(points, triangles, hull, labels + ("",) * n)
