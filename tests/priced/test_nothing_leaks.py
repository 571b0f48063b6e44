"""Cost, rates and margin stay with the owner: every file for the crew and for the customer is searched.

The book is marked: its suppliers, notes and names carry words that stand nowhere else, its prices figures
that nothing else comes to. The search opens every kind of file, and is shown to find what it looks for.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path

import icalendar
import openpyxl
import pypdf
import pytest

from slabwright import plan
from slabwright.measure import Both
from slabwright.money.kept import Kept, amounts_of, invoices_of, kept_text
from slabwright.money.model import Book, JobTerms
from slabwright.money.wanted import options_of
from slabwright.notes.reader import read_notes
from slabwright.plan import sheets_of
from slabwright.priced import (
    PricedJob,
    bill_job,
    calendar_of,
    change_job,
    demo_book,
    owner_files,
    owner_job,
    price_job,
    quote_job,
)
from slabwright.sheets.lettering import plain

EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = ("corner-patio", "quay-apron", "side-walk")
LANGS = ("en", "es")
DAY = date(2026, 5, 4)
WORDS = Both("Rock at the gate", "Roca junto a la puerta")
SUPPLIER, NOTE, NAME, BOOK = "quillfeather", "brambleknot", "zorbelwick", "grumbledale"
OWNERS = (
    *("margin", "markup", "overhead", "contingency", "profit", "payroll", "wage", "burden"),
    *("margen", "recargo", "ganancia", "imprevistos", "nómina", "sueldo", "gastos generales"),
)
FIGURE = re.compile(r"(?<![\d.,\-+])[\d,]*\d\.\d+(?![\d.])")
TAGS = re.compile(r"<[^>]*>")
LEAST = Decimal(100)  # smaller figures may stand in a plan for something else


@cache
def marked_book() -> Book:
    """The demo book with marked words, prices a little off so that no sum is round, a tax on the price."""
    demo = demo_book()
    lines = {}
    for n, (key, line) in enumerate(demo.lines.items()):
        value = line.value + Decimal("0.37") + Decimal(n % 7) / 100 if line.group != "term" else line.value
        value = line.value if line.group in ("crew", "burden", "tax") else value
        named = {"supplier": SUPPLIER, "note": NOTE, "name": f"{NAME} {n}", "name_es": f"{NAME} {n}"}
        bounds = {"low": None, "high": None} if value != line.value else {}
        lines[key] = replace(line, value=value, book=BOOK, **named, **bounds)
    rate = lines[("rate", "dig", "loam")]
    lines[rate.group, rate.code, rate.condition] = replace(rate, low=rate.value / 2, high=rate.value * 2)
    tax = replace(
        lines["tax", "sales tax", "on material"],
        code="local tax",
        condition="on price",
        name_es="impuesto local",
    )
    lines["tax", "local tax", "on price"] = tax
    return Book(BOOK, demo.currency, lines)


@cache
def priced(job: str) -> PricedJob:
    made = plan.make(read_notes(EXAMPLES / job / "job.yaml"), name=job)
    terms = JobTerms(distance=20_000.0, drive=1800.0, dated=DAY)
    wanted = options_of(["finish=salt", "thicker=1/2 in after finish=salt", "steel=fiber"], made.notes.units)
    return price_job(made, marked_book(), terms=terms, choices=wanted)


@cache
def customers(job: str, lang: str) -> tuple[Kept, dict[str, bytes]]:
    """Every file that goes to the customer, from the quote to the last bill."""
    one = priced(job)
    quote, files = quote_job(one, dated=DAY, place="US-CA", lang=lang)
    made = dict(files)
    made["quote.ics"] = calendar_of(one, DAY, stamped=DAY, lang=lang)
    kept = Kept(quote)
    price = Decimal("251.19")
    kept, _, files = change_job(kept, reason=WORDS, scope=WORDS, price=price, days=1, dated=DAY, lang=lang)
    made.update(files)
    half = dict.fromkeys([line.slab for line in quote.lines], Decimal("0.5"))
    kept, _, files = bill_job(kept, half, dated=DAY, held=Decimal("0.1"), lang=lang)
    made.update(files)
    kept, _, files = bill_job(kept, final=True, dated=DAY, lang=lang)
    made.update(files)
    made["quote.json"] = kept_text(kept).encode()
    return kept, made


@cache
def crews(job: str, lang: str) -> dict[str, bytes]:
    return dict(sheets_of(priced(job).plan, date="2026-05-04", lang=lang))


@cache
def owners(job: str, lang: str) -> dict[str, bytes]:
    return dict(owner_files(owner_job(priced(job), lang=lang), priced(job), lang=lang))


def text_of(name: str, content: bytes) -> str:
    """All words and figures of a file of any kind that is written; a kind that is not known here fails."""
    match name.rpartition(".")[2]:
        case "pdf":
            reader = pypdf.PdfReader(io.BytesIO(content))
            about = " ".join(str(value) for value in (reader.metadata or {}).values())
            files = " ".join(reader.attachments)
            text = " ".join(page.extract_text() for page in reader.pages)
            return re.sub(r"\s+", " ", f"{plain(text)} {about} {files}")
        case "xlsx":
            book = openpyxl.load_workbook(io.BytesIO(content))
            cells = [cell for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row]
            notes = [c.comment.text for s in book for row in s.iter_rows() for c in row if c.comment]
            about = [str(getattr(book.properties, one)) for one in ("creator", "title", "description")]
            return " ".join(
                str(part) for part in (*cells, *notes, *about, *book.sheetnames) if part is not None
            )
        case "svg":
            text = content.decode()
            return f"{plain(TAGS.sub(' ', text))} {text}"
        case "ics":
            events = icalendar.Calendar.from_ical(content).walk("VEVENT")
            return " ".join(str(value) for event in events for value in event.values())
        case "json":
            return " ".join(scalars(json.loads(content)))
        case "csv":
            return " ".join(cell for row in csv.reader(io.StringIO(content.decode())) for cell in row)
        case "dxf":
            return content.decode()
    raise AssertionError(f"nothing here opens {name}")


def scalars(data: object) -> Iterator[str]:
    """Every key and value of JSON data, as text."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield key
            yield from scalars(value)
    elif isinstance(data, list):
        for value in data:
            yield from scalars(value)
    else:
        yield str(data)


