"""Down payments on home improvement in California.

Contractors State License Board, press release of 15 August 2012 (and Business and Professions Code 7159):
a down payment is at most 1,000 dollars or 10 % of the price, whichever is less.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from slabwright.money.quoting import deposit_most


@pytest.mark.parametrize(
    ("price", "most"),
    [
        ("500.00", "50.00"),
        ("9999.99", "999.99"),  # 999.999, never rounded up over the limit
        ("10000.00", "1000.00"),  # both limits meet
        ("10000.01", "1000.00"),
        ("48000.00", "1000.00"),
    ],
)
def test_lesser_of_both(price: str, most: str) -> None:
    """'$1,000 or 10 percent, whichever is less'."""
    assert deposit_most(Decimal(price), "US-CA") == Decimal(most)


def test_other_places_are_not_guessed() -> None:
    """The release speaks of California alone."""
    assert deposit_most(Decimal(5000), "US-OR") is None
