"""Rates of moving concrete, as printed or worked by another hand.

- Cycle of a barrow: 3 ft3 over 100 ft at 200 ft a minute and 1.5 min fixed: 2.5 min, 2.67 yd3/h, 9 trips a
  cubic yard (computed in the labour notes).
- Buckets, cranes, carts and wheelbarrows (concreteconstruction.net): hand cart of 6 to 8 ft3, 3 to 5 yd3/h,
  within 200 ft; wheelbarrow 1 to 1.5 yd3/h within the same distance (ACI 304, recalled).
- Hose contents by 100 ft: 2 in .081 yd3; 2.5 .126; 3 .182; 4 .323; 5 .505 (computed).
"""

from __future__ import annotations

import math

import pytest

from slabwright.build.access.haul import cycle, hauled, held, trips
from slabwright.build.tables import rule
from slabwright.measure import read

FT, YD3 = 0.3048, 0.9144**3
FT3 = FT**3
WALK = read("speed", "200 ft/min")


def an_hour(load: float, run: float, fixed: float = 90.0, pace: float = WALK) -> float:
    return hauled(load, run, fixed=fixed, pace=pace) * 3600 / YD3


def test_the_worked_cycle() -> None:
    """3 ft3, 100 ft: 2.5 min, 2.67 yd3/h, 9 trips for a yard."""
    assert cycle(100 * FT, fixed=90.0, pace=WALK) / 60 == pytest.approx(2.5, abs=0.05)
    assert an_hour(3 * FT3, 100 * FT) == pytest.approx(2.67, abs=0.005)
    assert trips(YD3, 3 * FT3) == 9


def test_our_tables_at_the_published_distance() -> None:
    """At 200 ft the loads and pace of the tables give rates inside the published ranges."""
    fixed, pace = rule("yard", "fixed"), rule("yard", "pace")
    assert rule("yard", "run_most") / FT == pytest.approx(200)
    assert 1.0 <= an_hour(rule("yard", "barrow_load"), 200 * FT, fixed, pace) <= 1.5
    assert 3.0 <= an_hour(rule("yard", "buggy_load"), 200 * FT, fixed, pace) <= 5.0


@pytest.mark.parametrize(
    ("bore", "printed"), [(2.0, 0.081), (2.5, 0.126), (3.0, 0.182), (4.0, 0.323), (5.0, 0.505)]
)
def test_hose_contents(bore: float, printed: float) -> None:
    """100 ft of line."""
    assert held(100 * FT, bore * 0.0254) / YD3 == pytest.approx(printed, abs=0.0005)


def test_trips_are_whole() -> None:
    assert [trips(v, 2.0) for v in (0.0, 0.1, 2.0, 2.1, 4.0)] == [0, 1, 1, 2, 2]
    assert math.isfinite(cycle(0.0, fixed=90.0, pace=WALK))
