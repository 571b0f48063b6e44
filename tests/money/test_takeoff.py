"""What a plan has to be paid for: every line of the shopping list, every step of the work."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slabwright.build.model import Ask, Material
from slabwright.money.book import load_book
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, Estimate, PlanQuantities
from slabwright.money.takeoff import take_off
from slabwright.result import Plan


def test_every_line_of_the_shopping_list_is_there(made: Plan, taken: PlanQuantities) -> None:
    assert len(taken.needs) >= len(made.built.materials)
    for line, need in zip(made.built.materials, taken.needs, strict=False):
        assert need.what == line.what
        assert need.amounts[0].amount == line.amount


def test_every_line_has_a_price_in_the_invented_book(priced: Estimate) -> None:
    assert priced.complete
    assert not [f for f in priced.findings if f.level == "stop"]


def test_amounts_are_those_of_the_plan(made: Plan, taken: PlanQuantities) -> None:
    by_code = {need.code: need for need in taken.needs}
    concrete = by_code["concrete"]
    assert concrete.amounts[0].amount == made.built.order.order
    assert made.built.dig is not None
    measures = {a.dimension: a.amount for a in by_code["base"].amounts}
    assert measures == {"mass": made.built.dig.base_mass, "volume": made.built.dig.base_loose}
    boards = math.fsum(b.stock for b in made.built.forms.boards if b.origin == "yard")
    bought = [
        a.amount for n in taken.needs if n.code == "board" for a in n.amounts if a.dimension == "length"
    ]
    assert math.fsum(bought) == pytest.approx(boards)


def test_work_is_that_of_the_plan(made: Plan, taken: PlanQuantities) -> None:
    def total(step: str) -> float:
        return math.fsum(w.amount.amount for w in taken.work if w.step == step)

    built = made.built
    assert total("forms") == pytest.approx(math.fsum(run.length for run in built.forms.runs))
    assert total("strip forms") == pytest.approx(total("forms"))
    assert total("finish") == pytest.approx(math.fsum(s.outline.area for s in made.shaped.slabs))
    assert total("place") == pytest.approx(math.fsum(v for _, v in built.order.by_slab))
    assert built.dig is not None
    assert total("dig") == pytest.approx(built.dig.cut - built.dig.organic_volume)
    assert total("load spoil") == pytest.approx(built.dig.spoil_loose)
    assert {w.slab for w in taken.work} == {s.spec.name for s in made.shaped.slabs}


def test_a_line_that_nobody_knows_is_unpriced_not_free(walk: Plan, book: Book) -> None:
    lamp = Material("lamp shop", "lamp", "count", 2.0, "2", (Ask("shop-store"), Ask("want-lamp"), Ask("buy")))
    bare = Material("lamp shop", "Shade", "count", 2.0, "2")
    places = {name: (p.x, p.y) for name, p in walk.survey.points.items()}
    taken = take_off(walk.shaped, walk.built, walk.ground, walk.notes, places, extra=(lamp, bare))
    made = estimate(taken, book)
    assert not made.complete
    said = [f.values["item"] for f in made.findings if f.code == "unpriced"]
    assert said == ["lamp", "shade"]


def test_an_old_slab_that_goes_is_paid_for(walk: Plan, book: Book) -> None:
    places = {name: (p.x, p.y) for name, p in walk.survey.points.items()}
    old = next(e for e in walk.ground.existing)
    gone = replace(
        old, keeps_height=False, thickness=None, ring=((0.0, 0.0), (3.0, 0.0), (3.0, 2.0), (0.0, 2.0))
    )
    ground = replace(walk.ground, existing=(gone,))
    taken = take_off(walk.shaped, walk.built, ground, walk.notes, places)
    need = next(n for n in taken.needs if n.code == "old concrete")
    assert need.amounts[0].amount == pytest.approx(6.0 * 0.1016)
    assert [f.code for f in taken.findings] == ["old-slab-guess"]
    lines = {line.code for line in estimate(taken, book).lines}
    assert {"old concrete", "take out"} <= lines

    edge = replace(gone, ring=())
    taken = take_off(walk.shaped, walk.built, replace(walk.ground, existing=(edge,)), walk.notes, places)
    assert [f.code for f in taken.findings] == ["old-slab-no-outline"]
    assert not estimate(taken, book).complete


def test_stops_of_the_plan_stay_with_its_price(walk: Plan, book: Book) -> None:
    stop = load_book("").findings[0]
    places = {name: (p.x, p.y) for name, p in walk.survey.points.items()}
    taken = take_off(walk.shaped, walk.built, walk.ground, walk.notes, places, stops=(stop, *walk.findings))
    assert stop in estimate(taken, book).findings
    assert all(f.level == "stop" for f in taken.findings)
