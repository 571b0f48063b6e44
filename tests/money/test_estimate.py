"""The estimate: sums to the cent in every rounding mode, nothing at zero in silence, shares kept apart."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slabwright import money
from slabwright.money.book import load_book
from slabwright.money.estimating import ROUNDINGS, estimate
from slabwright.money.model import Amount, Book, Estimate, JobTerms, Need, PlanQuantities, Work
from slabwright.money.pricing import packed

HEAD = "group,code,condition,unit,value,least,pack,date\n"
ROWS = {
    "concrete": "plant,concrete,,m3,200,,,2026-03-01",
    "wage": "labour,hand,,h,20,,,",
    "finish": "rate,finish,,m2,10,,,",
}
Small = Callable[..., PlanQuantities]


def book_of(*more: str, **changes: str) -> Book:
    rows = {**ROWS, **changes}
    made = load_book(HEAD + "\n".join((*[r for r in rows.values() if r], *more)))
    assert made.findings == (), [f.text().what for f in made.findings]
    return made


def adds_up(made: Estimate) -> None:
    assert made.direct == sum(line.cost for line in made.lines)
    for line in made.lines:
        assert line.cost == line.cost.quantize(Decimal("0.01"))
        assert not line.by_slab or sum(part for _, part in line.by_slab) == line.cost
    assert made.price == made.direct + sum(step.amount for step in made.steps)
    assert made.total == made.price + sum(tax.amount for tax in made.taxes)
    assert sum(part for _, part in made.by_slab) == made.price
    profit = sum(s.amount for s in made.steps if s.code.startswith(("profit", "least job")))
    assert made.full_cost == made.price - profit


@pytest.mark.parametrize("rounding", ROUNDINGS)
def test_parts_sum_to_the_whole(taken: PlanQuantities, book: Book, terms: JobTerms, rounding: str) -> None:
    adds_up(estimate(taken, book, terms=terms, rounding=rounding))


amounts = st.floats(0.01, 500.0)
percent = st.decimals("0.01", "60", places=2)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    volume=amounts,
    areas=st.lists(amounts, min_size=1, max_size=5),
    over=percent,
    spare=percent,
    profit=percent,
    basis=st.sampled_from(("on cost", "on price")),
    tax=percent,
    rounding=st.sampled_from(ROUNDINGS),
)
def test_money_identities(
    small: Small,
    volume: float,
    areas: list[float],
    over: Decimal,
    spare: Decimal,
    profit: Decimal,
    basis: str,
    tax: Decimal,
    rounding: str,
) -> None:
    book = book_of(
        f"term,overhead,on cost,%,{over},,,",
        f"term,contingency,on cost,%,{spare},,,",
        f"term,profit,{basis},%,{profit},,,",
        f"tax,town,on price,%,{tax},,,",
        f"tax,state,on material,%,{tax},,,",
        "burden,payroll,,%,7.65,,,",
        "term,overhead-hour,,h,11.76,,,",
    )
    slabs = tuple((f"s{n}", a) for n, a in enumerate(areas))
    need = Need("plant", "concrete", "", (Amount("volume", volume),), "", slabs)
    work = tuple(Work("finish", "", Amount("area", a), slab, "") for slab, a in slabs)
    made = estimate(small(areas=slabs, needs=(need,), work=work), book, rounding=rounding)
    adds_up(made)
    share = profit / 100
    got = made.price - made.full_cost
    if basis == "on price":
        assert abs(got - made.price * share) <= Decimal("0.02")
        assert abs(made.margin - share) <= Decimal("0.02") / made.price
    else:
        assert abs(got - made.full_cost * share) <= Decimal("0.01")
        assert abs(made.markup - share) <= Decimal("0.01") / made.full_cost


def test_worked_by_hand(small: Small) -> None:
    # 10 m3 at 200; 100 m2 at 10 m2/h is 10 h at 20.
    book = book_of("burden,payroll,,%,10,,,", "term,overhead,on cost,%,10,,,", "term,profit,on price,%,20,,,")
    made = estimate(small(), book)
    assert made.direct == Decimal("2200.00")
    assert {s.code: s.amount for s in made.steps} == {
        "burden": Decimal("20.00"),
        "overhead": Decimal("222.00"),
        "profit on price": Decimal("610.50"),
    }
    assert made.full_cost == Decimal("2442.00")
    assert made.price == Decimal("3052.50")  # 2442 / 0.8
    assert made.by_slab == (("a", Decimal("1831.50")), ("b", Decimal("1221.00")))
    assert made.person_time == 36_000.0
    assert made.days == 1


def test_markup_and_margin_of_the_same_number_differ(small: Small) -> None:
    on_cost = estimate(small(), book_of("term,profit,on cost,%,25,,,"))
    on_price = estimate(small(), book_of("term,profit,on price,%,25,,,"))
    assert on_cost.price == Decimal("2750.00")
    assert on_cost.margin == Decimal("0.2")
    assert on_price.price == Decimal("2933.33")


@pytest.mark.parametrize(
    ("left_out", "code"), [("concrete", "unpriced"), ("finish", "no-rate"), ("wage", "no-wage")]
)
def test_what_has_no_price_stops_and_is_not_free(small: Small, left_out: str, code: str) -> None:
    made = estimate(small(), book_of(**{left_out: ""}))
    assert not made.complete
    stops = [f.code for f in made.findings if f.level == "stop"]
    assert stops == [code] * len(stops)
    assert stops
    assert all(line.cost > 0 for line in made.lines)


@pytest.mark.parametrize(
    "changes",
    [
        {"concrete": "plant,concrete,,ton,90,,,"},
        {"concrete": "plant,concrete,,load,900,,,"},
        {"finish": "rate,finish,,ft,90,,,"},
    ],
)
def test_a_unit_that_does_not_convert(small: Small, changes: dict[str, str]) -> None:
    made = estimate(small(), book_of(**changes))
    clash = [f for f in made.findings if f.code == "unit-clash"]
    assert clash
    assert clash[0].line in (2, 4)
    assert not made.complete


def test_units_convert_exactly(small: Small) -> None:
    made = estimate(small(), book_of(concrete="plant,concrete,,yd3,200,,,"))
    concrete = next(line for line in made.lines if line.code == "concrete")
    assert concrete.count == Decimal("13.079506")  # 10 m3 in yd3
    assert concrete.cost == Decimal("2615.90")


@pytest.mark.parametrize(
    ("count", "pack", "expected"),
    [("3.2", "1", "4"), ("3", "1", "3"), ("0.1", "5", "5"), ("7.5", "2.5", "7.5")],
)
def test_packs(count: str, pack: str, expected: str) -> None:
    assert packed(Decimal(count), Decimal(pack)) == Decimal(expected)


def test_minimum_charge(small: Small) -> None:
    made = estimate(small(), book_of(concrete="plant,concrete,,m3,200,2500,,"))
    line = made.lines[0]
    assert (line.cost, line.by_minimum) == (Decimal("2500.00"), True)
    assert not estimate(small(), book_of(concrete="plant,concrete,,m3,200,2000,,")).lines[0].by_minimum


def test_least_job(small: Small) -> None:
    made = estimate(small(), book_of("term,least-job,,job,3000,,,", "term,profit,on cost,%,10,,,"))
    assert made.price == Decimal("3000.00")
    assert made.steps[-1].code == "least job"
    adds_up(made)


def test_small_loads_are_charged_by_what_they_lack(small: Small) -> None:
    book = book_of("plant,small-load,under 5 m3,m3,40,,,")
    made = estimate(small(loads=(6.0, 4.0)), book)
    line = next(line for line in made.lines if line.code == "small-load")
    assert (line.count, line.cost) == (Decimal(1), Decimal("40.00"))
    assert "small-load" not in {line.code for line in estimate(small(loads=(5.0, 5.0)), book).lines}


def test_free_is_said(small: Small) -> None:
    made = estimate(small(), book_of(concrete="plant,concrete,,m3,free,,,"))
    assert made.complete
    assert [f.code for f in made.findings if f.level == "note"] == ["priced-free"]


@pytest.mark.parametrize(
    ("today", "code"),
    [(date(2026, 8, 28), None), (date(2026, 8, 29), "price-old"), (date(2026, 2, 28), "price-ahead")],
)
def test_age_of_a_price(small: Small, today: date, code: str | None) -> None:
    # The price is of 1 March 2026; 180 days later is 28 August.
    made = estimate(small(), book_of(), terms=JobTerms(dated=today))
    ages = [f.code for f in made.findings if f.code in ("price-old", "price-ahead")]
    assert ages == ([code] if code else [])


def test_old_and_invented_prices_are_named_once_each_and_together(small: Small) -> None:
    rows = ("plant,concrete,,m3,200,,,,,,2026-03-01,,invented price,ready-mix,concreto premezclado",)
    wages = ("labour,leader,,h,30,,,,,,2024-01-01,,Invented wage,leader,jefe",)
    head = "group,code,condition,unit,value,low,high,least,pack,currency,date,supplier,note,name,name-es"
    more = ("rate,place,,m3,1,,,,,,,,,,", "rate,finish,,m2,10,,,,,,,,,,")
    book = load_book("\n".join([head, *rows, *wages, *more]))
    found = {f.code: f for f in estimate(small(), book, terms=JobTerms(dated=date(2026, 11, 25))).findings}
    old, invented = found["price-old"], found["price-invented"]
    assert (old.values["count"], old.values["days"], old.values["items"]) == (1, 269, "ready-mix")
    assert (invented.values["count"], invented.values["items"]) == (2, "ready-mix, leader")
    assert "concreto premezclado, jefe" in invented.text(lang="es").what
    clean = load_book("\n".join([head, *rows, *wages, *more]).replace("nvented", "greed"))
    assert "price-invented" not in {f.code for f in estimate(small(), clean).findings}


def test_travel_and_trips(small: Small) -> None:
    book = book_of("travel,mileage,,km,0.5,,,")
    made = estimate(small(), book, terms=JobTerms(distance=10_000.0, drive=1800.0, trips=3))
    lines = {line.code: line for line in made.lines}
    assert lines["mileage"].count == 60  # 2 x 10 km x 3
    assert lines["drive"].count == 6  # 1 h there and back, 3 trips, 2 people
    strip = Work("strip forms", "", Amount("length", 10.0), "a", "")
    book = book_of("travel,mileage,,km,0.5,,,", "rate,strip forms,,m,20,,,")
    made = estimate(small(work=(*small().work, strip)), book, terms=JobTerms(distance=10_000.0))
    assert {line.code: line.count for line in made.lines}["mileage"] == 40  # forms come off another day


def test_no_price_for_the_way_there(small: Small) -> None:
    made = estimate(small(), book_of(), terms=JobTerms(distance=10_000.0, permits=("drive",)))
    assert [f.values["item"] for f in made.findings if f.code == "unpriced"] == ["drive", "mileage"]


def test_paid_hours_are_more_than_productive_ones(small: Small) -> None:
    made = estimate(small(), book_of("term,productive,of paid hours,%,80,,,"))
    assert sum(line.count for line in made.lines if line.group == "labour") == Decimal("12.50")


def test_crews(small: Small) -> None:
    two = ("labour,leader,,h,40,,,",)
    # Two people: one of each role.
    assert estimate(small(), book_of(*two)).lines[-1].price == Decimal("30.00")
    # The job's crew goes before the book's.
    book = book_of(*two, "crew,hand,,each,3,,,", "crew,leader,,each,1,,,")
    assert estimate(small(), book).lines[-1].price == Decimal("25.00")
    terms = JobTerms(crew=(("leader", 2),))
    assert estimate(small(), book, terms=terms).lines[-1].price == Decimal("40.00")
    mason = estimate(small(), book, terms=JobTerms(crew=(("mason", 1), ("hand", 1))))
    assert not mason.complete
    assert [f.values["item"] for f in mason.findings if f.code == "no-role"] == ["mason"]


def test_cautions_where_something_is_forgotten(small: Small) -> None:
    codes = {f.code for f in estimate(small(), book_of()).findings}
    assert codes == {"no-burden", "no-overhead", "no-profit"}


def test_what_a_slab_costs_does_not_depend_on_the_order_of_slabs(small: Small) -> None:
    quantities = small()
    turned = small(areas=quantities.areas[::-1], work=quantities.work[::-1])
    book = book_of("term,profit,on cost,%,13,,,")
    assert dict(estimate(quantities, book).by_slab) == dict(estimate(turned, book).by_slab)


def test_an_unknown_rounding_is_refused(small: Small) -> None:
    with pytest.raises(ValueError, match="ROUND_HALF_UP"):
        estimate(small(), book_of(), rounding="up")


def test_every_line_says_where_it_comes_from(priced: Estimate, book: Book) -> None:
    rows = {line.row for line in book.lines.values()}
    for line in priced.lines:
        assert line.takes
        assert line.book == "demo_book.csv"
        assert line.row in rows


def test_doors_are_functions_whatever_was_imported_before() -> None:
    for name in money.__all__:
        assert callable(getattr(money, name)), name
