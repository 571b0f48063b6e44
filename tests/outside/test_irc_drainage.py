"""International Residential Code, R401.3 (drainage) and R311.3 (landings at doors), as printed.

R401.3: lots fall 6 inches within the first 10 feet; impervious surfaces within 10 feet of the foundation
slope at least 2 percent away from it. R311.3: landings slope at most 1/4 unit in 12 (2 percent); the
landing at the way out is at most 1 1/2 inches below the threshold, others 7 3/4 inches.
"""

from __future__ import annotations

import pytest
from tests.slab import heights_cases as c

from slabwright import measure
from slabwright.ground.model import Wall
from slabwright.slab.heights.limits import value


def test_figures_of_r401_3():
    """R401.3: 2 percent, 10 feet; and 6 in in 10 ft is the 5 percent that the text asks of earth."""
    assert value("house-fall") == measure.read("slope", "2%")
    assert value("house-reach") == pytest.approx(measure.read("length", "10 ft"), abs=1e-15)
    assert measure.read("length", "6 in") / value("house-reach") == pytest.approx(0.05, abs=1e-12)


@pytest.mark.parametrize(("printed", "name"), [("1 1/2 in", "sill-drop"), ("7 3/4 in", "sill-drop-other")])
def test_drops_of_r311_3(printed, name):
    """R311.3: depth of a landing below the threshold."""
    assert measure.read("length", printed) == pytest.approx(value(name), abs=1e-15)


def test_the_landing_s_slope_of_r311_3():
    """R311.3: 1/4 unit vertical in 12 units horizontal, printed beside it as 2 percent."""
    assert value("landing-fall") == 0.25 / 12
    assert round(100 * value("landing-fall")) == 2


@pytest.mark.parametrize(
    ("outer", "stops"),
    [
        ("2.4 in", set()),  # 2 percent of 10 ft
        ("2 1/4 in", {"house-fall-small"}),
        ("0 in", {"house-fall-level"}),
    ],
)
def test_a_patio_of_ten_feet_by_r401_3(outer, stops):
    """2 percent of 10 ft is 2.4 in at the outer edge; less is a stop."""
    ten = 10 * c.FT
    free = ("free", None)
    o, j = c.pad(ten, ten, 2, 2, at=(0, -ten), kinds=(free, free, ("wall", "A-B"), free))
    drop = measure.read("length", outer)
    points = {"W": (0.0, 0.0), "X": (ten, 0.0), "O": (0.0, -ten), "R": (ten, -ten)}
    shot = {"W": 1.0, "X": 1.0, "O": 1.0 - drop, "R": 1.0 - drop}
    fall = c.fall(toward=None, across=drop / ten, across_least=0.0, across_most=0.1, from_house=0.0)
    spec = c.spec("patio", use="patio", heights=tuple(c.Fix(at=k) for k in points), fall=fall)
    plan = c.plan_exactly([(spec, o, j)], points, shot, c.ground(walls=[Wall("A-B", (0, 0), (ten, 0))]))[0]
    assert {f.code for f in plan.findings if f.level == "stop"} == stops
