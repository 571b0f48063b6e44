"""CRSI, subgrade drag example (stored copy at aecinfo.com): F 1.5, L 24 ft, w 100 psf.

As printed: fs 40,000 psi gives 0.045 in2 per ft, #3 bars at 29 in; welded wire of fy 65 ksi 0.042.
"""

from __future__ import annotations

import math

import pytest

from slabwright.slab.steel.tables import bar_size, drag_area

FT, INCH = 0.3048, 0.0254
PSI = 6894.757293168361
PSF = PSI / 144


def test_bars() -> None:
    area = drag_area(1.5, 24 * FT, 100 * PSF, 40_000 * PSI)
    assert area / (INCH**2 / FT) == pytest.approx(0.045, abs=0.0005)
    spacing = bar_size("3").area / area / INCH
    assert math.floor(spacing) == 29


def test_wire() -> None:
    area = drag_area(1.5, 24 * FT, 100 * PSF, 65_000 * PSI * 2 / 3)
    assert area / (INCH**2 / FT) == pytest.approx(0.042, abs=0.0006)  # 0.0415 before rounding


def test_no_stress_no_steel() -> None:
    with pytest.raises(ValueError, match="cannot work"):
        drag_area(1.5, 7.0, 2400.0, 0.0)
