"""Estimate with risk of a house job, the quote as PDF, loading a price book: each beside its limit or peer.

.venv/bin/python bench/bench_money.py
"""

from __future__ import annotations

import csv
import io
import itertools
import re
import statistics
import sys
import time
import zipfile
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

import numpy as np
import openpyxl

sys.path.insert(0, str(Path(__file__).parent.parent))

from slabwright import plan
from slabwright.money.book import load_book
from slabwright.money.book_files import book_csv, book_xlsx
from slabwright.money.chances import risk
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, JobTerms, PlanQuantities, Risk
from slabwright.money.wanted import options_of
from slabwright.notes.reader import read_notes
from slabwright.priced import PricedJob, demo_book, party_of, price_job, quantities_of, quote_job

EXAMPLES = Path(__file__).parent.parent / "examples"
SAMPLES, LINES = 10_000, 5_000
ESTIMATE_LIMIT, BOOK_LIMIT, QUOTE_LIMIT = 150.0, 100.0, 400.0  # ms
DAY = date(2026, 4, 1)
COUNT = itertools.count(1)
TERMS = JobTerms(distance=20_000.0, drive=1800.0, dated=DAY)


def spent(work: Callable[[], object], times: int = 25) -> tuple[float, float]:
    """Least and median wall time [ms], after one run to warm up."""
    work()
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(1000 * (time.perf_counter() - start))
    return min(took), statistics.median(took)


def show(name: str, work: Callable[[], object], times: int = 25) -> float:
    """Print one line and return the least [ms]: what the work takes when nothing else runs."""
    least, median = spent(work, times)
    print(f"{name:58s} {least:8.2f} ms least {median:8.2f} median")
    return least


def both(quantities: PlanQuantities, book: Book) -> Risk:
    """Estimate a job and draw its risk."""
    return risk(quantities, estimate(quantities, book, terms=TERMS), book, samples=SAMPLES)


def quote_pdfs(priced: PricedJob) -> dict[str, bytes]:
    """Set the quote of a priced job, and its care sheet; never the same twice: the typesetter remembers."""
    us, number = party_of(f"Kestrel Flatwork {next(COUNT)}; 1 Ford Lane"), str(next(COUNT))
    return dict(quote_job(priced, dated=DAY, business=us, number=number, lang="es")[1])


def jobs() -> bool:
    """Estimate and risk of the example jobs and their quotes as PDF; True within the limits."""
    book, worst, slowest = demo_book(), 0.0, 0.0
    for path in sorted(EXAMPLES.glob("*/job.yaml")):
        made = plan.make(read_notes(path), name=path.parent.name)
        take = partial(quantities_of, made)
        price = partial(estimate, take(), book, terms=TERMS)
        wanted = options_of(["finish=salt", "thicker=1/2 in"], made.notes.units)
        show(f"{made.name}: take-off", take)
        show(f"{made.name}: estimate of {len(price().lines)} lines", price)
        worst = max(worst, show(f"{made.name}: estimate, risk of {SAMPLES}", partial(both, take(), book)))
        priced = price_job(made, book, terms=TERMS, choices=wanted)
        took = show(f"{made.name}: quote and care sheet as PDF", partial(quote_pdfs, priced), 9)
        slowest = max(slowest, took)
        show(f"{made.name}: two options planned anew", partial(price_job, made, book, choices=wanted), 3)
    rng = np.random.default_rng(1)
    floor = show("peer: 30 x 10,000 beta draws of numpy alone", lambda: rng.beta(2.3, 3.7, (30, SAMPLES)))
    times = worst / floor
    print(f"worst estimate and risk {worst:.1f} ms = {times:.1f} x the draws; limit {ESTIMATE_LIMIT:.0f} ms")
    print(f"slowest quote, its care sheet with it, {slowest:.1f} ms; limit {QUOTE_LIMIT:.0f} ms")
    return worst < ESTIMATE_LIMIT and slowest < QUOTE_LIMIT


def as_saved(data: bytes) -> bytes:
    """Return a workbook as spreadsheets save it: texts in a part of their own, named by number."""
    texts: dict[str, int] = {}

    def named(found: re.Match[str]) -> str:
        return f'<c r="{found[1]}" t="s"><v>{texts.setdefault(found[2], len(texts))}</v></c>'

    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name.endswith("sheet1.xml"):
                inline = r'<c r="(\w+)" t="inlineStr"><is><t>([^<]*)</t></is></c>'
                part = re.sub(inline, named, part.decode()).encode()
            new.writestr(name, part)
        items = "".join(f"<si><t>{text}</t></si>" for text in texts)
        space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
        new.writestr("xl/sharedStrings.xml", f'<sst xmlns="{space}">{items}</sst>')
    return out.getvalue()


def by_openpyxl(data: bytes) -> list[tuple[object, ...]]:
    """Read the same workbook with a general reader of spreadsheets."""
    sheet = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True).worksheets[0]
    return list(sheet.iter_rows(values_only=True))


def books() -> bool:
    """Loading a large book; True within the limit."""
    head = "group,code,condition,unit,value,low,high,least,pack,currency,date,supplier,note,name"
    rows = [head] + [
        f"material,thing {n},,yd3,{100 + n / 100:.2f},{90 + n / 100:.2f},{130 + n / 100:.2f},,,USD,"
        f"2026-03-01,Invented Yard,invented price,Thing {n}"
        for n in range(LINES)
    ]
    text = "\n".join(rows)
    book = load_book(text)
    if len(book.lines) != LINES or book.findings:
        sys.exit("the book did not load whole")
    took = show(f"price book of {LINES} lines, CSV", lambda: load_book(text))
    peer = show("peer: csv module alone, same text", lambda: list(csv.reader(io.StringIO(text))))
    xlsx = book_xlsx(book)
    saved = as_saved(xlsx)
    if len(load_book(saved).lines) != LINES:
        sys.exit("the workbook did not load whole")
    ours = show(f"price book of {LINES} lines, XLSX, texts in their cells", lambda: load_book(xlsx))
    shared = show(f"price book of {LINES} lines, XLSX, texts named by number", lambda: load_book(saved))
    other = show("peer: openpyxl alone, same workbook, read only", lambda: by_openpyxl(xlsx), 3)
    show(f"price book of {LINES} lines written as CSV", lambda: book_csv(book), 5)
    print(f"CSV book {took:.1f} ms = {took / peer:.1f} x the csv module; limit {BOOK_LIMIT:.0f} ms")
    worst = max(ours, shared)
    print(f"XLSX book {worst:.1f} ms = {worst / other:.2f} x openpyxl; limit {BOOK_LIMIT:.0f} ms")
    return max(took, worst) < BOOK_LIMIT


if __name__ == "__main__":
    fine = [jobs(), books()]
    if not all(fine):
        sys.exit("slower than it must be")
