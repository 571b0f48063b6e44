"""What to look at before a quote goes out: invented prices, example readings, a shop without an address."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from slabwright.money.pricing import is_invented
from slabwright.office.actions.books import lines_of
from slabwright.office.actions.prices import book_of, terms_of
from slabwright.office.models import Job, Quote, Revision, Shop
from slabwright.office.planning import tree_of

MEASURED = ("tape", "square-off", "levels", "string-lines", "water-levels", "points", "heights")


def examples_left(job: Job, number: int) -> int:
    """Return how many measured rows of a revision are still those that its starter began with."""
    if not job.starter:
        return 0
    texts = dict(Revision.objects.filter(job=job, number__in=(1, number)).values_list("number", "text"))
    if 1 not in texts or number not in texts:
        return 0
    first, now = tree_of(texts[1]), tree_of(texts[number])
    left = 0
    for key in MEASURED:
        began = list(_rows(first.get(key)))
        left += sum(row in began for row in _rows(now.get(key)))
    return left


def _rows(value: Any) -> Iterator[Any]:
    """Yield the readings of a record: a set-up's rod readings one by one."""
    if isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, list):
        for row in value:
            inner = row.get("rod") or row.get("down") if isinstance(row, dict) else None
            if isinstance(inner, dict):
                yield from inner.items()
            else:
                yield row


def cautions(quote: Quote) -> list[tuple[str, dict[str, Any]]]:
    """Return the words (key, values) of what to look at before this draft is sent; none once it was."""
    if quote.state != "draft":
        return []
    found: list[tuple[str, dict[str, Any]]] = []
    book = book_of(terms_of(quote.job))
    invented = sum(map(is_invented, lines_of(book).lines.values())) if book is not None else 0
    if invented:
        found.append(("before-demo", {"count": invented}))
    left = examples_left(quote.job, quote.revision)
    if left:
        found.append(("before-examples", {"count": left}))
    shop = Shop.own()
    if not shop.phone or not shop.address:
        found.append(("before-shop", {}))
    return found
