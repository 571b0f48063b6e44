"""Planning Planet wiki, 'Ground excavation', small or deep excavations: slow, average and fast in m3/h.

Hydraulic excavator with a bucket of 0.3 m3: sand/soil 6.7, 8.4, 9.9; clay/chalk 3.3, 4.1, 5.2. Read as
an excerpt of the page; the page does not say what the figures rest on.
"""

from __future__ import annotations

import pytest

from slabwright.build.earth import machine_time

HOUR = 3600.0


@pytest.mark.parametrize(
    ("soil", "slow", "average", "fast"),
    [("sand", 6.7, 8.4, 9.9), ("loam", 6.7, 8.4, 9.9), ("clay", 3.3, 4.1, 5.2)],
)
def test_hours_of_a_dig(soil: str, slow: float, average: float, fast: float) -> None:
    times = machine_time(30.0, soil)
    assert times is not None
    least, most = (30.0 / (time / HOUR) for time in times)
    assert least == pytest.approx(fast, abs=0.05)
    assert most == pytest.approx(slow, abs=0.05)
    assert times[0] / HOUR < 30.0 / average < times[1] / HOUR


def test_hard_ground_is_not_rock() -> None:
    assert machine_time(30.0, "rock") is None
