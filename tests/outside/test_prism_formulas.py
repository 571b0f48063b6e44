"""Volumes against the textbook formulas of earthwork.

Sources: prismoidal formula and end areas as in surveying texts (the formulas were read in a stored copy
of 'Earthwork volumes', document 360675516 of a public text archive; its worked figures are not used).
Each expected figure below was worked out from the stated formula by hand or with plain arithmetic,
outside this program, and is kept with the digits that were written down. Feet and cubic feet, as there.
"""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.ground.model import Surface
from slabwright.ground.volume import split_prisms, volumes_between

FT, FT3, YD3 = 0.3048, 0.3048**3, 0.9144**3


def ground(points, triangles):
    xyz = np.array(points, dtype=float) * FT
    hull = tuple((float(x), float(y)) for x, y, _ in xyz)
    return Surface(xyz, np.array(triangles), hull, ("",) * len(xyz))


def level(*ring):
    ring = [(x * FT, y * FT) for x, y in ring]
    return [(ring, (0.0, 0.0, 0.0))]


def test_prismoid():
    """Rectangle 20 x 4 ft shrinking to 12 x 2 ft over 50 ft: 2466.67 ft3 = 91.358 yd3, not 96.296."""
    depth = ground([(0, -10, 4), (50, -10, 2), (50, 10, 2), (0, 10, 4)], [(0, 1, 2), (0, 2, 3)])
    got = volumes_between(None, level((0, -10), (50, -6), (50, 6), (0, 10)), depth, 0.0)
    assert got.cut / FT3 == pytest.approx(2466.67, abs=0.005)
    assert got.cut / YD3 == pytest.approx(91.358, abs=0.0005)


def test_pyramid_end():
    """V = L A / 3: end area 90 ft2 (18 x 5 ft) running out over 100 ft is 111.1 yd3."""
    depth = ground([(0, -9, 5), (100, -9, 0), (100, 9, 0), (0, 9, 5)], [(0, 1, 2), (0, 2, 3)])
    got = volumes_between(None, level((0, -9), (100, 0), (0, 9)), depth, 0.0)
    assert got.cut / YD3 == pytest.approx(111.1, abs=0.05)


QUAD = [(0, 0, 0.6), (10, 0, 0.2), (10, 10, 0.4), (0, 10, 1.0)]


@pytest.mark.parametrize(
    ("triangles", "printed"), [([(0, 1, 2), (0, 2, 3)], 53.33), ([(0, 1, 3), (1, 2, 3)], 56.67)]
)
def test_triangle_prisms_on_either_diagonal(triangles, printed):
    """V = A (h1 + h2 + h3) / 3 on both ways of cutting a quad: 53.33 and 56.67 ft3."""
    got = volumes_between(None, level((0, 0), (10, 0), (10, 10), (0, 10)), ground(QUAD, triangles), 0.0)
    assert got.cut / FT3 == pytest.approx(printed, abs=0.005)


def test_grid_of_four_cells():
    """Four-corner grid of 10 ft cells, S1 = 4.1, S2 = 4.2, S4 = 1.1: 422.5 ft3.

    The grid method takes the mean of each cell's corners, which is the mean of the two diagonals.
    """
    heights = [[1.0, 1.2, 1.5], [0.8, 1.1, 1.3], [0.6, 0.9, 1.0]]
    points = [(10 * i, 10 * j, heights[j][i]) for j in range(3) for i in range(3)]
    one, two = [], []
    for j in range(2):
        for i in range(2):
            a, b, c, d = 3 * j + i, 3 * j + i + 1, 3 * j + i + 4, 3 * j + i + 3
            one += [(a, b, c), (a, c, d)]
            two += [(a, b, d), (b, c, d)]
    whole = level((0, 0), (20, 0), (20, 20), (0, 20))
    cuts = [volumes_between(None, whole, ground(points, t), 0.0).cut / FT3 for t in (one, two)]
    assert sum(cuts) / 2 == pytest.approx(422.5, abs=1e-6)


def test_mixed_triangle():
    """A = 50 ft2, depths .5, -.3, -.2 ft: V = A p^3 / (3 (p - n1)(p - n2)), cut = fill = 3.7202 ft3."""
    cut, fill = split_prisms(np.array([50.0]), np.array([[0.5, -0.3, -0.2]]))
    assert cut == pytest.approx(3.7202, abs=0.00005)
    assert fill == pytest.approx(3.7202, abs=0.00005)
    # and through the whole way, as ground 10 ft square cut in half
    triangle = ground([(0, 0, 0.5), (10, 0, -0.3), (0, 10, -0.2)], [(0, 1, 2)])
    got = volumes_between(None, level((0, 0), (10, 0), (0, 10)), triangle, 0.0)
    assert got.cut / FT3 == pytest.approx(3.72024, abs=0.000005)
    assert got.fill / FT3 == pytest.approx(3.72024, abs=0.000005)
