"""The shopping list: what each shop is asked for, counted from the plan, in both languages."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slabwright.build.dig import plan_dig
from slabwright.build.forms import plan_forms
from slabwright.build.materials import curing_volume, isolation_lengths, list_materials
from slabwright.build.model import BarList
from slabwright.build.order import plan_order
from slabwright.build.says import in_language, texts
from slabwright.measure import System
from slabwright.notes import Notes
from slabwright.slab.model import Facet, Joint

FT, IN, LB, GAL = 0.3048, 0.0254, 0.45359237, 0.003785411784


def covered(slab):
    return replace(slab, height_plan=replace(slab.height_plan, facets=(Facet((0, 1, 2, 3), "1"),)))


def notes(**parts):
    slab = {"name": "walk", "use": "walk", "corners": ["A", "B", "C"]}
    return Notes.model_validate({"title": "Test job", "slabs": [slab], **parts})


def listed(make, slab, bars=(), **parts):
    job, ground, said = make.job(covered(slab)), make.ground(), notes(**parts)
    forms, dig = plan_forms(job, ground, said.kit), plan_dig(job, ground, system=said.units)
    order = plan_order(job, said)
    return list_materials(job, forms, bars, dig, order, said), forms, dig, order


def by_want(lines):
    return {line.said[1].key: line for line in lines}


class TestCounts:
    def test_boards_from_the_yard_only(self, make):
        lines, forms, _, _ = listed(make, make.walk(), kit={"boards": [{"size": "2x4", "length": "20'"}]})
        boards = [line for line in lines if line.said[1].key == "want-board"]
        yard = [board for board in forms.boards if board.origin == "yard"]
        assert any(board.origin == "pile" for board in forms.boards)
        assert sum(line.amount for line in boards) == len(yard)
        assert all("2x4" in line.what for line in boards)

    def test_stakes_nails_release(self, make):
        lines, forms, _, _ = listed(make, make.walk())
        rows = by_want(lines)
        assert rows["want-stakes"].amount == forms.stakes
        pounds = rows["want-nails"].said[2].values["mass"].si / LB
        assert pounds == pytest.approx(math.ceil(forms.nails / 88))
        # 200 ft2 of form a gallon, so a house walk takes one can
        assert rows["want-release"].amount == pytest.approx(forms.release * 200 * FT**2 / GAL)
        assert rows["want-release"].buy == "1 x 1 gal"

    def test_stone_and_spoil(self, make):
        lines, _, dig, _ = listed(make, make.walk())
        rows = by_want(lines)
        tons = float(rows["want-base"].said[2].values["tons"])
        assert dig.base_mass / (2000 * LB) <= tons < dig.base_mass / (2000 * LB) + 0.5
        assert rows["want-spoil"].amount == pytest.approx(dig.spoil_loose)
        assert rows["want-spoil"].buy.startswith(f"{dig.spoil_loads} x ")

    def test_steel(self, make):
        bars = BarList("4", ((5.0, 3),), ((6.096, 3),), 0.5, 30.0, 12, 40, True)
        mesh = BarList("6x6 W1.4", (), ((3.048, 5),), 0.2, 44.0, 3, 0, False, kind="mesh")
        glass = replace(bars, kind="gfrp", chairs=0, ties=0)
        lines, *_ = listed(make, make.walk(), bars=(bars, mesh, glass))
        rows = by_want(lines)
        assert rows["want-bars"].amount == 3
        assert "#4" in rows["want-bars"].what
        assert rows["want-mesh"].amount == 5
        assert rows["want-gfrp"].amount == 3
        assert rows["want-chairs"].amount == 15
        assert rows["want-ties"].buy == "1 x 1000"

    def test_concrete(self, make):
        lines, _, _, order = listed(make, make.walk())
        assert by_want(lines)["want-concrete"].amount == order.order
        assert lines[-1].shop == "concrete plant"

    def test_fibre_comes_with_the_mix(self, make):
        steel = replace(make.walk().steel, choice="fiber", dose=1.8)
        lines, _, _, order = listed(make, make.walk(steel=steel))
        assert by_want(lines)["want-fiber"].amount == pytest.approx(1.8 * order.order)

    def test_no_ground_no_stone(self, make):
        job, said = make.job(make.walk()), notes()
        forms = plan_forms(job, make.ground(height=None), said.kit)
        lines = list_materials(job, forms, (), None, plan_order(job, said), said)
        assert not {"want-base", "want-spoil", "want-plate"} & set(by_want(lines))

    def test_saw_only_for_sawn_joints(self, make):
        joint = Joint("contraction", ((1.0, 0.0), (1.0, 1.0)), 0.025, "sawn", "spacing")
        assert "want-saw" in by_want(listed(make, make.walk(joints=(joint,)))[0])
        assert "want-saw" not in by_want(listed(make, make.walk())[0])


class TestCuringAndFiller:
    def test_curing_by_finish(self):
        """Worked: 240 ft2 of smooth float at 200 ft2 a gallon is 1.2 gal, broomed at 100 it is 2.4."""
        assert curing_volume(240 * FT**2, "float") / GAL == pytest.approx(1.2)
        assert curing_volume(240 * FT**2, "broom") / GAL == pytest.approx(2.4)

    @pytest.mark.parametrize(
        ("gallons", "bought"),
        [
            (0.3, "1 x 1 gal"),
            (2.0, "2 x 1 gal"),
            (2.1, "1 x 5 gal"),
            (5.0, "1 x 5 gal"),
            (6.5, "1 x 5 gal + 2 x 1 gal"),
            (8.0, "2 x 5 gal"),
        ],
    )
    def test_cans(self, make, gallons, bought):
        slab = make.walk(length=gallons * 10 * FT, width=10 * FT)
        assert by_want(listed(make, slab)[0])["want-curing"].buy == bought

    def test_filler_by_depth(self, make):
        joints = (
            Joint("isolation", ((0.0, 0.0), (0.0, 1.0)), 0.1, "filler", "meets"),
            Joint("isolation", ((3.0, 0.0), (3.0, 1.0), (3.0, 1.5)), 0.1, "filler", "wall"),
            Joint("contraction", ((1.0, 0.0), (1.0, 1.0)), 0.025, "tooled", "spacing"),
        )
        slab = make.walk(thickness=0.1, joints=joints)
        assert isolation_lengths([slab, slab]) == pytest.approx({0.1: 5.0})
        line = by_want(listed(make, slab)[0])["want-filler"]
        assert line.amount == pytest.approx(2.5)
        assert line.buy.startswith("1 x ")


class TestWords:
    def test_spanish(self, make):
        lines, *_ = listed(make, make.walk())
        spanish = [in_language(line, lang="es") for line in lines]
        assert spanish[-1].shop == "planta de concreto"
        assert all(a.amount == b.amount for a, b in zip(lines, spanish, strict=True))
        assert all(a.what != b.what for a, b in zip(lines, spanish, strict=True))

    def test_metric(self, make):
        lines, *_ = listed(make, make.walk(length=10.0, width=1.0), units="metric")
        rows = by_want(lines)
        assert rows["want-base"].said[2].key == "buy-tonnes"
        assert rows["want-curing"].buy.endswith(" l")
        assert "m3" in rows["want-concrete"].buy
        assert not any(unit in line.what + line.buy for line in lines for unit in ("yd3", '"', "gal", "psi"))

    def test_a_line_without_keys_stays(self, make):
        line = replace(listed(make, make.walk())[0][0], said=None)
        assert in_language(line, lang="es", system=System.METRIC) is line

    def test_every_text_is_used(self, make):
        """No text of the list that nothing asks for."""
        from pathlib import Path

        import slabwright.build

        room = Path(slabwright.build.__file__).parent
        code = "".join(path.read_text(encoding="utf-8") for path in room.rglob("*.py"))
        for key in texts():
            stem = key.split("-", 1)[1] if key.startswith(("want-", "shop-")) else key
            assert f'"{stem}"' in code or f'"{key}"' in code, key
