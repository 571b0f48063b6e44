"""Arcs that can be swung with a tape from their centre, where the centre can be found and stood on."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from slabwright.build.model import XY, Swing
from slabwright.build.ring import SAME, arc_of, label_at
from slabwright.build.ties import Obstacles, best_ties, in_sight
from slabwright.slab.model import Edge, Shaped
from slabwright.survey.instruments import Instrument
from slabwright.survey.result import Point

LOOKS = 5  # places along an arc to which the tape must run clear


def swings(
    shaped: Shaped,
    anchors: Sequence[Point],
    obstacles: Obstacles,
    *,
    tape: Instrument,
    reach: float,
    keep: float,
) -> tuple[Swing, ...]:
    """Return the arcs of all slabs whose centre two tapes find and a tape reaches the whole arc from.

    `anchors` are what the tapes are pulled from, reach [m] the longest pull, keep as for `best_ties`.
    Arcs about one centre share its name. Source: geometry.
    """
    found: list[Swing] = []
    centres: list[XY] = []
    for slab in shaped.slabs:
        for edge in slab.outline.edges:
            if not edge.bulge:
                continue
            centre, radius, start = arc_of(edge.p, edge.q, edge.bulge)
            ends = label_at(slab, edge.p), label_at(slab, edge.q)
            if radius > reach or not all(ends) or not _clear(edge, centre, radius, start, obstacles):
                continue
            (tie,) = best_ties([centre], anchors, obstacles, tape=tape, reach=reach, keep=keep)
            if tie is None:
                continue
            number = next((k for k, c in enumerate(centres) if math.dist(c, centre) < SAME), len(centres))
            if number == len(centres):
                centres.append(centre)
            name, at = f"C{number + 1}", centres[number]
            found.append(Swing(slab.spec.name, *ends, name, at, radius, tie.a, tie.b, tie.sd))
    return tuple(found)


def _clear(edge: Edge, centre: XY, radius: float, start: float, obstacles: Obstacles) -> bool:
    """Return whether a tape from the centre runs clear to places all along the arc."""
    turns = start + 4.0 * math.atan(edge.bulge) * np.linspace(0.0, 1.0, LOOKS)
    places = np.column_stack([centre[0] + radius * np.cos(turns), centre[1] + radius * np.sin(turns)])
    return bool(in_sight(places, np.array([centre]), obstacles).all())
