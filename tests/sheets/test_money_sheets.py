"""The owner's sheets say all and add up; the customer's and the crew's hold no cost, rate or margin."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from pathlib import Path
from xml.sax.saxutils import quoteattr

import openpyxl
import pypdf
import pytest

import slabwright
from slabwright.findings import find
from slabwright.measure import Both, write_money
from slabwright.money.book import load_book
from slabwright.money.chances import risk
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, Change, JobTerms, Option, PlanQuantities
from slabwright.money.model_paper import Allowance, Party, Quote
from slabwright.money.offering import options
from slabwright.money.quoting import quote
from slabwright.money.takeoff import take_off
from slabwright.notes.models import Notes, Place
from slabwright.notes.reader import read_notes
from slabwright.plan import make, sheets_of
from slabwright.result import Plan
from slabwright.sheets.furniture import compose
from slabwright.sheets.lettering import plain
from slabwright.sheets.money_owner import Priced, owner_files, owner_pages, owner_tables
from slabwright.sheets.money_quote import care_pages, customer_drawing, quote_files, quote_pages
from slabwright.sheets.money_tables import (
    lines,
    option_name,
    takes_text,
)
from slabwright.sheets.packet import compose_pages
from slabwright.sheets.pages import FindingBlock, Strip, TableBlock
from slabwright.sheets.picture import overlaps
from slabwright.sheets.svg import svg
from slabwright.sheets.tables import file_rows
from slabwright.sheets.words import words

EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = ("corner-patio", "quay-apron", "side-walk")
LANGS = ("en", "es")
DAY = date(2026, 5, 4)
TERMS = JobTerms(distance=20_000.0, drive=1800.0, dated=DAY)
CHOICES = (
    Option("salt", "Salt finish", "Acabado de sal", (Change("finish", to="salt"),)),
    Option("fiber", "Fibre", "Fibra", (Change("steel", to="fiber"),)),
)
TAXED = "tax,local tax,on price,%,8.25,,,,,,2026-03-01,,invented,local tax,impuesto local\n"
FIGURE = re.compile(r"(?<![\d.,])\d[\d,]*\.\d\d(?!\d)")


@cache
def book() -> Book:
    text = files("slabwright").joinpath("money", "demo_book.csv").read_text(encoding="utf-8")
    return load_book(text + TAXED, name="prices.csv")


@cache
def planned(job: str) -> Plan:
    return make(read_notes(EXAMPLES / job / "job.yaml"), name=job)


def taken(plan: Plan) -> PlanQuantities:
    places = {name: (p.x, p.y) for name, p in plan.survey.points.items()}
    return take_off(plan.shaped, plan.built, plan.ground, plan.notes, places)


def again(notes: Notes) -> PlanQuantities:
    return taken(make(notes))


@cache
def priced(job: str) -> Priced:
    plan = planned(job)
    quantities = taken(plan)
    made = estimate(quantities, book(), terms=TERMS)
    offered = options(plan.notes, made, CHOICES, replan=again, book=book(), terms=TERMS)
    could = risk(quantities, made, book(), samples=500)
    return Priced(made, could, offered, book().name, 0, plan.notes.units)


@cache
def quoted(job: str, place: str = "US-CA") -> Quote:
    plan, owner = planned(job), priced(job)
    return quote(
        owner.made,
        plan.shaped,
        plan.notes,
        number="17",
        dated=DAY,
        business=Party("Alder Concrete", ("12 Elm Street", "Licence 000 000")),
        customer=Party("R. Okafor"),
        offered=owner.options,
        place=place,
        allowances=(Allowance(Both("a drain", "un dren"), Decimal("321.00")),),
    )


@cache
def papers(job: str, lang: str) -> dict[str, bytes]:
    return dict(quote_files(quoted(job), planned(job), paper="letter", lang=lang))


@cache
def owners(job: str, lang: str) -> dict[str, bytes]:
    return dict(owner_files(priced(job), dated=DAY, paper="letter", lang=lang))


def printed(pdf: bytes) -> str:
    """All words of a PDF in one line, with what it says of itself."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    about = " ".join(str(value) for value in (reader.metadata or {}).values())
    return re.sub(r"\s+", " ", plain(" ".join(page.extract_text() for page in reader.pages))) + about


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", plain(text))


