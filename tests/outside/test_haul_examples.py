"""Haul examples of a construction estimating textbook (stored copy, issuhub.com 4050, p. 80).

As printed: 1,000 bank yd3 of clay at 30 % swell are 1,300 loose yd3, 186 loads of 7 yd3. A fill of 500
compacted yd3 at shrinkage factor 0.95 and swell 15 % takes 526 bank yd3, 605 loose, 87 loads.
"""

from __future__ import annotations

import pytest

from slabwright.build.earth import loads

YD3 = 0.9144**3


def test_clay_to_haul() -> None:
    loose = 1000 * YD3 * 1.30
    assert loose / YD3 == pytest.approx(1300, abs=0.5)
    assert loads(loose, 7 * YD3) == 186


def test_fill_to_bring() -> None:
    bank = 500 * YD3 / 0.95
    assert bank / YD3 == pytest.approx(526, abs=0.5)
    loose = bank * 1.15
    assert loose / YD3 == pytest.approx(605, abs=0.5)
    assert loads(loose, 7 * YD3) == 87
