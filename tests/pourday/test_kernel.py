"""The slab's heat: energy, water, order, ringing, lanes, covers, and scipy's stiff integrator beside it."""

from __future__ import annotations

import numpy as np
import pytest
from tests.pourday.slabs import CHICAGO, MILD, MIX, days, grid_errors, random_case, reference, steady

from slabwright.pourday import kernel
from slabwright.pourday import step as step_module
from slabwright.pourday.column import Column, column
from slabwright.pourday.draws import bleed_of, draw, hydration_of, vary_of
from slabwright.pourday.events import reached
from slabwright.pourday.forcing import Vary, forcing
from slabwright.pourday.kernel import Bleed, Switch, run, switch_to
from slabwright.pourday.mix import age_rate, hydration
from slabwright.pourday.model import Site
from slabwright.pourday.tables import rule

SEALED = Switch(0.0, 0.0, 0.0, 0.65)
DRY = Bleed(0.0, 1.5, np.inf)


def still(monkeypatch: pytest.MonkeyPatch, **other: float) -> None:
    """Take radiation out of the surface, so that the textbooks' solutions apply."""
    own = {"emissivity": 0.0, **other}
    monkeypatch.setattr(step_module, "rule", lambda key: own.get(key, rule(key)))


def night() -> Site:
    return Site.of_degrees(41.9, -87.6)


def bar(cells: int, depth: float, k: float, c: float) -> Column:
    """A uniform body without concrete."""
    size = depth / cells
    capacity = np.full(cells + 1, c * size)
    capacity[[0, -1]] *= 0.5
    zero = np.zeros(cells + 1)
    return Column(np.arange(cells + 1) * size, capacity, np.full(cells, k / size), zero, zero, zero, 0)


