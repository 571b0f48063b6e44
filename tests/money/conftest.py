"""Planned example jobs and the invented price book, for the tests of this room."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from slabwright import plan
from slabwright.money.estimating import estimate
from slabwright.money.model import Amount, Book, Estimate, JobTerms, Need, PlanQuantities, Work
from slabwright.notes.models import Notes
from slabwright.notes.reader import read_notes
from slabwright.priced import demo_book, plan_again, quantities_of
from slabwright.result import Plan

EXAMPLES = Path(__file__).parents[2] / "examples"
TERMS = JobTerms(distance=20_000.0, drive=1800.0, dated=date(2026, 4, 1))
JOBS = ("side-walk", "corner-patio", "quay-apron")


@cache
def _planned(name: str) -> Plan:
    return plan.make(read_notes(EXAMPLES / name / "job.yaml"), name=name)


def replan(notes: Notes) -> PlanQuantities:
    return quantities_of(plan_again(notes))


@pytest.fixture(scope="session")
def book() -> Book:
    return demo_book()


@pytest.fixture(scope="session", params=JOBS)
def made(request: pytest.FixtureRequest) -> Plan:
    return _planned(request.param)


@pytest.fixture(scope="session")
def walk() -> Plan:
    return _planned("side-walk")


@pytest.fixture(scope="session")
def taken(made: Plan) -> PlanQuantities:
    return quantities_of(made)


@pytest.fixture(scope="session")
def priced(taken: PlanQuantities, book: Book) -> Estimate:
    return estimate(taken, book, terms=TERMS)


@pytest.fixture(scope="session")
def terms() -> JobTerms:
    return TERMS


@pytest.fixture(scope="session")
def again() -> Callable[[Notes], PlanQuantities]:
    return replan


@pytest.fixture
def small() -> Callable[..., PlanQuantities]:
    """A job of two slabs made by hand: 10 m3 of concrete, 100 m2 to finish."""

    def make(**changes: Any) -> PlanQuantities:
        values: dict[str, Any] = {
            "title": "two slabs",
            "areas": (("a", 60.0), ("b", 40.0)),
            "needs": (
                Need(
                    "plant",
                    "concrete",
                    "",
                    (Amount("volume", 10.0),),
                    "by hand",
                    (("a", 6.0), ("b", 4.0)),
                ),
            ),
            "work": (
                Work("finish", "broom", Amount("area", 60.0), "a", "by hand"),
                Work("finish", "broom", Amount("area", 40.0), "b", "by hand"),
            ),
            "people": 2,
            "need": 9.8,
            "need_sd": 0.2,
            "order": 10.0,
            "loads": (6.0, 4.0),
        }
        return PlanQuantities(**{**values, **changes})

    return make
