"""From a solved net to the records of `result`: points, heights, residual table, global test."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.chi_square import chi_square_quantile, normal_quantile
from slabwright.survey.levels import LevelNet
from slabwright.survey.plane import PlaneNet
from slabwright.survey.result import Fit, HeightOf, Point, ReadingFit
from slabwright.survey.rows import Tag
from slabwright.survey.solve import Problem, Solution

Floats = NDArray[np.float64]

ALPHA = 0.001  # `baarda-1968`: chance of calling one good reading bad
POWER = 0.80  # `baarda-1968`: chance of seeing a slip of the detectable size
UNSEEN = 1e-3  # a redundancy number below this is rounding: nothing checks the reading
BOTH_SIDES = (0.025, 0.975)
ONE_SIDE = 0.95


def detectable_factor() -> float:
    """Return how many sd / sqrt(r) the minimal detectable slip is: 3.29 + 0.84 = 4.13 [-]."""
    return normal_quantile(1.0 - ALPHA / 2.0) + normal_quantile(POWER)


def fit_of(problem: Problem, solution: Solution, as_written: tuple[float, int] | None = None) -> Fit:
    """Return the global test; as_written: statistic and degrees of freedom before slips."""
    n = max(problem.dof, 0)
    before = as_written or (solution.statistic, n)
    low, high = (chi_square_quantile(p, n) for p in BOTH_SIDES)
    limit = chi_square_quantile(ONE_SIDE, n)
    return Fit(n, solution.statistic, low, high, limit, before[0], before[1])


def points_of(plane: PlaneNet, solution: Solution) -> dict[str, Point]:
    """Return every point with its covariance, from the plane net's inverted fronts."""
    xy = plane.at(solution.x)
    place = plane.place
    pairs = np.stack([place[:, [0, 1, 0]].ravel(), place[:, [0, 1, 1]].ravel()], axis=1)
    free = pairs.min(axis=1) >= 0
    cov = np.zeros(len(pairs))
    cov[free] = plane.problem.fronts.pair_covariance(pairs[free])
    rows = cov.reshape(-1, 3).tolist()
    fixed: list[bool] = [max(pair) < 0 for pair in place.tolist()]
    out: dict[str, Point] = {}
    for k, (name, (x, y)) in enumerate(zip(plane.rows.names, xy.tolist(), strict=True)):
        vx, vy, vxy = rows[k]
        out[name] = Point(name, x, y, math.sqrt(max(vx, 0.0)), math.sqrt(max(vy, 0.0)), vxy, fixed[k])
    return out


def heights_of(level: LevelNet, solution: Solution) -> tuple[dict[str, HeightOf], dict[str, HeightOf]]:
    """Return the heights of points and of set-ups' lines of sight."""
    variance = level.problem.fronts.variance()
    points = {name: HeightOf(name, height, 0.0, True) for name, height in level.fixed.items()}
    set_ups: dict[str, HeightOf] = {}
    sds = np.sqrt(np.maximum(variance, 0.0)).tolist()
    for (kind, name), height, sd in zip(level.nodes, solution.x.tolist(), sds, strict=True):
        (points if kind == "point" else set_ups)[name] = HeightOf(name, height, sd, False)
    return points, set_ups


def table(
    tags: Sequence[Tag], problem: Problem, solution: Solution, written: Solution
) -> Iterable[ReadingFit]:
    """Yield one row a reading; w and r are those of the net as it was written."""
    r = written.r
    factor = detectable_factor()
    detect = np.where(r > UNSEEN, factor * problem.sd / np.sqrt(np.maximum(r, UNSEEN)), np.inf)
    columns = (
        problem.value.tolist(),
        solution.residual.tolist(),
        problem.sd.tolist(),
        r.tolist(),
        np.where(r > UNSEEN, written.w, 0.0).tolist(),
        detect.tolist(),
        problem.use.tolist(),
    )
    for tag, value, residual, sd, share, w, least, used in zip(tags, *columns, strict=True):
        reading = tag.reading
        yield ReadingFit(
            name=reading.name,
            part=tag.kind,
            points=reading.points(),
            written=value,
            written_text=tag.written,
            adjusted=value + residual,
            residual=residual,
            sd=sd,
            redundancy=share,
            standardised=w,
            detectable=least,
            used=used,
            line=reading.line,
        )
