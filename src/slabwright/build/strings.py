"""String nails: where the forms' lines are held from outside the dig.

A corner stake goes when its ground is dug. A nail on the line of each form, a few feet past the
corner, keeps the line: two strings cross over the corner, and no batter board is needed to find it
again. Sides that end on a wall or a slab that stays are held by that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.build.model import XY, FormRun, Forms
from slabwright.build.ring import SAME, height_on, on_ring
from slabwright.build.ties import Obstacles, in_sight
from slabwright.slab.model import Slab


@dataclass(frozen=True, slots=True)
class Nail:
    """A nail on a form's line: label ('1-2 past 2'), place [m], height of the line there [m] or None."""

    label: str
    at: XY
    top: float | None


def string_nails(slab: Slab, forms: Forms, obstacles: Obstacles, off: float) -> list[Nail]:
    """Return the nails of a slab, two a corner of straight forms, `off` [m] past it.

    Skipped where a wall or a trunk stands between the corner and its nail.
    """
    runs = [run for run in forms.runs if run.slab == slab.spec.name and run.radius is None]
    nails: list[Nail] = []
    for run in runs:
        if on_ring(slab.outline.edges, run.p) is None or not (run.a and run.b):
            continue  # openings and bulkheads need no string
        for corner, other, label in ((run.p, run.q, run.a), (run.q, run.p, run.b)):
            if not _meets(runs, run, corner):
                continue
            share = off / run.length
            at = (corner[0] + share * (corner[0] - other[0]), corner[1] + share * (corner[1] - other[1]))
            if bool(in_sight(np.array([at]), np.array([corner]), obstacles)[0, 0]):
                nails.append(Nail(f"{run.a}-{run.b} past {label}", at, _carried(slab, corner, other, share)))
    return nails


def _meets(runs: Sequence[FormRun], run: FormRun, corner: XY) -> bool:
    """Does another straight form turn off at this end, so that the corner is made of two strings?"""
    for other in runs:
        if other is run:
            continue
        for end in (other.p, other.q):
            across = abs(_way(other) - _way(run)) % math.pi
            if math.dist(end, corner) < SAME and min(across, math.pi - across) > math.radians(5):
                return True
    return False


def _way(run: FormRun) -> float:
    return math.atan2(run.q[1] - run.p[1], run.q[0] - run.p[0])


def _carried(slab: Slab, corner: XY, other: XY, share: float) -> float | None:
    """Height of the form's top line carried past the corner."""
    ends = []
    for end in (corner, other):
        place = on_ring(slab.outline.edges, end)
        ends.append(None if place is None else height_on(slab, *place, end))
    near, far = ends
    return None if near is None or far is None else near + share * (near - far)