@pytest.fixture(params=[False, True], ids=["numpy", "compiled"], autouse=True)
def both(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every test of the kernel holds for the steps as they stand and for their compiled twin."""
    if request.param:
        pytest.importorskip("numba")
    monkeypatch.setattr(kernel, "installed", lambda: request.param)


@pytest.mark.parametrize("hours", [(0.4, 3.0), (2.0, 5.0)])
@pytest.mark.parametrize("panels", [1, 3])
def test_the_compiled_twin_gives_the_same_numbers(panels: int, hours: tuple[float, float]) -> None:
    """Panels, mixes, weathers and cure times that differ by lane; several covers; every array of the trace.

    1e-10 of each array's size: rounding, and nothing else. 37 lanes fill two blocks and part of a third.
    """
    pytest.importorskip("numba")
    samples = 37
    whole = column(0.1016, 0.1016)
    days_ = draw(panels, samples, 3)
    drive = forcing(
        days(MILD), CHICAGO, [(7.0 + p) * 3600 for p in range(panels)], 150, 600.0, vary=vary_of(days_)
    )
    begin = np.linspace(24.0, 12.0, whole.nodes)[:, None, None]
    cure = np.random.default_rng(2).uniform(*hours, (panels, samples)) * 3600.0
    switches = (switch_to("compound", cure), switch_to("blanket", cure + 9000.0), switch_to("burlap", 7.1e4))
    first, other = (
        run(
            whole,
            hydration_of(MIX, days_),
            bleed_of(MIX, 0.1016, days_),
            drive,
            begin,
            switches,
            lanes=(panels, samples),
            profiles=True,
            compiled=which,
        )
        for which in (False, True)
    )
    for name in (*kernel.ROWS, *kernel.TOTALS, "profile"):
        here, there = getattr(first, name), getattr(other, name)
        assert here.shape == there.shape
        assert np.abs(here - there).max() < 1e-10 * np.abs(here).max(), name


def test_the_twins_exponential_and_logarithm() -> None:
    """Against numpy's, to a few units in the last place."""
    pytest.importorskip("numba")
    from slabwright.pourday.compiled import exponential, logarithm

    x = np.concatenate([np.linspace(-690.0, 300.0, 4001), np.linspace(-1.0, 1.0, 999)])
    m = np.concatenate([x, np.zeros(2 * x.size)])
    size = np.uint64(x.size)
    exponential(m, m.view(np.int64), np.uint64(0), size, size + size, size)
    assert m[x.size : 2 * x.size] == pytest.approx(np.exp(x), rel=5e-15, abs=0.0)
    positive = np.exp(np.linspace(-140.0, 60.0, x.size))
    m[: x.size] = positive
    logarithm(m, m.view(np.int64), np.uint64(0), size, size + size, size)
    assert m[x.size : 2 * x.size] == pytest.approx(np.log(positive), rel=5e-15, abs=1e-15)


@pytest.mark.parametrize("seed", range(12))
def test_energy_and_water_close(seed: int) -> None:
    """Target of the formulation: energy to 1e-11 of the gross exchange, water to 1e-12."""
    case = random_case(np.random.default_rng(seed), 600.0, 48)
    got = run(*case, (switch_to("compound", 4.05 * 3600), switch_to("blanket", 10.3 * 3600)))
    assert np.abs((got.stored - got.gained - got.released) / got.gross).max() < 1e-11
    assert got.film[-1] == pytest.approx(got.bled[-1] - got.lost, abs=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_beside_a_stiff_integrator(seed: int) -> None:
    """Same equations, same grid: surface within 0.3 K outside 30 min of a change, set within 3 minutes."""
    case = random_case(np.random.default_rng(100 + seed), 600.0, 36)
    cover = switch_to("compound" if seed % 2 else "blanket", 5 * 3600.0)
    got = run(*case, (cover,))
    surface, te, film = reference(*case, cover, rtol=1e-8, atol=1e-8)
    t = np.arange(surface.size) * 600.0
    calm = (np.abs(t - 5 * 3600) > 1800) & (t > 1800)
    assert np.abs(got.surface[:, 0, 0] - surface)[calm].max() < 0.3
    for mark in (case[1].te_initial, case[1].te_final):
        ours, theirs = reached(got.te_top, mark, 600.0)[0, 0], reached(te[:, None, None], mark, 600.0)[0, 0]
        assert abs(ours - theirs) < 180.0
    assert np.abs(got.film[:, 0, 0] - film).max() < 0.02


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_the_grid_is_fine_enough(seed: int) -> None:
    """Against four times the cells and a tenth of the step: 0.4 F, 0.1 F rms, set within 2.5 and 4 min."""
    worst, rms, initial, final = grid_errors(seed)
    assert worst < 0.4 / 1.8
    assert rms < 0.1 / 1.8
    assert initial < 2.5
    assert final < 4.0


def test_small_steps_come_to_the_stiff_integrator() -> None:
    """At a step of one minute nothing is left but the kinks where the film dries out: 0.01 F."""
    case = random_case(np.random.default_rng(7), 60.0, 12)
    got = run(*case)
    surface = reference(*case)[0]
    t = np.arange(surface.size) * 60.0
    assert np.abs(got.surface[:, 0, 0] - surface)[t > 1800].max() < 0.01 / 1.8


def test_second_order_in_time() -> None:
    rng = np.random.default_rng(3)
    state = rng.bit_generator.state
    ends = []
    for dt in (1200.0, 600.0, 300.0, 150.0):
        rng.bit_generator.state = state
        case = random_case(rng, dt, 24)
        ends.append(run(*case).surface[-1, 0, 0])
    differences = np.abs(np.diff(ends))
    orders = np.log2(differences[:-1] / differences[1:])
    assert orders[-1] > 1.8


def _convective(cells: int, depth: float) -> float:
    """Surface rise over (air - start) after 1 h: k 2.2, rho c 2.32e6, h 17.6 (wind 4.9333 m/s)."""
    weather = steady(air=30.0, wind=(17.6 - 2.8) / 3.0 / 0.7)
    drive = forcing(weather, CHICAGO, [0.0], 60, 60.0)
    body = bar(cells, depth, 2.2, 2.32e6)
    got = run(body, hydration(MIX), DRY, drive, np.full((cells + 1, 1, 1), 10.0), (SEALED,))
    return float((got.surface[-1, 0, 0] - 10.0) / 20.0)


def test_convective_step_comes_to_the_exact_solution(monkeypatch: pytest.MonkeyPatch) -> None:
    """Semi-infinite body: 1 - exp(h^2 a t/k^2) erfc(h sqrt(a t)/k), second order in the cells."""
    from scipy.special import erfcx

    still(monkeypatch)
    exact = 1.0 - erfcx(17.6 * np.sqrt(2.2 / 2.32e6 * 3600.0) / 2.2)
    errors = [abs(_convective(cells, 1.2) - exact) for cells in (60, 120, 240)]
    assert errors[-1] < 3e-4
    assert np.log2(errors[0] / errors[1]) > 1.8


def test_two_bodies_in_contact_need_the_damped_start(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hot on cold, no other heat: the contact stays at the mean. Without damping the rule rings."""
    still(monkeypatch, convection_still=0.0, convection_wind=0.0)
    drive = forcing(steady(), night(), [20 * 3600.0], 20, 1800.0)
    cells = 200
    body = bar(cells, 1.0, 1.5, 2.0e6)
    begin = np.where(np.arange(cells + 1) < cells // 2, 40.0, 0.0)
    begin[cells // 2] = 20.0
    worst = {}
    cover = Switch(0.0, 0.0, 0.0, 0.0)
    for damped in (True, False):
        got = run(
            body, hydration(MIX), DRY, drive, begin[:, None, None], (cover,), damped=damped, profiles=True
        )
        depth = np.linspace(0, 1, cells + 1) - 0.5
        from scipy.special import erfc

        exact = 20.0 * erfc(depth / (2 * np.sqrt(0.75e-6 * 4 * 1800.0)))
        worst[damped] = np.abs(got.profile[4, :, 0, 0] - exact).max()
    assert worst[True] < 0.2
    assert worst[False] > 5 * worst[True]


def test_steady_flux(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sealed and insulated below, the column comes to the air's temperature."""
    still(monkeypatch)
    body = bar(20, 0.3, 2.0, 2.0e6)
    drive = forcing(steady(air=25.0, wind=5.0, hours=300), night(), [0.0], 1700, 600.0)
    dark = Switch(0.0, 0.0, 0.0, 0.0)
    got = run(body, hydration(MIX), DRY, drive, np.full((21, 1, 1), 5.0), (dark,))
    assert got.profile[-1, :, 0, 0] == pytest.approx(25.0, abs=0.05)


def test_a_lane_does_not_know_its_neighbours() -> None:
    rng = np.random.default_rng(5)
    whole, mix, bleed, _, begin = random_case(rng, 600.0, 24)
    vary = Vary(rng.normal(0, 2, (2, 40)), rng.normal(0, 1, (2, 40)), rng.uniform(0.5, 2, (2, 40)), 0.0)
    weather = days(MILD)
    placed = [7 * 3600.0, 9 * 3600.0]
    many = forcing(weather, CHICAGO, placed, 72, 600.0, vary=vary)
    cure = rng.uniform(2, 6, (2, 40)) * 3600
    got = run(whole, mix, bleed, many, begin, (switch_to("compound", cure),), lanes=(2, 40), block=16)
    for p, s in ((0, 0), (1, 7), (1, 39)):
        own = Vary(
            *(np.asarray(v)[p, s] if np.ndim(v) else v for v in (vary.air, vary.dew, vary.wind, vary.cloud))
        )
        alone = forcing(weather, CHICAGO, [placed[p]], 72, 600.0, vary=own)
        one = run(whole, mix, bleed, alone, begin, (switch_to("compound", cure[p, s]),))
        assert got.surface[:, p, s] == pytest.approx(one.surface[:, 0, 0], abs=1e-9)
        assert got.te_top[:, p, s] == pytest.approx(one.te_top[:, 0, 0], abs=1e-9)


def test_sweeping_and_multiplying_give_the_same() -> None:
    """Few lanes multiply with the inverse, many sweep; the temperatures agree to rounding."""
    rng = np.random.default_rng(6)
    capacity, between = rng.uniform(50, 400, 21), rng.uniform(1, 300, 20)
    matrix = step_module.factored(capacity, between)
    right, level, slope = rng.normal(0, 1e4, (21, 500)), rng.normal(0, 300, 500), rng.uniform(5, 60, 500)
    swept, flux = matrix.solve(right.copy(), level, slope)
    some, part = matrix.solve(right[:, :100].copy(), level[:100], slope[:100])
    assert swept[:, :100] == pytest.approx(some, rel=1e-10, abs=1e-9)
    assert flux[:100] == pytest.approx(part, rel=1e-9, abs=1e-8)
    assert capacity @ swept == pytest.approx(right.sum(axis=0) + flux, rel=1e-9, abs=1e-6)


def test_isothermal_age_is_exact(monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept at one temperature the equivalent age is rate x time, whatever the step."""
    still(monkeypatch, convection_still=1e9)
    mix = hydration(MIX, heat=0.0)
    whole = column(0.1, 0.1)
    drive = forcing(steady(air=10.0), night(), [0.0], 60, 600.0)
    got = run(whole, mix, DRY, drive, np.full((whole.nodes, 1, 1), 10.0), (Switch(0.0, 0.0, 0.0, 0.0),))
    assert got.te_top[-1, 0, 0] - float(mix.te_0) == pytest.approx(
        10 * float(age_rate(10.0, mix.energy)), rel=1e-9
    )


def test_cover_limits() -> None:
    """A blanket without resistance is no blanket; one without end keeps the surface's heat in."""
    case = random_case(np.random.default_rng(11), 600.0, 24)
    bare = run(*case, (Switch(7200.0, 0.0, 0.4, 0.5),))
    thin = run(*case, (Switch(7200.0, 1e-9, 0.4, 0.5),))
    assert thin.surface == pytest.approx(bare.surface, abs=1e-4)
    thick = run(*case, (Switch(0.0, 1e6, 0.0, 0.5),))
    assert abs(float(thick.gained[0, 0])) < 1e-4 * float(bare.gross[0, 0])


def test_a_change_within_a_step_counts_by_its_share() -> None:
    case = random_case(np.random.default_rng(13), 600.0, 24)
    ends = [
        run(*case, (switch_to("blanket", 4 * 3600.0 + late),)).te_top[-1, 0, 0]
        for late in (0.0, 300.0, 600.0)
    ]
    assert min(ends[0], ends[2]) <= ends[1] <= max(ends[0], ends[2])


def test_a_smaller_change_of_placing_is_a_smaller_change_of_set() -> None:
    """Placing off the hour moves nothing by more than the minutes it is late."""
    whole = column(0.1016, 0.1016)
    mix = hydration(MIX)
    begin = np.full((whole.nodes, 1, 1), 18.0)
    marks = []
    for late in (0.0, 137.0):
        drive = forcing(days(MILD), CHICAGO, [7 * 3600.0 + late], 72, 600.0)
        got = run(whole, mix, Bleed(0.8, 1.5, 0.3), drive, begin)
        marks.append(reached(got.te_top, mix.te_initial, 600.0)[0, 0])
    assert abs(marks[1] - marks[0]) < 60.0


def test_no_bleed_no_wind_nothing_breaks() -> None:
    whole = column(0.1016, 0.0)
    drive = forcing(steady(wind=0.0, dew=20.0), CHICAGO, [0.0], 72, 600.0)
    got = run(whole, hydration(MIX), Bleed(0.0, 1.5, 0.3), drive, np.full((whole.nodes, 1, 1), 20.0))
    assert np.isfinite(got.surface).all()
    assert got.film[0, 0, 0] == 0.0


def test_columns_keep_their_heat_and_depth() -> None:
    for thickness, base in ((0.1016, 0.1016), (0.1524, 0.0), (0.0889, 0.2)):
        whole = column(thickness, base)
        soil = rule("soil_depth")
        held = thickness * rule("concrete_c") + base * rule("base_c") + soil * rule("soil_c")
        assert whole.capacity.sum() == pytest.approx(held, rel=1e-9)
        assert whole.depth[-1] == pytest.approx(thickness + base + soil)
        assert whole.concrete.sum() == pytest.approx(thickness)
        assert whole.top.sum() == pytest.approx(1.0)
        assert whole.mean.sum() == pytest.approx(1.0)
        assert whole.top @ whole.depth == pytest.approx(0.0127)
    with pytest.raises(ValueError, match="flatwork"):
        column(0.9, 0.1)
