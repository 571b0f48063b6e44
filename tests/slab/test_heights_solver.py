"""The optimum against a general solver on a model written out again, and prices against differences."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, linprog, minimize
from tests.slab import heights_cases as c

from slabwright.ground import ground_height
from slabwright.ground.model import Surface
from slabwright.slab.heights.limits import value
from slabwright.slab.heights.plan import problems_of
from slabwright.slab.heights.rows import INF, Builder, Family
from slabwright.slab.heights.solver import Session, solve
from slabwright.solving import Status


def bumpy(seed: int, tilt=(0.0, 0.0), rough: float = 0.02) -> Surface:
    """Nine shots on a 3 x 3 grid, each off a tilted plane by up to `rough` [m]."""
    rng = np.random.default_rng(seed)
    xy = np.array([(x, y) for x in (-3.0, 4.1, 11.0) for y in (-5.0, 0.3, 5.0)])
    z = xy @ tilt + rng.uniform(-rough, rough, 9)
    cells = [(i, i + 1) for i in (0, 1, 3, 4)]
    tris = [t for k, _ in cells for t in ((k, k + 3, k + 4), (k, k + 4, k + 1))]
    hull = ((-3.0, -5.0), (11.0, -5.0), (11.0, 5.0), (-3.0, 5.0))
    return Surface(np.column_stack([xy, z]), np.array(tris), hull, tuple("abcdefghi"))


def walk_problem(seed: int, rough: float = 0.02):
    """Two panels 3 m x 1 m, right edge low, one corner fixed, over bumpy ground."""
    surface = bumpy(seed, tilt=(-0.03, 0.01), rough=rough)
    o, j = c.ribbon(6.0, 1.0, 2)
    spec = c.spec(
        heights=(c.Fix(at="P", above="bench", by="20 mm"),), fall=c.fall(across=0.018, along_most=0.045)
    )
    g = c.ground(surface=surface)
    (problem,), found = problems_of([(spec, o, j)], {"P": (0.0, -0.5)}, {"bench": 0.01}, g)
    assert not any(found.values())
    return problem, surface


def written_again(surface: Surface):
    """The same walk as epigraph variables and constraints, from the words of the method alone.

    Unknowns: the six corner heights (x = 0, 3, 6; right edge then left), then one bound for each
    absolute value. Nothing of the program's own rows is used.
    """
    xs = (0.0, 3.0, 6.0)
    corner = {(x, y): k for k, (y, x) in enumerate((y, x) for y in (-0.5, 0.5) for x in xs)}
    n = 6
    terms: list[tuple[np.ndarray, float, float, float]] = []  # weights, target, price over, price under

    def row() -> np.ndarray:
        return np.zeros(n)

    def across(x: float) -> np.ndarray:
        r = row()
        r[corner[x, 0.5]], r[corner[x, -0.5]] = 1.0, -1.0  # 1 m wide: falls to the right
        return r

    def along(a: float, b: float, y: float) -> np.ndarray:
        r = row()
        r[corner[b, y]], r[corner[a, y]] = 1 / (b - a), -1 / (b - a)
        return r

    depth = 0.1 + 0.1
    for a, b in ((0.0, 3.0), (3.0, 6.0)):
        fall = (across(a) + across(b)) / 2
        terms.append((fall, 0.018, value("charge-fall") * 3.0, value("charge-fall") * 3.0))
        terms.append((across(a) - across(b), 0.0, value("charge-twist"), value("charge-twist")))
        for u in (0.25, 0.75):
            for v in (0.25, 0.75):
                r = row()
                for x, wx in ((a, 1 - u), (b, u)):
                    for y, wy in ((-0.5, 1 - v), (0.5, v)):
                        r[corner[x, y]] += wx * wy
                g = ground_height(surface, [(a + 3 * u, v - 0.5)])[0]
                terms.append((r, g + depth, 1.5 * 0.75, 1.0 * 0.75))  # over the ground: fill
    fold = value("charge-break") * 0.5
    terms += [(along(0, 3, y) - along(3, 6, y), 0.0, fold, fold) for y in (-0.5, 0.5)]
    for (x, y), k in corner.items():
        r = row()
        r[k] = 1.0
        share = 3.0 if x == 3.0 else 1.5 + 0.5  # half of each free side that ends here
        g = ground_height(surface, [(x, y)])[0]
        terms.append((r, g + 0.0254, *(value("charge-lawn") * share,) * 2))
    limits = [(across(x), 0.01, 1 / 48) for x in xs]
    limits += [(along(a, b, y), -0.045, 0.045) for a, b in ((0.0, 3.0), (3.0, 6.0)) for y in (-0.5, 0.5)]
    limits += [((across(a) - across(b)) / 3.0, -0.02, 0.02) for a, b in ((0.0, 3.0), (3.0, 6.0))]
    limits += [(along(0, 3, y) - along(3, 6, y), -0.05, 0.05) for y in (-0.5, 0.5)]
    fixed = row()
    fixed[corner[0.0, -0.5]] = 1.0
    limits.append((fixed, 0.03, 0.03))
    return n, terms, limits


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_same_optimum_as_a_general_nonlinear_solver(seed):
    problem, surface = walk_problem(seed)
    solved = solve(problem.program)
    assert solved.status is Status.OPTIMAL
    n, terms, limits = written_again(surface)
    m = len(terms)
    rows, low, high = [], [], []
    for r, lo, hi in limits:
        rows.append(np.concatenate([r, np.zeros(m)]))
        low.append(lo)
        high.append(hi)
    for k, (r, target, over, under) in enumerate(terms):  # bound >= over * (r z - t), >= under * (t - r z)
        for s, price in ((1.0, over), (-1.0, under)):
            e = np.zeros(m)
            e[k] = 1.0
            rows.append(np.concatenate([-s * price * r, e]))
            low.append(-s * price * target)
            high.append(np.inf)
    cost = np.concatenate([np.zeros(n), np.ones(m)])
    start = np.concatenate([np.zeros(n), np.full(m, 5.0)])
    a, lo, hi = np.array(rows), np.array(low), np.array(high)
    one = lo == hi
    found = minimize(
        lambda x: cost @ x,
        start,
        jac=lambda _x: cost,
        method="SLSQP",
        constraints=[LinearConstraint(a[k], lo[k], hi[k]) for k in (~one, one)],
        options={"maxiter": 500, "ftol": 1e-12},
    )
    # 8: no step downhill is left, which is how it ends at a corner of many flat sides
    assert found.status in (0, 8), found.message
    assert (a @ found.x >= lo - 1e-8).all()
    assert (a @ found.x <= hi + 1e-8).all()
    assert solved.cost == pytest.approx(found.fun, rel=1e-6, abs=1e-6)
    assert problem.program.cost(solved.z) == pytest.approx(solved.cost, abs=1e-9)


def all_moved(problem, family: int, by: float):
    p = problem.program
    rows = p.family == family
    return p.with_bounds(p.lo + by * rows, p.hi + by * rows)


@pytest.mark.parametrize("seed", [1, 2, 3, 5, 8])
def test_prices_are_the_slopes_of_the_cost(seed):
    problem, _ = walk_problem(seed, rough=0.05)
    p = problem.program
    solved = solve(p)
    step = 1e-6
    checked = 0
    for k in range(len(p.families)):
        up, down = solve(all_moved(problem, k, step)), solve(all_moved(problem, k, -step))
        slopes = [(up.cost - solved.cost) / step, (solved.cost - down.cost) / step]
        if abs(slopes[0] - slopes[1]) > 1e-5:
            continue  # a kink: a price is one of many there
        assert solved.dual[p.family == k].sum() == pytest.approx(slopes[0], abs=1e-5)
        e = [
            (p.earthwork(up.z) - p.earthwork(solved.z)) / step,
            (p.earthwork(solved.z) - p.earthwork(down.z)) / step,
        ]
        assert e[0] == pytest.approx(e[1], abs=1e-4)
        assert solved.earth_dual[p.family == k].sum() == pytest.approx(e[0], abs=1e-4)
        checked += abs(slopes[0]) > 1e-3
    assert checked >= 1  # at least the fixed corner has a price


@pytest.mark.parametrize("seed", [1, 2, 3, 5, 8])
def test_relaxing_a_limit_saves_what_its_price_says(seed):
    problem, _ = walk_problem(seed, rough=0.05)
    p = problem.program
    solved = solve(p)
    step = 1e-6
    for k in range(len(p.families)):
        rows = p.family == k
        if np.any(p.lo[rows] == p.hi[rows]):
            continue
        wide = solve(p.with_bounds(p.lo - step * rows, p.hi + step * rows))
        saved = (solved.cost - wide.cost) / step
        assert (solved.above + solved.below)[rows].sum() == pytest.approx(saved, abs=1e-5)
        earth = (p.earthwork(solved.z) - p.earthwork(wide.z)) / step
        assert (solved.earth_above + solved.earth_below)[rows].sum() == pytest.approx(earth, abs=1e-4)


def test_an_edit_is_solved_from_where_it_stood_to_the_same_heights():
    problem, _ = walk_problem(3)
    session = Session(problem.program)
    session.solve()
    door = next(k for k, f in enumerate(problem.program.families) if f.kind == "height")
    for by in (0.004, -0.011, 0.02):
        edited = all_moved(problem, door, by)
        session.rebound(edited.lo, edited.hi)
        warm, cold = session.solve(), solve(edited)
        assert warm.cost == pytest.approx(cold.cost, abs=1e-9)
        assert warm.z == pytest.approx(cold.z, abs=1e-9)


def test_an_edit_may_not_part_the_ends_of_a_fixed_height():
    problem, _ = walk_problem(3)
    session = Session(problem.program)
    p = problem.program
    with pytest.raises(ValueError, match="load it anew"):
        session.rebound(p.lo, p.hi + 1.0)


def random_program(rng: np.random.Generator, rows: int = 14, columns: int = 4):
    """Bands and wishes with random numbers, feasible or not."""
    build = Builder(columns)
    for k in range(rows):
        index = rng.permutation(columns)[None, :3]
        weights = rng.normal(size=(1, 3))
        if k % 2:
            at = rng.normal(scale=0.5)
            lo, hi = at - rng.uniform(0, 0.6), at + rng.uniform(0, 0.6)
            if k % 3 == 0:
                lo = -INF
            family = build.family(Family("across-most", "s", str(k), "-", 0.0))
            build.limit(index, weights, lo, hi, family)
        else:
            over, under = rng.uniform(0.1, 2, 2)
            build.wish(index, weights, rng.normal(), over, under, earth=min(over, under))
    for k in range(columns):
        build.wish(np.array([[k]]), np.ones((1, 1)), 0.0, 0.05, 0.05)
    return build.done()


def test_random_programs_against_scipy_linprog():
    rng = np.random.default_rng(7)
    seen = set()
    for _ in range(60):
        p = random_program(rng)
        wish = np.flatnonzero(~p.limits)
        dense = np.zeros((len(p.lo), p.columns))
        dense[np.repeat(np.arange(len(p.lo)), np.diff(p.start)), p.index] = p.value
        w, n = len(wish), p.columns
        ub, rhs = [], []
        for r in np.flatnonzero(p.limits):
            for s, end in ((1, p.hi[r]), (-1, -p.lo[r])):
                if np.isfinite(end):
                    ub.append(np.concatenate([s * dense[r], np.zeros(2 * w)]))
                    rhs.append(end)
        eq = np.hstack([dense[wish], -np.eye(w), np.eye(w)])
        cost = np.concatenate([np.zeros(n), p.over[wish], p.under[wish]])
        bounds = [(None, None)] * n + [(0, None)] * (2 * w)
        ref = linprog(cost, np.array(ub), rhs, eq, p.lo[wish], bounds)
        ours = solve(p)
        seen.add(ours.status)
        if ref.status == 2:
            assert ours.status is Status.INFEASIBLE
        else:
            assert ours.status is Status.OPTIMAL
            assert ours.cost == pytest.approx(ref.fun, abs=1e-8)
            assert p.excess(ours.z).max() < 1e-8
            assert p.cost(ours.z) == pytest.approx(ref.fun, abs=1e-8)
    assert seen == {Status.OPTIMAL, Status.INFEASIBLE}
