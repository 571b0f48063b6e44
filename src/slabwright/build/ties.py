"""Which two anchors to pull tapes from: the pair with the smallest predicted error, in reach, in sight.

With unit directions u, v from two anchors to a stake and the variances r, s of the two pulls (the
tape's own and the anchor's along the pull), the stake's position has the variance (r + s) / sin^2 of
the angle between the directions, summed over x and y (error propagation; source tie-strength).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.build.model import XY
from slabwright.ground.untyped import shapely
from slabwright.survey.instruments import Instrument
from slabwright.survey.result import Point

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

TOUCH = 0.01  # [m] a tape may touch a wall, or end on it
AT = 1e-6  # [m] keeps a direction from being divided by nothing
NEAREST = 0.3048  # [m] a pull shorter than a foot gives no direction worth having (common practice)
FLAT = math.sin(math.radians(5.0))  # tapes that meet flatter than 5 deg fix no place (common practice)
CHUNK = 2000  # stakes handled at once, so that a tract does not fill the memory


@dataclass(frozen=True, slots=True)
class Tie:
    """Two anchors with their distances [m], and the predicted standard deviation of the place [m]."""

    a: tuple[str, float]
    b: tuple[str, float]
    sd: float
    angle: float  # between the two tapes at the stake [rad]


@dataclass(frozen=True, slots=True)
class Obstacles:
    """What a tape cannot pass: walls as (p, q), round trunks as (centre, radius [m]), a closed house [m]."""

    walls: tuple[tuple[XY, XY], ...]
    trunks: tuple[tuple[XY, float], ...]
    house: tuple[XY, ...] = ()


def tie_sd(angle: float, sd_a: float, sd_b: float) -> float:
    """Return the standard deviation [m] of a place fixed by two pulls.

    angle between the pulls at the place [rad]; standard deviations of the pulls [m]. Infinite when
    the pulls lie in one line.
    """
    sine = abs(math.sin(angle))
    return math.inf if sine == 0.0 else math.hypot(sd_a, sd_b) / sine


def best_ties(
    stakes: Sequence[XY],
    anchors: Sequence[Point],
    obstacles: Obstacles,
    *,
    tape: Instrument,
    reach: float,
    keep: float,
) -> list[Tie | None]:
    """Return the best two anchors for each stake [m], None where fewer than two can be used.

    tape: the instrument class that pulls; reach: its longest pull [m]; keep: stay on the pair of the
    stake before while its error is at most this many times the best one's.
    """
    if len(anchors) < 2:
        return [None] * len(stakes)
    ties: list[Tie | None] = []
    for start in range(0, len(stakes), CHUNK):
        ties += _chunk(np.array(stakes[start : start + CHUNK], float), anchors, obstacles, tape, reach, keep)
    return ties


def _chunk(
    places: Floats,
    anchors: Sequence[Point],
    obstacles: Obstacles,
    tape: Instrument,
    reach: float,
    keep: float,
) -> list[Tie | None]:
    at = np.array([(a.x, a.y) for a in anchors])
    out = places[:, None, :] - at[None, :, :]
    distance = np.hypot(out[..., 0], out[..., 1])
    usable = (distance <= reach) & (distance >= NEAREST) & in_sight(places, at, obstacles)
    unit = out / np.maximum(distance, AT)[..., None]
    spread = np.array([[[a.sx**2, a.sxy], [a.sxy, a.sy**2]] for a in anchors])
    variance = (
        np.einsum("sai,aij,saj->sa", unit, spread, unit) + tape.constant**2 + (tape.per_metre * distance) ** 2
    )
    sine = unit[:, :, None, 0] * unit[:, None, :, 1] - unit[:, :, None, 1] * unit[:, None, :, 0]
    first, second = np.triu_indices(len(anchors), 1)
    total = variance[:, first] + variance[:, second]
    strength = np.abs(sine[:, first, second])
    sd = np.sqrt(total) / np.maximum(strength, FLAT)
    sd[~(usable[:, first] & usable[:, second]) | (strength < FLAT)] = np.inf
    ties: list[Tie | None] = []
    before: int | None = None
    for row, best in enumerate(np.argmin(sd, axis=1)):
        if not np.isfinite(sd[row, best]):
            ties.append(None)
            continue
        pair = before if before is not None and sd[row, before] <= keep * sd[row, best] else int(best)
        before = pair
        a, b = int(first[pair]), int(second[pair])
        cosine = float(np.clip(unit[row, a] @ unit[row, b], -1.0, 1.0))
        ties.append(
            Tie(
                (anchors[a].name, float(distance[row, a])),
                (anchors[b].name, float(distance[row, b])),
                float(sd[row, pair]),
                math.acos(cosine),
            )
        )
    return ties


def at_anchor(place: XY, anchors: Sequence[Point], within: float) -> Tie | None:
    """Return the tie of a place that is an anchor, within [m] of it: that anchor twice; None elsewhere."""
    near = min(anchors, key=lambda a: math.dist((a.x, a.y), place), default=None)
    if near is None or (off := math.dist((near.x, near.y), place)) > within:
        return None
    return Tie((near.name, off), (near.name, off), math.hypot(near.sx, near.sy), math.pi / 2)


def along_wall(
    place: XY, anchors: Sequence[Point], walls: Sequence[tuple[XY, XY]], *, tape: Instrument, reach: float
) -> Tie | None:
    """Return the tie of a place that stands on a wall: from both of its ends, along it; None elsewhere.

    The wall itself holds the place across, so the two tapes need not meet at an angle: the second one
    checks the first, and `angle` is given as square.
    """
    for p, q in walls:
        run, left, right = math.dist(p, q), math.dist(place, p), math.dist(place, q)
        if left + right > run + TOUCH**2 / max(run, TOUCH) or max(left, right) > reach:
            continue
        a, b = (next((a for a in anchors if math.dist((a.x, a.y), end) < TOUCH), None) for end in (p, q))
        if a is None or b is None:
            continue
        sd = min(math.hypot(tape.sd(d), a.sx, a.sy) for d, a in ((left, a), (right, b)))
        return Tie((a.name, left), (b.name, right), sd, math.pi / 2)
    return None


def in_sight(places: Floats, anchors: Floats, obstacles: Obstacles) -> Bools:
    """Return which anchors (columns) a straight tape reaches from which places (rows), past obstacles.

    places (m, 2) and anchors (n, 2) in m. A tape may touch a wall, run along it or end on it.
    """
    clear = np.ones((len(places), len(anchors)), bool)
    for p, q in obstacles.walls:
        clear &= ~_crosses(places, anchors, np.array(p), np.array(q))
    for centre, radius in obstacles.trunks:
        clear &= _passes(places, anchors, np.array(centre)) >= radius
    return clear & ~_indoors(places, anchors, obstacles.house) if len(obstacles.house) > 2 else clear


def _indoors(places: Floats, anchors: Floats, house: tuple[XY, ...]) -> Bools:
    """Would the tape run through a closed house, even where it crosses no wall but starts and ends on one?"""
    ends = np.empty((len(places), len(anchors), 2, 2))
    ends[:, :, 0], ends[:, :, 1] = places[:, None], anchors[None, :]
    inside = shapely.buffer(shapely.polygons(house), -TOUCH, join_style="mitre")
    shapely.prepare(inside)
    blocked: Bools = shapely.intersects(inside, shapely.linestrings(ends))
    return blocked


def _crosses(places: Floats, anchors: Floats, p: Floats, q: Floats) -> Bools:
    """Does the tape cross a wall? Touching it, running along it or ending on it does not."""
    run = q - p
    length = float(np.hypot(*run))
    if length < TOUCH:
        return np.zeros((len(places), len(anchors)), bool)
    along = run / length
    normal = np.array([-along[1], along[0]])
    off_place, off_anchor = ((places - p) @ normal)[:, None], ((anchors - p) @ normal)[None, :]
    beyond = (off_place * off_anchor < 0) & (np.abs(off_place) > TOUCH) & (np.abs(off_anchor) > TOUCH)
    at_place, at_anchor = ((places - p) @ along)[:, None], ((anchors - p) @ along)[None, :]
    with np.errstate(divide="ignore", invalid="ignore"):  # a tape beside the wall never meets its line
        share = off_place / (off_place - off_anchor)
        where = at_place + share * (at_anchor - at_place)
    blocked: Bools = beyond & (where > TOUCH) & (where < length - TOUCH)
    return blocked


def _passes(places: Floats, anchors: Floats, centre: Floats) -> Floats:
    """Nearest distance [m] of each tape to a trunk's centre; infinite for an anchor on the trunk."""
    run = anchors[None, :, :] - places[:, None, :]
    length2 = np.maximum((run**2).sum(axis=2), AT)
    share = np.clip(((centre - places)[:, None, :] * run).sum(axis=2) / length2, 0.0, 1.0)
    nearest = places[:, None, :] + share[..., None] * run
    gap: Floats = np.hypot(nearest[..., 0] - centre[0], nearest[..., 1] - centre[1])
    return gap
