"""The one door of pricing: books and records in, priced job, options taken, quote and days out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from slabwright import plan
from slabwright.money.book_files import book_csv, book_xlsx
from slabwright.money.model import JobTerms
from slabwright.money.wanted import options_of
from slabwright.notes.reader import read_notes
from slabwright.priced import (
    NotUsableError,
    PricedJob,
    calendar_of,
    demo_book,
    learn_from,
    owner_files,
    owner_job,
    party_of,
    plan_again,
    price_job,
    put_to_use,
    quote_job,
    quote_number,
    read_books,
    read_records,
    taking,
)

WALK = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"
DAY = date(2026, 5, 4)
WANTED = ("finish=exposed", "thicker=1/2 in after finish=exposed", "steel=fiber", "take-out=the moon")
HEAD = "group,code,condition,unit,value\n"


@pytest.fixture(scope="module")
def job() -> PricedJob:
    made = plan.make(read_notes(WALK), name="side-walk", mapped=False)
    return price_job(made, demo_book(), terms=JobTerms(dated=DAY), choices=options_of(WANTED))


def test_a_book_is_the_same_from_text_workbook_and_path(tmp_path: Path) -> None:
    book = demo_book()
    path = tmp_path / "prices.csv"
    path.write_text(book_csv(book))
    given = (("prices.csv", book_csv(book).encode()), ("prices.xlsx", book_xlsx(book)), path)
    values = [{k: line.value for k, line in read_books([one]).lines.items()} for one in given]
    assert values[0] == values[1] == values[2] == {k: line.value for k, line in book.lines.items()}


def test_later_books_go_before_earlier_ones() -> None:
    mine = ("mine.csv", (HEAD + "plant,concrete,,yd3,999\n").encode())
    line = read_books([("prices.csv", book_csv(demo_book()).encode()), mine]).find("plant", "concrete")
    assert line is None or line.group == "plant"
    found = read_books([("prices.csv", book_csv(demo_book()).encode()), mine]).find("price", "concrete")
    assert found is not None
    assert (found.value, found.book, found.row) == (Decimal(999), "mine.csv", 2)


def test_a_book_that_cannot_be_used_names_every_row() -> None:
    bad = ("bad.csv", (HEAD + "plant,concrete,,yd3,-1\nplant,fiber,,furlong,3\n").encode())
    with pytest.raises(NotUsableError, match=r"bad\.csv:2, value: .*bad\.csv:3, unit: ") as told:
        read_books([bad])
    assert [finding.where for finding in told.value.findings] == ["bad.csv:2, value", "bad.csv:3, unit"]
    with pytest.raises(ValueError, match="none was given"):
        read_books([])
    with pytest.raises(ValueError, match="ducat"):
        read_books([bad], currency="ducat")


def test_records_are_told_apart_and_put_to_use() -> None:
    days = "date,job,step,condition,unit,amount,hours\n" + "".join(
        f"2026-01-{5 + n:02},job {n},finish,,ft2,120,2\n" for n in range(6)
    )
    orders = "date,job,unit,drawn,delivered,left\n2026-01-05,job 0,yd3,4.0,4.5,0.25\n"
    records = read_records([("a.csv", days.encode()), ("b.csv", orders.encode())])
    assert (len(records.actuals), len(records.orders)) == (6, 1)
    book, notes = demo_book(), read_notes(WALK)
    learned = learn_from(book, records)
    new, with_past = put_to_use(book, notes, records, learned)
    before, after = book.find("rate", "finish"), new.find("rate", "finish")
    assert before is not None
    assert after is not None
    assert after.value < before.value  # 60 ft2 an hour were done, the book says 90
    assert after.jobs == 6
    assert len(with_past.order.past_jobs) == len(notes.order.past_jobs) + 1
    with pytest.raises(ValueError, match="learned"):
        learn_from(new, records)
    with pytest.raises(NotUsableError, match=r"c\.csv:2"):
        read_records([("c.csv", b"date,job,step,unit,amount,hours\n2026-01-05,job 0,finish,ft2,120,0\n")])


def test_options_stand_on_one_another_and_the_impossible_one_says_why(job: PricedJob) -> None:
    stone, thick, fiber, moon = job.options
    assert thick.against == ("finish=exposed",)
    assert None not in (stone.difference, thick.difference, fiber.difference)
    assert moon.difference is None
    assert {finding.code for finding in moon.findings} == {"option-no-slab"}
    assert moon.findings[0] in job.findings


def test_what_a_customer_takes_adds_up_and_the_rest_stays_on_offer(job: PricedJob) -> None:
    taken = taking(job, ["thicker=1/2 in"])
    stone, thick = job.options[:2]
    assert stone.difference is not None
    assert thick.difference is not None
    assert taken.made.price == job.made.price + stone.difference + thick.difference
    assert [choice.key for choice in taken.choices] == ["steel=fiber", "take-out=the moon"]
    only = taking(job, ["finish=exposed"])
    assert only.made.price == job.made.price + stone.difference
    left = only.options[0]
    assert (left.key, left.against, left.difference) == ("thicker=1/2 in", (), thick.difference)
    with pytest.raises(ValueError, match="not offered: gold"):
        taking(job, ["gold"])
    with pytest.raises(ValueError, match=r"the moon.*old patio"):
        taking(job, ["take-out=the moon"])


@pytest.mark.parametrize(
    ("written", "code"),
    [
        (("finish=salt after steel=fiber", "steel=fiber after finish=salt"), "option-circular"),
        (("finish=salt after finish=salt",), "option-circular"),
        (("finish=salt after wider=1 ft",), "option-unknown"),
        (("finish=salt", "finish = salt"), "option-twice"),
    ],
)
def test_circles_and_gaps_of_written_options_are_said(
    written: tuple[str, ...], code: str, job: PricedJob
) -> None:
    made = price_job(job.plan, job.book, terms=job.terms, choices=options_of(written))
    last = made.options[-1]
    assert last.difference is None
    assert code in {finding.code for finding in last.findings}


def test_the_quote_and_its_files(job: PricedJob) -> None:
    made, files = quote_job(job, dated=DAY, business=party_of("Alder Concrete; 12 Elm Street"), lang="es")
    assert made.number == "260504 Juniper Court 7"
    assert made.total == job.made.total
    assert made.business.lines == ("12 Elm Street",)
    assert made.customer.name == (job.plan.notes.customer or "").split(";")[0]
    assert [name for name, _ in files] == ["quote.pdf", "care.pdf"]
    assert party_of(" ; ").name == party_of(None).name == "_" * 24


def test_the_owner_s_files_say_so_in_their_names(job: PricedJob) -> None:
    owner = owner_job(job, at=Decimal(100))
    assert owner.risk.chance_loss == 1.0
    assert all(name.startswith("owner-") for name, _ in owner_files(owner, job))


def test_the_days_agreed(job: PricedJob) -> None:
    text = calendar_of(job, date(2026, 5, 9), stamped=DAY).decode()
    assert "DTSTART;VALUE=DATE:20260511" in text  # the 9th is a Saturday
    assert "DTSTAMP:20260504T000000Z" in text


def test_cars_are_told_of_only_where_they_drive(job: PricedJob) -> None:
    assert "-drive@" not in calendar_of(job, date(2026, 5, 9), stamped=DAY).decode()
    slabs = tuple(slab.model_copy(update={"use": "driveway"}) for slab in job.plan.notes.slabs)
    plan = replace(job.plan, notes=job.plan.notes.model_copy(update={"slabs": slabs}))
    assert "-drive@" in calendar_of(replace(job, plan=plan), date(2026, 5, 9), stamped=DAY).decode()


def test_jobs_in_folders_of_one_name_are_two_in_a_calendar(job: PricedJob) -> None:
    notes = job.plan.notes.model_copy(update={"title": "Alder Lane 22 - patio"})
    other = replace(job, plan=replace(job.plan, notes=notes))
    texts = (calendar_of(one, date(2026, 5, 9), stamped=DAY).decode() for one in (job, other))
    ids = [{line for line in text.splitlines() if line.startswith("UID:")} for text in texts]
    assert not ids[0] & ids[1]


@pytest.mark.parametrize(
    ("title", "number"),
    [
        ("Alder Lane 22, back patio", "260504 Alder Lane 22"),
        ("-", "260504 -"),
        ("A" * 80, f"260504 {'A' * 24}"),
        ("The very long street of many names and numbers 7", "260504 The very long street of"),
    ],
)
def test_a_quote_is_numbered_by_its_day_and_where_it_is(title: str, number: str, job: PricedJob) -> None:
    notes = job.plan.notes.model_copy(update={"title": title})
    assert quote_number(replace(job, plan=replace(job.plan, notes=notes)), DAY) == number


def test_notes_that_cannot_be_planned_are_a_value_error(job: PricedJob) -> None:
    notes = job.plan.notes.model_copy(update={"slabs": ()})
    with pytest.raises(ValueError, match=r"\w+"):
        plan_again(notes)
