"""Price book -> estimate -> options and risk -> quote, changes, invoices -> what the crew really does.

Doors: `load_book`, `take_off`, `estimate`, `options`, `risk`, `learn`, `quote`, `job_days`,
`calendar_text`; papers in words stand in `money.paper`. Naming the room loads none of them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from slabwright.money.book import load_book
    from slabwright.money.chances import risk
    from slabwright.money.days import job_days
    from slabwright.money.estimating import estimate
    from slabwright.money.ical import calendar_text
    from slabwright.money.learning import learn
    from slabwright.money.offering import options
    from slabwright.money.quoting import quote
    from slabwright.money.takeoff import take_off

__all__ = [
    "calendar_text",
    "estimate",
    "job_days",
    "learn",
    "load_book",
    "options",
    "quote",
    "risk",
    "take_off",
]

_WHERE = {
    "calendar_text": "ical",
    "estimate": "estimating",
    "job_days": "days",
    "learn": "learning",
    "load_book": "book",
    "options": "offering",
    "quote": "quoting",
    "risk": "chances",
    "take_off": "takeoff",
}


def __getattr__(name: str) -> Any:
    """Load a door when it is asked for, so that naming the room costs nothing."""
    if name in _WHERE:
        return getattr(import_module(f"slabwright.money.{_WHERE[name]}"), name)
    raise AttributeError(name)