def secrets(job: str) -> set[Decimal]:
    """Every figure that only the owner may see."""
    made, could = priced(job).made, priced(job).risk
    found = {amount for line in made.lines for amount in (line.cost, line.price)}
    found |= {made.direct, made.full_cost, made.price - made.full_cost, could.contingency}
    found |= {step.amount for step in made.steps} | {step.base for step in made.steps}
    found |= {could.cost.low, could.cost.middle, could.cost.eighty, could.cost.high, could.cost.mean}
    found |= {o.cost_difference for o in priced(job).options if o.cost_difference is not None}
    return {amount.quantize(Decimal("0.01")) for amount in found} - shown_to_all(job)


def shown_to_all(job: str) -> set[Decimal]:
    """Every figure of money that a customer is meant to see."""
    one = quoted(job)
    found = {one.price, one.total, Decimal("1000.00")} | {line.price for line in one.lines}
    found |= {tax.amount for tax in one.taxes} | {payment.amount for payment in one.payments}
    found |= {abs(option.difference) for option in one.options} | {a.amount for a in one.allowances}
    return {amount.quantize(Decimal("0.01")) for amount in found}


def figures_in(text: str) -> set[Decimal]:
    return {Decimal(part.replace(",", "")) for part in FIGURE.findall(text)}


# --- what must not be seen ------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_the_search_finds_what_it_looks_for(job: str) -> None:
    hidden = secrets(job)
    assert len(hidden) > 40
    seen = figures_in(printed(owners(job, "en")["owner-estimate.pdf"]))
    made = priced(job).made
    assert {line.cost for line in made.lines} | {made.direct, made.full_cost} <= seen


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_no_cost_stands_on_a_sheet_of_the_customer(job: str, lang: str) -> None:
    hidden = secrets(job)
    for name, pdf in papers(job, lang).items():
        text = printed(pdf)
        assert figures_in(text) & hidden == set(), name
        # and no sum of money at all but those that are meant for the customer
        money = {Decimal(m.replace(",", "")) for m in re.findall(r"\$([\d,]+\.\d\d)", text)}
        assert money <= shown_to_all(job), name
    assert "$" not in printed(papers(job, lang)["care.pdf"])


@pytest.mark.parametrize("lang", LANGS)
def test_no_word_of_the_owner_stands_on_a_sheet_of_the_customer(lang: str) -> None:
    text = squeezed(printed(papers("side-walk", lang)["quote.pdf"])).lower()
    for said in ("margin", "markup", "overhead", "contingency", "profit", "margen", "recargo", "ganancia"):
        assert said not in text
    assert squeezed(book().name) not in text


def test_the_crews_packet_holds_no_money() -> None:
    hidden = secrets("side-walk") | shown_to_all("side-walk") - {Decimal("1000.00")}
    for name, content in sheets_of(planned("side-walk"), date="2026-05-04"):
        if name.endswith(".pdf"):
            text = printed(content)
            assert "$" not in text
            assert figures_in(text) & {s for s in hidden if s > 100} == set()
        elif name.endswith(".csv"):
            assert "$" not in content.decode()


