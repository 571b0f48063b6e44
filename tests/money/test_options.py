"""Options: the difference is what planning again gives; circles and dead ends are said."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from slabwright.money.book import load_book
from slabwright.money.changes import ChangeError, changed
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, Change, Option, PlanQuantities
from slabwright.money.offering import chosen, options
from slabwright.notes.defaults import specify
from slabwright.notes.models import Notes
from slabwright.result import Plan

Again = Callable[[Notes], PlanQuantities]
EXPOSED = Option("stone", "Exposed stone", "Agregado expuesto", (Change("finish", to="exposed"),))
THICK = Option("thick", "Half an inch thicker", "Media pulgada más", (Change("thicker", more=0.0127),))


def test_difference_is_that_of_the_job_planned_with_it(walk: Plan, book: Book, again: Again) -> None:
    base = estimate(again(walk.notes), book)
    one, two = options(walk.notes, base, [EXPOSED, THICK], replan=again, book=book)
    for option, price in ((EXPOSED, one), (THICK, two)):
        alone = estimate(again(changed(walk.notes, option.changes)), book)
        assert price.difference == alone.price - base.price
        assert price.cost_difference == alone.full_cost - base.full_cost
        assert sum(now - was for _, _, was, now in price.lines) == alone.direct - base.direct
        assert price.findings == ()
    assert {code for code, *_ in one.lines} == {"finish"}
    assert {code for code, *_ in two.lines} & {"place", "dig"}


def test_one_on_top_of_another(walk: Plan, book: Book, again: Again) -> None:
    base = estimate(again(walk.notes), book)
    on_top = Option("both", "Both", "Las dos", EXPOSED.changes, ("thick",))
    thick, both = options(walk.notes, base, [THICK, on_top], replan=again, book=book)
    whole = estimate(again(changed(walk.notes, (*THICK.changes, *EXPOSED.changes))), book)
    assert both.against == ("thick",)
    assert thick.difference is not None
    assert both.difference is not None
    assert thick.difference + both.difference == whole.price - base.price


def test_the_base_is_not_planned_again(walk: Plan, book: Book, again: Again) -> None:
    times = []

    def counting(notes: Notes) -> PlanQuantities:
        times.append(1)
        return again(notes)

    base = estimate(again(walk.notes), book)
    options(walk.notes, base, [EXPOSED, THICK], replan=counting, book=book)
    assert len(times) == 2


@pytest.mark.parametrize(
    ("choices", "code"),
    [
        ([Option("a", "", "", (), ("b",)), Option("b", "", "", (), ("a",))], "option-circular"),
        ([Option("a", "", "", (), ("a",))], "option-circular"),
        (
            [
                Option("a", "", "", (), ("b",)),
                Option("b", "", "", (), ("c",)),
                Option("c", "", "", (), ("b",)),
            ],
            "option-circular",
        ),
        ([Option("a", "", "", (), ("zz",))], "option-unknown"),
        ([Option("a", "", "", (Change("finish", slab="nowhere", to="salt"),))], "option-no-slab"),
        ([Option("a", "", "", (Change("take-out", to="nowhere"),))], "option-no-slab"),
        ([Option("a", "", "", (Change("finish", to="velvet"),))], "option-choice"),
        ([Option("a", "", "", (Change("steel", to="rope"),))], "option-choice"),
        ([Option("a", "", "", (Change("drain", points=("P1",)),))], "option-choice"),
        ([Option("a", "", "", (Change("drain", points=("P1", "nowhere"), more=0.02),))], "option-stops"),
    ],
)
def test_what_cannot_be_priced_says_why(
    walk: Plan, book: Book, again: Again, choices: list[Option], code: str
) -> None:
    base = estimate(again(walk.notes), book)
    price = options(walk.notes, base, choices, replan=again, book=book)[0]
    assert price.difference is None
    assert price.findings[0].code == code
    for lang in ("en", "es"):
        assert "{" not in price.findings[0].text(lang=lang).what


def test_the_same_key_twice(walk: Plan, book: Book, again: Again) -> None:
    base = estimate(again(walk.notes), book)
    first, second = options(walk.notes, base, [EXPOSED, EXPOSED], replan=again, book=book)
    assert first.difference is not None
    assert [f.code for f in second.findings] == ["option-twice"]


def test_an_option_without_a_price_in_the_book_is_not_free(walk: Plan, again: Again, book: Book) -> None:
    poor = Book(
        book.name,
        book.currency,
        {key: line for key, line in book.lines.items() if key[1] != "mesh"},
    )
    base = estimate(again(walk.notes), poor)
    assert base.complete
    mesh = Option("mesh", "", "", (Change("steel", to="mesh"),))
    (price,) = options(walk.notes, base, [mesh], replan=again, book=poor)
    assert price.difference is None
    assert [f.code for f in price.findings] == ["option-stops", "unpriced"]


def test_what_cannot_be_planned(walk: Plan, book: Book, again: Again) -> None:
    def never(_: Notes) -> PlanQuantities:
        raise ValueError("the tape does not close")

    base = estimate(again(walk.notes), book)
    (price,) = options(walk.notes, base, [EXPOSED], replan=never, book=book)
    assert price.findings[0].values["said"] == "the tape does not close"


def test_changes_of_notes(walk: Plan) -> None:
    notes = walk.notes
    name = notes.slabs[0].name
    wider = changed(notes, [Change("wider", slab=name, more=0.3048)])
    assert notes.slabs[0].width is not None
    assert wider.slabs[0].width == pytest.approx(notes.slabs[0].width + 0.3048)
    thick = changed(notes, THICK.changes)
    assert specify(thick)[0].thickness == pytest.approx(specify(notes)[0].thickness + 0.0127)
    fiber = changed(notes, [Change("steel", to="fiber")])
    assert specify(fiber)[0].steel.choice == "fiber"
    old = notes.existing[0].name
    out = changed(notes, [Change("take-out", to=old)])
    assert out.existing[0].keeps == "nothing"
    assert old not in {meets.existing for slab in out.slabs for meets in slab.meets}
    drain = changed(notes, [Change("drain", to="gate drain", points=("P1", "P2"), more=0.01)])
    assert drain.water.trench_drains[-1].name == "gate drain"
    assert drain.slabs[0].fall.from_house == 0.01
    assert notes.slabs[0].finish == "broom"  # the notes themselves are left alone
    with pytest.raises(ChangeError):
        changed(notes, [Change("finish", to="")])


def test_what_a_customer_took(walk: Plan, again: Again) -> None:
    on_top = Option("both", "", "", EXPOSED.changes, ("thick",))
    notes, taken = chosen(walk.notes, ["both"], [THICK, on_top], replan=again)
    assert notes.slabs[0].finish == "exposed"
    assert specify(notes)[0].thickness > specify(walk.notes)[0].thickness
    assert taken.title == walk.notes.title
    with pytest.raises(ValueError, match="circle"):
        chosen(walk.notes, ["a"], [Option("a", "", "", (), ("a",))], replan=again)


def test_an_empty_book_is_said_before_any_option() -> None:
    assert [f.code for f in load_book("").findings] == ["table-empty"]
