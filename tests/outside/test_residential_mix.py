"""Mixes: IRC table R402.2 (read in stored reproductions), EB001 table 11-3, ACI 318 air (recalled).

- R402.2, porches, carport slabs and steps exposed, garage slabs: 2,500 psi where weathering is
  negligible, 3,000 moderate, 3,500 severe; air 5 to 7 % where exposed (fliphtml5.com, Code Check Building).
- ACI 318 table 19.3.3.1, total air by largest stone, recalled: F1 6.0 5.5 5.0 4.5 4.5, F2 and F3 7.5 7.0
  6.0 6.0 5.5 % for 3/8, 1/2, 3/4, 1, 1 1/2 in.
- UFGS ranges of air (03311, read): 6-10, 5-9, 4-8, 3.5-6.5, 3-6 %.
- w/cm 0.45 under deicers (Concrete Construction, read); stone at most a third of the thickness
  (Army EN5466A, read): 4 in takes 1 1/3 in.
"""

from __future__ import annotations

import pytest

from slabwright.build.mix import air_for, mix_of, stone_most, strength_least
from slabwright.build.tables import rule, table
from slabwright.notes import Notes
from slabwright.notes.defaults import specify

IN, PSI = 0.0254, 6894.757293168361
STONE = [0.375, 0.5, 0.75, 1.0, 1.5]
F1 = [6.0, 5.5, 5.0, 4.5, 4.5]
F2_F3 = [7.5, 7.0, 6.0, 6.0, 5.5]
UFGS = [(6, 10), (5, 9), (4, 8), (3.5, 6.5), (3, 6)]


@pytest.mark.parametrize(("frost", "psi"), [("none", 2500), ("moderate", 3000), ("severe", 3500)])
def test_strength(frost: str, psi: int) -> None:
    assert strength_least(frost) / PSI == pytest.approx(psi, abs=0.5)


@pytest.mark.parametrize(("stone", "limited", "frequent"), list(zip(STONE, F1, F2_F3, strict=True)))
def test_air(stone: float, limited: float, frequent: float) -> None:
    assert 100 * air_for(stone * IN, frequent=False) == pytest.approx(limited, abs=0.05)
    assert 100 * air_for(stone * IN) == pytest.approx(frequent, abs=0.05)


@pytest.mark.parametrize(("stone", "wanted"), list(zip(STONE, UFGS, strict=True)))
def test_air_within_the_guide_specification(stone: float, wanted: tuple[float, float]) -> None:
    assert wanted[0] <= 100 * air_for(stone * IN) <= wanted[1]


def test_usual_stone_is_within_the_residential_air() -> None:
    """3/4 in stone: 6 %, inside the code's 5 to 7 %."""
    assert 5 <= 100 * air_for(0.75 * IN) <= 7
    assert 100 * rule("mixes", "air_give") == pytest.approx(1.5)


def test_deicers() -> None:
    for frost in ("moderate", "severe"):
        assert table("mixes")["exposure"][frost]["w_cm"] == 0.45


def test_stone_in_a_4_in_slab() -> None:
    """1 1/3 in at most, so 1 in; 3/4 in is usual."""
    assert stone_most(4 * IN) / IN == pytest.approx(1 + 1 / 3)


@pytest.mark.parametrize("frost", ["none", "moderate", "severe"])
@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_what_is_ordered_by_default_keeps_the_code(frost: str, units: str) -> None:
    notes = Notes.model_validate(
        {
            "title": "t",
            "units": units,
            "place": {"frost": frost},
            "slabs": [{"name": u, "use": u, "corners": ["A", "B", "C"]} for u in ("walk", "driveway", "pad")],
        }
    )
    mix, found = mix_of(specify(notes), frost)
    assert found == ()
    assert mix.strength >= strength_least(frost)
