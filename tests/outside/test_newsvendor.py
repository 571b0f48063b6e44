"""Newsvendor problems with published data, as the limit of our order without its lump sum.

- A tutoring site's problem (tutorsglobe.com, newsvendor 51686518): mean 1000, sd 200, short 30, over 20.
- Nahmias' newsstand: mean 11.73, sd 4.74 as read at coursehero.com 9056916; short .50, over .15 recalled.
  The book rounds 15.22 to 15.
- A concrete order N(6.40, .25) yd3, short 250, left over 190 a yard; the plant sells quarter yards. Figures
  worked out from the stated formulas outside this program.
"""

from __future__ import annotations

import pytest

from slabwright.build.need import NormalNeed
from slabwright.build.overage import Costs, Plant, best_order, expected_cost

ENDLESS = 1e12


def exact(mean: float, sd: float, short: float, over: float) -> float:
    """The best order on a scale of a thousandth of a standard deviation."""
    fine = Plant(step=sd / 1000, least=mean - sd, truck=ENDLESS)
    return best_order(NormalNeed(mean, sd), Costs(left_over=over, short=short), fine).order


def test_problem_of_the_tutoring_site() -> None:
    """Ratio .60, z = .2533, Q* = 1050.67, so 1051."""
    assert exact(1000, 200, 30, 20) == pytest.approx(1050.67, abs=0.1 + 0.005)  # half a step of 0.2
    whole = best_order(NormalNeed(1000, 200), Costs(left_over=20, short=30), Plant(1.0, 0.0, ENDLESS))
    assert whole.order == 1051


def test_newsstand() -> None:
    """Ratio .7692, z = .7363, Q* = 15.22; the book rounds to 15."""
    assert exact(11.73, 4.74, 0.50, 0.15) == pytest.approx(15.22, abs=0.005)
    need = NormalNeed(11.73, 4.74)
    whole = best_order(need, Costs(left_over=0.15, short=0.50), Plant(1.0, 0.0, ENDLESS))
    assert whole.order == 15


def test_concrete_in_quarter_yards() -> None:
    """Q* = 6.443; 6.25 costs 56.05, 6.50 44.35, 6.75 70.53."""
    need, costs, plant = NormalNeed(6.40, 0.25), Costs(left_over=190, short=250), Plant(0.25, 0.0, ENDLESS)
    assert exact(6.40, 0.25, 250, 190) == pytest.approx(6.443, abs=0.0005)
    for order, printed in ((6.25, 56.05), (6.50, 44.35), (6.75, 70.53)):
        assert expected_cost(need, order, costs, plant).cost == pytest.approx(printed, abs=0.005)
    assert best_order(need, costs, plant).order == 6.50


def test_dearer_short() -> None:
    """Short 600 a yard: 6.576."""
    assert exact(6.40, 0.25, 600, 190) == pytest.approx(6.576, abs=0.0005)


def test_expected_short_of_the_standard_normal() -> None:
    """sigma (phi(z) - z (1 - Phi(z))): 0.3989 at z = 0, 0.0833 at z = 1, 1.0833 at z = -1 (any table)."""
    need = NormalNeed(0.0, 1.0)
    for z, printed in ((0.0, 0.3989), (1.0, 0.0833), (-1.0, 1.0833)):
        assert need.shortfall(z) == pytest.approx(printed, abs=0.00005)
