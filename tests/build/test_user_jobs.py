"""What crews found on first jobs: huge pours, hair-over runs, tight notches, thick edges, laps, bags."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from slabwright.build.access.plan import volume_of
from slabwright.build.boards import on_whole_boards
from slabwright.build.cautions import cautions
from slabwright.build.dig import plan_dig
from slabwright.build.form_tables import curve_for
from slabwright.build.forms import plan_forms
from slabwright.build.materials import list_materials
from slabwright.build.order import plan_order
from slabwright.build.says import plant_lines
from slabwright.build.steel import cut_bars
from slabwright.findings import catalogue
from slabwright.notes import Notes
from slabwright.notes.models import Kit
from slabwright.slab.model import Bar, Facet, SteelPlan, ThickEdge
from slabwright.slab.thick_edges import concrete_of

FT, IN = 0.3048, 0.0254


def notes(**parts: Any) -> Notes:
    slab = {"name": "walk", "use": "walk", "corners": ["A", "B", "C"]}
    return Notes.model_validate({"title": "Test job", "slabs": [slab], "crew": {"people": 4}, **parts})


@pytest.mark.parametrize(("length", "called"), [(120 * FT, True), (6000 * FT, False)])
def test_a_balance_is_never_less_than_what_is_open_takes(make: Any, length: float, called: bool) -> None:
    order = plan_order(make.job(make.walk(length=length, width=10 * FT)), notes())
    codes = {f.code for f in order.findings}
    assert (order.balance is not None) is called
    assert ("order-by-the-load" in codes) is not called
    if order.balance is not None:
        assert order.balance.allowance >= 0.0


@pytest.mark.parametrize(
    ("over", "cut"),
    [(1 / 16, 32 * FT), (1 / 8, 32 * FT), (3 / 16, 32 * FT + 3 / 16 * IN), (-1 / 16, 32 * FT - 1 / 16 * IN)],
)
def test_a_hair_over_whole_boards_takes_them(over: float, cut: float) -> None:
    stock = [8 * FT, 10 * FT, 12 * FT]
    assert on_whole_boards(32 * FT + over * IN, stock) == pytest.approx(cut, abs=1e-6)


def test_a_run_a_hair_over_leaves_no_saw_cut(make: Any) -> None:
    walk = make.walk(length=32 * FT + IN / 16, width=4 * FT, kinds=("free", "wall", "free", "wall"))
    kit = Kit.model_validate({"stock": ["8 ft", "12 ft", "16 ft"]})
    forms = plan_forms(make.job(walk), make.ground(), kit)
    assert sorted(b.stock / FT for b in forms.boards) == pytest.approx([16, 16, 16, 16])
    assert all(b.left == pytest.approx(0, abs=1e-6) for b in forms.boards)


@pytest.mark.parametrize(("inches", "cut"), [(4, "tube"), (7.9, "tube"), (8, "2x"), (20, "2x")])
def test_tight_notches_are_no_kerfed_boards(inches: float, cut: str) -> None:
    assert curve_for(inches * IN).cut == cut


def test_panels_add_up_to_the_slab_with_its_thick_edges(make: Any) -> None:
    slab = make.walk(length=10.0, width=1.0)
    band = ((0.0, 0.0), (10.0, 0.0), (10.0, 0.3), (0.0, 0.3))
    thick = ThickEdge(0.3, 0.3, 3.0, 3.0 * (0.3 - slab.spec.thickness), (band,))
    slab = replace(slab, thick=thick)
    parts = [volume_of(slab, panel) for panel in slab.joint_plan.panels]
    assert sum(parts) == pytest.approx(concrete_of(slab))
    assert sum(parts) > slab.outline.area * slab.spec.thickness


def test_long_bars_have_one_lap_each_and_few_sticks(make: Any) -> None:
    """Fourteen bars of 21 ft 6 in, lap 19 in: each a 20 ft and a 3 ft 1 in, six short ones to a stick."""
    lines = [Bar("3", ((0.0, 0.1 * n), (21.5 * FT, 0.1 * n)), 0.05) for n in range(14)]
    steel = SteelPlan("bars", "3", tuple(lines), 0.4, 92.0, 50.0, 0.0, 19 * IN, 0, 0, ())
    slab = make.slab([(0, 0), (21.5 * FT, 0), (21.5 * FT, 2), (0, 2)], steel=steel)
    (lot,) = cut_bars(make.job(slab))
    assert lot.laps == 14
    assert lot.splices == ()
    assert [(round(length / IN), count) for length, count in lot.pieces] == [(240, 14), (37, 14)]
    assert sum(count for _, count in lot.stock) == 14 + 3


def test_where_bags_do_it_no_truck_is_spoken_of(make: Any) -> None:
    slab = make.walk(length=2 * FT, width=2 * FT)
    slab = replace(slab, height_plan=replace(slab.height_plan, facets=(Facet((0, 1, 2, 3), "1"),)))
    job, ground = make.job(slab), make.ground()
    order = plan_order(job, notes())
    each, count = order.bags[-1]
    assert order.mix[1] == ("Get", f"{count} bags of {each}")
    assert all("plant" not in ask.key or ask.key in ("plant-for-title", "bags-plant") for ask in order.asks)
    assert [f.code for f in order.findings] == ["order-bags"]
    assert "care-truck" not in {f.code for f in cautions(job, ground, None, order)}
    dig = plan_dig(job, ground)
    listed = list_materials(job, plan_forms(job, ground, Kit()), (), dig, order, notes())
    buys = {line.shop: line.buy for line in listed}
    assert buys["spoil"] == "by barrow or pick-up"
    assert "concrete plant" not in buys
    assert f"{count} bags of {each}" in [line.buy for line in listed]


def test_one_of_a_thing_reads_right() -> None:
    values = {"trips": 1, "pushers": 1, "time": "5 min", "braces": 1, "clear": '6"', "anchors": 1}
    for code in ("access-trips", "form-braces", "set-out-no-anchors"):
        row = catalogue("build")[code]
        for words in (row, row["es"]):
            said = words["what"].format_map(values)
            assert re.search(r"\b1 [a-z]+s\b", said) is None, said


def test_a_huge_order_is_not_short_of_what_it_likely_takes(make: Any) -> None:
    order = plan_order(make.job(make.walk(length=6000 * FT, width=10 * FT)), notes())
    assert order.order > order.drawn
    assert order.chance_short < 0.51


@pytest.mark.parametrize(
    ("length", "en", "es"), [(2 * FT, "bags of", "bultos de"), (0.5 * FT, "bag of", "bulto de")]
)
def test_bags_are_asked_for_in_the_language_of_the_sheet(make: Any, length: float, en: str, es: str) -> None:
    slab = make.walk(length=length, width=length)
    slab = replace(slab, height_plan=replace(slab.height_plan, facets=(Facet((0, 1, 2, 3), "1"),)))
    asks = plan_order(make.job(slab), notes()).asks
    said = {lang: [say for _, say in plant_lines(asks, lang=lang)] for lang in ("en", "es")}
    assert any(f" {en} " in say for say in said["en"])
    assert any(f" {es} " in say for say in said["es"])
    assert not any(" of " in say for say in said["es"])
