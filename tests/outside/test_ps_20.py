"""American Softwood Lumber Standard PS 20: least dressed dry sizes, in inches (all but the 2x4 recalled).

Nominal size, thickness, width.
"""

from __future__ import annotations

import pytest

from slabwright.build.form_tables import board_named

TABLE = [
    ("1x4", 0.75, 3.5),
    ("1x6", 0.75, 5.5),
    ("2x4", 1.5, 3.5),
    ("2x6", 1.5, 5.5),
    ("2x8", 1.5, 7.25),
    ("2x10", 1.5, 9.25),
    ("2x12", 1.5, 11.25),
]
MILLIMETRES = {"2x4": (38, 89), "2x6": (38, 140), "2x8": (38, 184)}


@pytest.mark.parametrize(("name", "thickness", "width"), TABLE)
def test_dressed_size(name: str, thickness: float, width: float) -> None:
    board = board_named(name)
    assert board.thickness / 0.0254 == pytest.approx(thickness, abs=1e-9)
    assert board.height / 0.0254 == pytest.approx(width, abs=1e-9)


@pytest.mark.parametrize("name", MILLIMETRES)
def test_in_millimetres(name: str) -> None:
    board = board_named(name)
    assert (round(board.thickness * 1e3), round(board.height * 1e3)) == MILLIMETRES[name]
