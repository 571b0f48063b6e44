"""Conduction, exact: half-infinite body under a convective step and a step of surface temperature (Carslaw
and Jaeger), and a steady layered ground. Figures worked out by another hand, to four places.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.pourday.slabs import CHICAGO, MIX, steady

from slabwright.pourday import step as step_module
from slabwright.pourday.column import Column
from slabwright.pourday.forcing import forcing
from slabwright.pourday.kernel import Bleed, Switch, run
from slabwright.pourday.mix import hydration
from slabwright.pourday.tables import rule

IN = 0.0254
CLOSED = Switch(0.0, 0.0, 0.0, 0.0)
DRY = Bleed(0.0, 1.5, math.inf)


def body(size: np.ndarray, k: np.ndarray, c: float) -> Column:
    half = 0.5 * c * size
    capacity = np.append(half, 0.0) + np.append(0.0, half)
    depth = np.append(0.0, np.cumsum(size))
    zero = np.zeros(depth.size)
    return Column(depth, capacity, k / size, zero, zero, zero, 0)


def warmed(
    monkeypatch: pytest.MonkeyPatch, h: float, made: Column, hours: int, dt: float = 60.0
) -> np.ndarray:
    """Rise over (air - start) by node after `hours`, air 30 on 10 degC, film coefficient h."""
    own = {"emissivity": 0.0, "convection_still": h, "convection_wind": 0.0}
    monkeypatch.setattr(step_module, "rule", lambda key: own.get(key, rule(key)))
    drive = forcing(steady(air=30.0, hours=hours + 3), CHICAGO, [0.0], round(hours * 3600 / dt), dt)
    begin = np.full((made.nodes, 1, 1), 10.0)
    got = run(made, hydration(MIX), DRY, drive, begin, (CLOSED,), profiles=True)
    return (got.profile[-1, :, 0, 0] - 10.0) / 20.0


@pytest.mark.parametrize(
    ("hours", "surface", "two", "four"), [(1, 0.3672, 0.1613, 0.0543), (6, 0.6090, 0.4595, 0.3322)]
)
def test_convective_step(
    monkeypatch: pytest.MonkeyPatch, hours: int, surface: float, two: float, four: float
) -> None:
    """k 2.2, rho c 2.32e6, h 17.6: at the surface, 2 in and 4 in. Half-inch cells, so 0.002."""
    size = np.full(100, 0.5 * IN)
    rise = warmed(monkeypatch, 17.6, body(size, np.full(100, 2.2), 2.32e6), hours)
    assert [rise[0], rise[4], rise[8]] == pytest.approx([surface, two, four], abs=0.002)


@pytest.mark.parametrize(("hours", "left"), [(1, 0.7931), (6, 0.3936)])
def test_step_of_surface_temperature(monkeypatch: pytest.MonkeyPatch, hours: int, left: float) -> None:
    """Diffusivity 0.9e-6, 4 in deep: erf(x / 2 sqrt(a t)) of the difference is left."""
    size = np.full(100, 0.5 * IN)
    rise = warmed(monkeypatch, 1e7, body(size, np.full(100, 0.9e-6 * 2.32e6), 2.32e6), hours)
    assert 1.0 - rise[8] == pytest.approx(left, abs=0.002)


def test_steady_layers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ground 13 C under 0.5 m of soil (k 1.0) and a 4 in slab (k 2.2), air 30 C, h 17.6: 28.19 W/m2 downward,
    surface 28.40 C, interface 27.10 C. The ground is held by a layer that stores without end.
    """
    own = {"emissivity": 0.0, "convection_still": 17.6, "convection_wind": 0.0}
    monkeypatch.setattr(step_module, "rule", lambda key: own.get(key, rule(key)))
    size = np.append(np.full(4, 4 * IN / 4), np.full(10, 0.05))
    made = body(size, np.append(np.full(4, 2.2), np.full(10, 1.0)), 1e3)
    capacity = made.capacity.copy()
    capacity[-1] = 1e15
    made = Column(made.depth, capacity, made.conductance, *(np.zeros(15) for _ in range(3)), 0)
    drive = forcing(steady(air=30.0), CHICAGO, [0.0], 500, 600.0)
    got = run(made, hydration(MIX), DRY, drive, np.full((15, 1, 1), 13.0), (CLOSED,), profiles=True)
    warm = got.profile[-1, :, 0, 0]
    assert warm[0] == pytest.approx(28.40, abs=0.006)
    assert warm[4] == pytest.approx(27.10, abs=0.006)
    assert 17.6 * (30.0 - warm[0]) == pytest.approx(28.19, abs=0.02)