def cents(found: Iterator[Decimal] | set[Decimal]) -> set[Decimal]:
    return {abs(amount).quantize(Decimal("0.01")) for amount in found}


def secrets(job: str) -> set[Decimal]:
    """Every sum of the estimate, its risk and its options that the customer is not told."""
    owner = owner_job(priced(job))
    made = owner.made
    found = cents(
        amounts_of((made.lines, made.steps, made.direct, made.full_cost, made.price - made.full_cost))
    )
    found |= cents(amounts_of((owner.risk.cost, owner.risk.contingency)))
    found |= cents(amounts_of(tuple((o.cost_difference, o.lines) for o in owner.options)))
    found |= cents({line.value for line in marked_book().lines.values()})
    told = cents(amounts_of((customers(job, "en")[0], invoices_of(customers(job, "en")[0]))))
    return {amount for amount in found - told if amount >= LEAST and amount != amount.to_integral_value()}


def figures_in(text: str) -> set[Decimal]:
    return {Decimal(part.replace(",", "")).quantize(Decimal("0.01")) for part in FIGURE.findall(text)}


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_the_search_finds_it_all_in_the_owner_s_files(job: str, lang: str) -> None:
    hidden = secrets(job)
    assert len(hidden) > 20
    files = {name: text_of(name, content) for name, content in owners(job, lang).items()}
    assert {name.rpartition(".")[2] for name in files} == {"pdf", "csv", "xlsx"}
    sums = {line.cost for line in priced(job).made.lines if line.cost >= LEAST} & hidden
    assert sums
    for name in ("owner-estimate.pdf", "owner-estimate-lines.csv", "owner-estimate.xlsx"):
        assert sums <= figures_in(files[name]), name
        assert NAME in files[name]
        assert BOOK in files[name]
    words = files["owner-estimate.pdf"].lower()
    assert sum(word in words for word in OWNERS) >= 4


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_no_file_of_the_customer_tells_what_is_the_owner_s(job: str, lang: str) -> None:
    hidden, (_, files) = secrets(job), customers(job, lang)
    assert set(files) == {
        *("quote.pdf", "care.pdf", "quote.ics", "quote.json"),
        *("change-1.pdf", "invoice-1.pdf", "invoice-2.pdf"),
    }
    for name, content in files.items():
        text = text_of(name, content)
        assert figures_in(text) & hidden == set(), name
        low = text.lower()
        for word in (SUPPLIER, NOTE, NAME, BOOK, *OWNERS):
            assert word not in low, (name, word)
    assert "local tax" in text_of("quote.json", files["quote.json"])  # its name is the customer's to see


@pytest.mark.parametrize(("job", "lang"), [*((job, "en") for job in JOBS), ("side-walk", "es")])
def test_no_file_of_the_crew_holds_money(job: str, lang: str) -> None:
    kept = customers(job, lang)[0]
    hidden = secrets(job) | {a for a in cents(amounts_of((kept, invoices_of(kept)))) if a >= LEAST and a % 1}
    files = crews(job, lang)
    kinds = {name.rpartition(".")[2] for name in files}
    assert {"pdf", "json", "svg", "dxf", "csv", "xlsx"} <= kinds
    for name, content in files.items():
        text = text_of(name, content)
        if not name.endswith((".dxf", ".svg")):  # of places, not of words
            assert figures_in(text) & hidden == set(), name
        low = text.lower()
        for word in (SUPPLIER, NOTE, NAME, BOOK, "usd", "markup", "payroll", "sueldo", "ganancia"):
            assert word not in low, (name, word)
        if not name.endswith(".dxf"):  # whose header variables begin with $
            assert "$" not in text, name
