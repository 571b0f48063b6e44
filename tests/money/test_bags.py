"""A job so small that bags do it: the same choice in the order, in the price and on the day of the pour."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright import plan
from slabwright.build.order import bag_volume
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, JobTerms
from slabwright.notes.reader import read_notes
from slabwright.pourday.from_job import loads_of, works_of
from slabwright.priced import quantities_of
from slabwright.result import Plan

PAD = """title: Rowan Way 9 - pad for a shed
units: {units}
baseline: [A, B]
points: {{A: [0', 0'], B: [20', 0'], P1: [2', 4'], P2: [6', 4'], P3: [6', 8'], P4: [2', 8'], K1: [10', 20']}}
levels:
  - {{set-up: S1, rod: {{A: 4', B: 4', P1: 4' 2, P2: 4' 2, P3: 4' 2, P4: 4' 2}}}}
slabs:
  - {{name: pad, use: pad, corners: [P1, P2, P3, P4]}}
crew: {{people: 2, start: 7:00 am}}
access: {{truck-stops-at: K1, by: {by}}}
"""


def pad(folder: Path, *, units: str = "imperial", by: str = "barrow") -> Plan:
    file = folder / "job.yaml"
    file.write_text(PAD.format(units=units, by=by), encoding="utf-8")
    return plan.make(read_notes(file))


@pytest.mark.parametrize(("units", "each"), [("imperial", "80 lb"), ("metric", "25 kg")])
def test_bags_are_priced_by_the_bag_as_the_order_has_them(
    units: str, each: str, book: Book, tmp_path: Path
) -> None:
    made = pad(tmp_path, units=units)
    bag, count = made.built.order.bags[-1]
    assert bag == each
    taken = quantities_of(made)
    (need,) = [n for n in taken.needs if n.code == "bags"]
    assert {a.dimension: a.amount for a in need.amounts}["bag"] == count
    assert "concrete" not in {n.code for n in taken.needs}
    priced = estimate(taken, book, terms=JobTerms())
    (line,) = [one for one in priced.lines if one.code == "bags"]
    price = book.find("price", "bags", each)
    assert price is not None
    assert line.cost == price.value * count
    assert not [f for f in priced.findings if f.level == "stop"]


def test_no_truck_is_paid_for_where_none_comes(book: Book, tmp_path: Path) -> None:
    made = pad(tmp_path, by="pump")
    taken = quantities_of(made)
    assert taken.loads == ()
    bag, count = made.built.order.bags[-1]
    assert taken.order == pytest.approx(count * bag_volume(bag))
    assert taken.order >= made.built.order.need
    codes = {line.code for line in estimate(taken, book, terms=JobTerms()).lines}
    assert not codes & {"concrete", "small-load", "pump"}


def test_a_truck_is_paid_for_where_one_comes(walk: Plan, book: Book) -> None:
    taken = quantities_of(walk)
    assert walk.built.order.bags == ()
    assert taken.loads == walk.built.order.loads
    codes = {line.code for line in estimate(taken, book, terms=JobTerms()).lines}
    assert {"concrete", "small-load"} <= codes
    assert "bags" not in codes


def test_the_pour_has_one_batch_of_just_what_is_needed(tmp_path: Path, walk: Plan) -> None:
    made = pad(tmp_path)
    works = works_of(made.shaped, made.built)
    assert loads_of(made.built, works) == (pytest.approx(made.built.order.need),)
    assert sum(made.built.order.loads) > 1.5 * made.built.order.need  # what a plant would bring
    assert loads_of(walk.built, works_of(walk.shaped, walk.built)) == walk.built.order.loads
