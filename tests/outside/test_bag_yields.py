"""Published bag yields (stored page, civilsir.com, how many cubic feet are in a bag of concrete).

As printed: 40 lb 0.30, 50 lb 0.375, 60 lb 0.45, 80 lb 0.60, 90 lb 0.675 ft3. Bags per yd3 and the area of
one bag at 4 in follow from those by plain arithmetic, as does the slab of 12 x 20 ft x 4 in.
"""

from __future__ import annotations

import math

import pytest

from slabwright.build.need import PlacedNeed, Spread
from slabwright.build.order import bags_for
from slabwright.build.tables import table
from slabwright.measure import read

FT, IN = 0.3048, 0.0254
FT3, YD3 = FT**3, 0.9144**3
BAGS = ["40 lb", "50 lb", "60 lb", "80 lb", "90 lb"]
PRINTED = [0.30, 0.375, 0.45, 0.60, 0.675]  # ft3
A_YARD = [90, 72, 60, 45, 40]
AT_4_IN = [0.90, 1.125, 1.35, 1.80, 2.025]  # ft2


@pytest.mark.parametrize(("bag", "printed"), list(zip(BAGS, PRINTED, strict=True)))
def test_yield(bag: str, printed: float) -> None:
    assert read("volume", table("pour")["bags"]["imperial"][bag]) / FT3 == pytest.approx(printed, abs=1e-9)


@pytest.mark.parametrize(("bag", "count"), list(zip(BAGS, A_YARD, strict=True)))
def test_bags_in_a_yard(bag: str, count: int) -> None:
    assert bags_for(YD3, bag) == count


@pytest.mark.parametrize(("bag", "area"), list(zip(BAGS, AT_4_IN, strict=True)))
def test_area_of_a_bag_at_4_in(bag: str, area: float) -> None:
    volume = area * FT**2 * 4 * IN
    assert bags_for(volume, bag) == 1
    assert bags_for(volume * 1.001, bag) == 2


def test_slab_of_12_by_20_ft() -> None:
    """12 x 20 ft x 4 in = 2.963 yd3; 177.8 bags of 60 lb, so 178."""
    slab = PlacedNeed(12 * 20 * FT**2, 4 * IN, Spread(*([0.0] * 13)))
    assert slab.mean / YD3 == pytest.approx(2.963, abs=0.0005)
    assert slab.mean / (0.45 * FT3) == pytest.approx(177.8, abs=0.05)
    assert bags_for(slab.mean, "60 lb") == 178


def test_half_an_inch_of_low_grade() -> None:
    """1/2 in of low grade adds 0.37 yd3 to that slab, 12.5 %."""
    level = Spread(*([0.0] * 13))
    low = Spread(*(0.5 * IN if key == "subgrade_mean" else 0.0 for key in Spread.__slots__))
    area = 12 * 20 * FT**2
    more = PlacedNeed(area, 4 * IN, low).mean - PlacedNeed(area, 4 * IN, level).mean
    assert more / YD3 == pytest.approx(0.37, abs=0.005)
    assert more / PlacedNeed(area, 4 * IN, level).mean == pytest.approx(0.125, abs=0.0005)


def test_metric_bags_by_the_same_yield_a_pound() -> None:
    """0.0075 ft3 per lb: 25 kg is 55.1 lb and 0.413 ft3."""
    for bag in ("20 kg", "25 kg"):
        pounds = read("mass", bag) / read("mass", "1 lb")
        assert read("volume", table("pour")["bags"]["metric"][bag]) / FT3 == pytest.approx(
            0.0075 * pounds, abs=0.00005
        )


def test_a_bag_nobody_sells() -> None:
    with pytest.raises(KeyError):
        bags_for(1.0, "7 lb")
    assert math.isfinite(bags_for(0.0, "60 lb"))
