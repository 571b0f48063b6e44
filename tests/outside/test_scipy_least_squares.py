"""Random nets against a general-purpose nonlinear least-squares solver.

Source: scipy.optimize.least_squares. The residuals are written here anew, from the geometry, and
differentiated by complex steps (two-sided differences settle only to a few 1e-9 m). Agreement to
1e-9 m in every coordinate, and of standard deviations with the inverse of J'J.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from slabwright.survey import adjust
from slabwright.survey.chi_square import chi_square_cdf, chi_square_quantile
from slabwright.survey.net import (
    HeightDifference,
    KnownHeight,
    Net,
    Pull,
    RightAngle,
    Rod,
    SquareOff,
    Straight,
)


def random_net(seed):
    rng = random.Random(seed)
    xy = {"A": (0.0, 0.0), "B": (rng.uniform(8, 14), 0.0)}
    pegs = [f"P{k}" for k in range(rng.randint(3, 8))]
    for peg in pegs:
        xy[peg] = (rng.uniform(-2, 14), -rng.uniform(2, 9))
    names = list(xy)
    pairs = [("A", "B")] + [(a, peg) for peg in pegs for a in ("A", "B")]
    pairs += [tuple(rng.sample(pegs, 2)) for _ in range(len(pegs))]
    pulls = tuple(Pull(a, b, math.dist(xy[a], xy[b]) + rng.gauss(0, 0.003), sd=0.003) for a, b in pairs)
    squares = tuple(
        SquareOff(p, "A", "B", xy[p][0] + rng.gauss(0, 0.004), -xy[p][1] + rng.gauss(0, 0.004), sd=0.004)
        for p in pegs[:2]
    )
    # A point that really is square to, and one that really is in line with, two others.
    (ax, ay), (bx, by) = xy[pegs[0]], xy[pegs[1]]
    xy["R"] = (ax - (by - ay) * 0.5, ay + (bx - ax) * 0.5)
    xy["S"] = (ax + (bx - ax) * 0.4, ay + (by - ay) * 0.4)
    pulls += tuple(
        Pull(n, to, math.dist(xy[n], xy[to]) + rng.gauss(0, 0.003), sd=0.003)
        for n in ("R", "S")
        for to in ("A", "B", pegs[0])
    )
    corners = (RightAngle(pegs[0], pegs[1], "R", sd=0.003),)
    lines = (Straight((pegs[0], "S", pegs[1]), sd=0.003),)
    heights = {name: rng.uniform(-1, 1) for name in names}
    rods = tuple(
        Rod(s, n, 1.5 - heights[n] + k + rng.gauss(0, 0.002), sd=0.002)
        for k, s in enumerate(("S1", "S2"))
        for n in names
    )
    ups = (HeightDifference(names[1], names[2], heights[names[2]] - heights[names[1]] + 0.001, sd=0.003),)
    return Net(
        frame=("A", "B"),
        pulls=pulls,
        square_offs=squares,
        right_angles=corners,
        straights=lines,
        rods=rods,
        height_differences=ups,
        known_heights=(KnownHeight("A", 0.0),),
    ), xy


def norm(d):
    """Length that stays analytic for complex steps."""
    return np.sqrt((d * d).sum())


def plane_residuals(net, names):
    """Return a function of the unknown vector: every plane reading's misfit over its sd."""

    def place(x):
        at = {"A": np.zeros(2), "B": np.array([x[0], 0.0 * x[0]])}
        at |= {name: x[1 + 2 * k : 3 + 2 * k] for k, name in enumerate(names)}
        return at

    def residuals(x):
        at = place(x)
        out = [(norm(at[r.a] - at[r.b]) - r.length) / r.sd for r in net.pulls]
        for r in net.square_offs:
            u = (at[r.end] - at[r.start]) / norm(at[r.end] - at[r.start])
            d = at[r.point] - at[r.start]
            out += [(d @ u - r.along) / r.sd, (d[0] * u[1] - d[1] * u[0] - r.out) / r.sd]
        for r in net.right_angles:
            a, b = at[r.a] - at[r.at], at[r.b] - at[r.at]
            out.append(a @ b / norm(a) / norm(b) / r.sd)
        for r in net.straights:
            first, mid, last = (at[name] for name in r.line_of)
            u = (last - first) / norm(last - first)
            out.append(((mid - first)[0] * u[1] - (mid - first)[1] * u[0]) / r.sd)
        return np.array(out)

    return residuals


@pytest.mark.parametrize("seed", range(12))
def test_plane_net(seed):
    """Coordinates to 1e-9 m, standard deviations to 1e-6 of themselves, the sum of squares."""
    net, xy = random_net(seed)
    got = adjust(net, look_for_slips=False)
    names = [name for name in xy if name not in ("A", "B")]
    start = np.concatenate([[xy["B"][0]], *(xy[name] for name in names)])
    peer = least_squares(
        plane_residuals(net, names), start, jac="cs", method="trf", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    mine = np.concatenate([[got.points["B"].x], *((got.points[n].x, got.points[n].y) for n in names)])
    assert mine == pytest.approx(peer.x, abs=1e-9)
    assert got.plane.statistic == pytest.approx(2.0 * peer.cost, rel=1e-8)
    cov = np.linalg.inv(peer.jac.T @ peer.jac)
    sds = np.concatenate([[got.points["B"].sx], *((got.points[n].sx, got.points[n].sy) for n in names)])
    assert sds == pytest.approx(np.sqrt(np.diagonal(cov)), rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_level_net(seed):
    """Heights and lines of sight to 1e-9 m."""
    net, _ = random_net(seed)
    got = adjust(net, look_for_slips=False)
    names = [name for name in got.heights if name != "A"]
    ups = list(got.set_ups)

    def residuals(x):
        h = dict(zip([*names, *ups], x, strict=True)) | {"A": 0.0}
        rods = [(h[r.set_up] - h[r.point] - r.reading) / r.sd for r in net.rods]
        return np.array(rods + [(h[r.b] - h[r.a] - r.up) / r.sd for r in net.height_differences])

    peer = least_squares(residuals, np.zeros(len(names) + len(ups)), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    mine = [got.heights[n].height for n in names] + [got.set_ups[n].height for n in ups]
    assert mine == pytest.approx(peer.x, abs=1e-9)


@pytest.mark.parametrize("dof", [1, 2, 3, 5, 8, 13, 40, 200, 1000, 15000])
@pytest.mark.parametrize("p", [0.001, 0.025, 0.5, 0.95, 0.975, 0.9999])
def test_chi_square(p, dof):
    """Quantiles and probabilities against scipy.stats.chi2."""
    assert chi_square_quantile(p, dof) == pytest.approx(chi2.ppf(p, dof), rel=1e-9)
    for x in (0.3 * dof, dof, 1.7 * dof):
        assert chi_square_cdf(x, dof) == pytest.approx(chi2.cdf(x, dof), abs=1e-11)