def test_the_crews_packet_does_not_so_much_as_load_the_money() -> None:
    job = EXAMPLES / "side-walk" / "job.yaml"
    code = (
        "import sys; from pathlib import Path; from slabwright.notes.reader import read_notes;"
        "from slabwright.plan import make, sheets_of;"
        f"n = sum(1 for _ in sheets_of(make(read_notes(Path({str(job)!r})))));"
        "print(n, *[m for m in sys.modules if m.startswith('slabwright.money') or '.money_' in m])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    count, *loaded = done.stdout.split()
    assert int(count) > 10
    assert loaded == []


# --- the quote ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_a_quote_says_all_that_its_customer_needs(job: str, lang: str) -> None:
    from slabwright.money.paper import all_text, quote_paper

    one, text = quoted(job), squeezed(printed(papers(job, lang)["quote.pdf"]))
    said = all_text(quote_paper(one, lang))
    for part in re.split(r"[\n\t]", said):
        assert squeezed(part).removesuffix(":") in text or ":" in part, part
    until = {"en": "June 3, 2026", "es": "3 de junio de 2026"}[lang]
    assert squeezed(until) in text
    for amount in shown_to_all(job):
        assert write_money(amount, "USD") in text, amount
    assert squeezed(words()["money-local"][lang]) in text


@pytest.mark.parametrize("job", JOBS)
def test_the_figures_on_a_quote_add_up(job: str) -> None:
    one = quoted(job)
    assert sum(line.price for line in one.lines) == one.price
    assert one.price + sum(tax.amount for tax in one.taxes) == one.total
    assert sum(payment.amount for payment in one.payments) == one.total
    assert one.payments[0].amount <= min(one.total / 10, Decimal(1000))


def test_a_deposit_at_the_limit_keeps_its_round_share() -> None:
    # a tenth of the total is rounded down to the cent, so it is not above a limit of a tenth
    assert quoted("side-walk").total < 10_000
    assert quoted("side-walk").payments[0].share == Decimal("0.10")


@pytest.mark.parametrize("paper", ["letter", "tabloid", "a4", "a3"])
@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_no_label_of_the_quotes_plan_stands_on_another(job: str, lang: str, paper: str) -> None:
    pages = quote_pages(quoted(job), planned(job), paper=paper, lang=lang)
    made = compose_pages(pages, Strip("-"), system=planned(job).notes.units, lang=lang)
    assert len(made.pictures) == 1
    assert [overlaps(p) for p in made.pictures] == [[]]
    assert [p.left_out for p in made.pictures] == [()]


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_a_quote_is_two_sheets_and_the_plan_stands_on_the_first(job: str, lang: str) -> None:
    reader = pypdf.PdfReader(io.BytesIO(papers(job, lang)["quote.pdf"]))
    assert len(reader.pages) == 2
    first = squeezed(reader.pages[0].extract_text())
    for slab in planned(job).shaped.slabs:
        assert squeezed(slab.spec.name) in first
    assert squeezed(words()["money-quote-plan"][lang]) in first


@pytest.mark.parametrize("slabs", [1, 6])
@pytest.mark.parametrize("lines", [0, 4])
@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_a_long_letterhead_and_a_long_price_leave_the_plan_its_sheet(
    paper: str, lines: int, slabs: int
) -> None:
    base = quoted("corner-patio")
    party = Party("Alder Concrete", tuple(f"line {n} of the letterhead" for n in range(lines)))
    made = replace(base, business=party, lines=base.lines * slabs)
    for lang in LANGS:
        pdf = dict(quote_files(made, planned("corner-patio"), paper=paper, lang=lang))["quote.pdf"]
        first, *rest = [squeezed(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
        assert len(rest) == 1
        assert squeezed(words()["money-lines-mean"][lang]) in first


def test_every_figure_that_a_line_takes_has_words() -> None:
    room = Path(slabwright.__file__).parent / "money"
    code = "".join((room / f"{name}.py").read_text() for name in ("takeoff", "pricing", "estimating"))
    taken_from = set(re.findall(r'"((?:build|slabs|ground|notes)\.[a-z_.]+|job terms)"', code))
    assert len(taken_from) > 20
    line = priced("side-walk").made.lines[0]
    for takes in taken_from:
        en, es = (takes_text(replace(line, takes=takes), lang) for lang in LANGS)
        assert takes not in (en, es)
        assert en != es


def test_the_owner_reads_what_an_option_stands_on_and_what_cannot_be_had() -> None:
    salt, fiber = priced("side-walk").options
    on_top, gone = replace(fiber, against=("salt",)), replace(fiber, key="gone", difference=None)
    offered = (salt, on_top, gone)
    assert [option_name(one, offered, "en") for one in offered] == [
        "Salt finish",
        "Fibre (on top of: Salt finish)",
        "Fibre: cannot be had, see what was found",
    ]
    assert option_name(on_top, offered, "es") == "Fibra (además de: Acabado de sal)"


def test_a_quote_in_spanish_has_no_english_of_ours() -> None:
    text = printed(papers("side-walk", "es")["quote.pdf"]) + printed(papers("side-walk", "es")["care.pdf"])
    for english in ("Price", "Options", "Conditions", "Payments", "thick", "finish", "Looking", "May 4"):
        assert english not in text, english
    assert "4 de mayo de 2026" in text


def test_a_metric_job_is_quoted_in_metres() -> None:
    text = printed(papers("quay-apron", "en")["quote.pdf"])
    assert "m²" in text or "m2" in text
    assert "ft" not in re.findall(r"[a-z]+", text)


def test_a_quote_that_is_not_ready_says_so_on_every_sheet() -> None:
    made = replace(quoted("side-walk"), ready=False)
    for lang, said in (("en", "NOT READY: do not send"), ("es", "NO ESTÁ LISTA: no la envíe")):
        pdf = dict(quote_files(made, planned("side-walk"), paper="letter", lang=lang))["quote.pdf"]
        for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
            assert squeezed(said) in squeezed(page.extract_text())


@pytest.mark.parametrize("lang", LANGS)
def test_the_care_sheet_says_when(lang: str) -> None:
    pages = care_pages("a walk", system=planned("side-walk").notes.units, paper="letter", lang=lang)
    assert len(pages) == 1
    text = printed(papers("side-walk", lang)["care.pdf"])
    days = {"en": "days", "es": "días"}[lang]
    assert all(f"{count} {days}" in text for count in (2, 7, 28))


# --- the owner's sheets ---------------------------------------------------------------------------------


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_the_owners_tables_add_up_in_every_file(job: str, lang: str) -> None:
    made = priced(job).made
    rows = list(csv.reader(io.StringIO(owners(job, lang)["owner-estimate-lines.csv"].decode())))
    cost = rows[0].index({"en": "Cost", "es": "Costo"}[lang])
    assert sum(Decimal(row[cost]) for row in rows[1:-1]) == Decimal(rows[-1][cost]) == made.direct
    workbook = openpyxl.load_workbook(io.BytesIO(owners(job, lang)["owner-estimate.xlsx"]))
    sheet = list(workbook.worksheets[1].iter_rows(values_only=True))
    total = sum(Decimal(str(row[cost])) for row in sheet[1:-1])
    assert total.quantize(Decimal("0.01")) == made.direct
    assert len(workbook.worksheets) == len(owner_tables(priced(job), lang))


@pytest.mark.parametrize("job", JOBS)
def test_the_way_from_cost_to_price_adds_up_as_printed(job: str) -> None:
    made = priced(job).made
    table = owner_tables(priced(job), "en")[0]
    rows = [(row[0], row[-1]) for row in table.rows]
    names = [name for name, _ in rows]
    direct, full, price = (names.index(n) for n in ("Direct cost", "Full cost", "Price, before tax"))
    amounts = [amount for _, amount in rows]
    assert sum(amounts[:direct]) == amounts[direct] == made.direct
    assert sum(amounts[direct:full]) == amounts[full] == made.full_cost
    assert sum(amounts[full:price]) == amounts[price] == made.price
    assert table.total is not None
    assert sum(amounts[price:]) == table.total[-1] == made.total


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_the_owner_sees_price_cost_margin_and_markup(job: str, lang: str) -> None:
    made, text = priced(job).made, squeezed(printed(owners(job, lang)["owner-estimate.pdf"]))
    for amount in (made.price, made.full_cost, made.price - made.full_cost, made.total, made.direct):
        assert write_money(amount, "USD") in text
    assert "15%" in text  # the book's markup
    assert "13%" in text  # which is 15 / 115 of the price
    assert squeezed(words()["money-owner-note"][lang]) in text


@pytest.mark.parametrize("job", JOBS)
def test_what_the_book_names_in_spanish_is_called_so(job: str) -> None:
    owner = priced(job)
    lines_ = [line for line in owner.made.lines if line.code != "drive"]  # that one has a name of its own
    named = {line.what: line.what_es for line in lines_ if line.what_es}
    written = "\n".join(
        str(cell)
        for table in owner_tables(owner, "es")
        for row in file_rows(table, system=owner.system, lang="es")
        for cell in row
    )
    assert len(named) > 8
    for english, spanish in named.items():
        assert spanish in written
        assert english not in written.split("\n")
    for step in owner.made.steps:
        assert not step.name or step.name_es in written
    quote_es = printed(papers(job, "es")["quote.pdf"])
    assert "impuesto local, 8.25 %" in quote_es
    assert "local tax" not in quote_es
    assert "local tax, 8.25 %" in printed(papers(job, "en")["quote.pdf"])


def test_the_owners_pages_are_few_and_fit() -> None:
    reader = pypdf.PdfReader(io.BytesIO(owners("side-walk", "en")["owner-estimate.pdf"]))
    assert len(reader.pages) == len(owner_pages(priced("side-walk"), paper="letter"))


def test_with_several_slabs_each_line_of_work_names_its_own() -> None:
    made = priced("side-walk").made
    name = made.by_slab[0][0]
    two = replace(made, by_slab=((name, made.price), ("pad", Decimal(0))))
    column = [row[-1] for row in lines(two, "en", {}).rows]
    assert column.count(name) > 10
    # what belongs to the job as a whole, as the way there, names none
    assert None in column
    assert {row[-1] for row in lines(made, "en", {}).rows} == {None}


def test_what_was_found_stands_below_the_lines() -> None:
    owner = priced("side-walk")
    first = find("money", "no-profit", where="book", book="book")
    pages = owner_pages(replace(owner, made=replace(owner.made, findings=(first,))), paper="letter")
    assert len(pages) == 2
    assert [type(block) for block in pages[1].blocks] == [TableBlock, FindingBlock]


def test_an_estimate_with_a_hole_says_so_to_its_owner() -> None:
    bare = load_book("group,code,condition,unit,value\nlabour,leader,,h,30\n", name="bare.csv")
    quantities = taken(planned("side-walk"))
    made = estimate(quantities, bare)
    owner = Priced(made, risk(quantities, made, bare, samples=200), (), "bare.csv")
    pdf = dict(owner_files(owner, dated=DAY, paper="letter"))["owner-estimate.pdf"]
    assert not made.complete
    assert "INCOMPLETE" in printed(pdf)


@pytest.mark.parametrize("lang", LANGS)
def test_the_same_gives_the_same_bytes(lang: str) -> None:
    assert dict(owner_files(priced("side-walk"), dated=DAY, paper="letter", lang=lang)) == owners(
        "side-walk", lang
    )
    files_again = dict(quote_files(quoted("side-walk"), planned("side-walk"), paper="letter", lang=lang))
    assert files_again == papers("side-walk", lang)


# --- files and pictures ---------------------------------------------------------------------------------


def test_files_hold_numbers_where_pages_hold_words() -> None:
    owner = priced("side-walk")
    for table in owner_tables(owner, "en"):
        for row in file_rows(table, system=owner.system, lang="en"):
            assert not any(isinstance(cell, str) and cell.startswith("$") for cell in row)


@pytest.mark.parametrize("lang", LANGS)
def test_the_customer_s_plan_is_told_in_words(lang: str) -> None:
    plan = planned("side-walk")
    drawn = customer_drawing(plan, lang)
    for said in (plan.notes.title, "side walk", "96 ft2", "3'-0\"", "old patio, gate walk"):
        assert said in drawn.alt
    made = svg(compose(drawn, width=150.0, height=120.0, system=plan.notes.units, lang=lang))
    assert f"aria-label={quoteattr(drawn.alt)}" in made
    assert "side-walk - quote" not in made


def test_no_north_is_drawn_that_nobody_wrote() -> None:
    plan = planned("side-walk")
    drawn = customer_drawing(plan, "en")
    for place, arrows in ((plan.notes.place, 1), (Place(frost="severe"), 0)):
        paper = compose(
            drawn, width=150.0, height=120.0, system=plan.notes.units, lang="en", bearing=place.bearing
        )
        assert [one.text for one in paper.letters].count("N") == arrows
