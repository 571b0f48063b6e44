"""Flow on small rasters, as the published rules define it.

Sources: D8 of O'Callaghan and Mark (1984); D-infinity of Tarboton, Water Resources Research 33 (1997),
309-319; depression filling as by the priority-flood of Barnes, Lehman and Mulla, Computers and Geosciences
62 (2014), 117-127. The rasters are our own; the expected figures were worked out from the published rules
outside this program, with the digits that were written down. Rows are printed north first.
"""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.slab.drainage.grid import d8, d_infinity, flood


def north_first(rows):
    """A raster as this program keeps it, rows rising with y."""
    return np.array(rows, dtype=float)[::-1]


def rim(z):
    out = np.ones(z.shape, dtype=bool)
    out[1:-1, 1:-1] = False
    return out


def test_filling_a_basin():
    """5 x 5 basin, eight neighbours: all nine inner cells fill to 7, 12 cell units in all."""
    z = north_first([[9, 9, 9, 9, 9], [9, 5, 6, 7, 9], [9, 6, 3, 6, 8], [9, 7, 6, 5, 7], [9, 9, 9, 8, 7]])
    level = flood(z, 1.0, rim(z)).level
    assert (level[1:-1, 1:-1] == 7).all()
    assert (level - z).sum() == 12
    assert np.array_equal(level[rim(z)], z[rim(z)])


WINDOW = [[10.0, 10.1, 10.3], [9.7, 10.0, 10.2], [9.4, 9.6, 9.9]]


def test_d8_of_a_window():
    """The steepest of eight is south-west, slope .4243 (south is .4000)."""
    to, slope = d8(north_first(WINDOW), 1.0)
    assert to[1, 1] == 0  # the south-western cell
    assert slope[1, 1] == pytest.approx(0.4243, abs=0.00005)


def test_d_infinity_of_a_window():
    """Slope .44721, 243.435 degrees counter-clockwise from east."""
    angle, slope = d_infinity(north_first(WINDOW), 1.0)
    assert slope[1, 1] == pytest.approx(0.44721, abs=0.000005)
    assert np.degrees(angle[1, 1]) == pytest.approx(243.435, abs=0.0005)


def test_d_infinity_of_a_plane():
    """z = -.03 x + .01 y: 341.565 degrees, slope .031623."""
    x, y = np.meshgrid(np.arange(5.0), np.arange(5.0))
    angle, slope = d_infinity(-0.03 * x + 0.01 * y, 1.0)
    assert np.degrees(angle[2, 2]) == pytest.approx(341.565, abs=0.0005)
    assert slope[2, 2] == pytest.approx(0.031623, abs=0.0000005)
