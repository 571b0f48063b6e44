"""Estimate with risk of a house job, loading a price book, a quote in words: each beside its target or peer.

.venv/bin/python bench/bench_money.py
"""

from __future__ import annotations

import csv
import io
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date
from functools import partial
from importlib.resources import files
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from slabwright import plan
from slabwright.money.book import load_book
from slabwright.money.book_files import book_csv, book_xlsx
from slabwright.money.chances import risk
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, JobTerms, PlanQuantities, Risk
from slabwright.money.model_paper import Party
from slabwright.money.paper import quote_paper
from slabwright.money.quoting import quote
from slabwright.money.takeoff import take_off
from slabwright.notes.reader import read_notes

EXAMPLES = Path(__file__).parent.parent / "examples"
SAMPLES, LINES = 10_000, 5_000
ESTIMATE_LIMIT, BOOK_LIMIT = 150.0, 100.0  # ms
DAY = date(2026, 4, 1)
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


def jobs() -> bool:
    """Estimate and risk of the example jobs; True within the limit."""
    text = files("slabwright").joinpath("money", "demo_book.csv").read_text(encoding="utf-8")
    book, worst = load_book(text, name="demo_book.csv"), 0.0
    for path in sorted(EXAMPLES.glob("*/job.yaml")):
        made = plan.make(read_notes(path), name=path.parent.name)
        places = {name: (p.x, p.y) for name, p in made.survey.points.items()}
        take = partial(take_off, made.shaped, made.built, made.ground, made.notes, places)
        price = partial(estimate, take(), book, terms=TERMS)
        priced = price()
        show(f"{made.name}: take-off", take)
        show(f"{made.name}: estimate of {len(priced.lines)} lines", price)
        worst = max(worst, show(f"{made.name}: estimate, risk of {SAMPLES}", partial(both, take(), book)))
        parties = {"business": Party("Kestrel Flatwork"), "customer": Party("customer")}
        offer = quote(priced, made.shaped, made.notes, number="1", dated=DAY, **parties)
        show(f"{made.name}: quote in words", partial(quote_paper, offer, "es"))
    rng = np.random.default_rng(1)
    floor = show("peer: 30 x 10,000 beta draws of numpy alone", lambda: rng.beta(2.3, 3.7, (30, SAMPLES)))
    times = worst / floor
    print(f"worst estimate and risk {worst:.1f} ms = {times:.1f} x the draws; limit {ESTIMATE_LIMIT:.0f} ms")
    return worst < ESTIMATE_LIMIT


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
    show(f"price book of {LINES} lines, XLSX (read by openpyxl)", lambda: load_book(xlsx), 3)
    show(f"price book of {LINES} lines written as CSV", lambda: book_csv(book), 5)
    print(f"CSV book {took:.1f} ms = {took / peer:.1f} x the csv module; limit {BOOK_LIMIT:.0f} ms")
    return took < BOOK_LIMIT


if __name__ == "__main__":
    fine = [jobs(), books()]
    if not all(fine):
        sys.exit("slower than it must be")
