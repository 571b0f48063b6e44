"""Small writings of the sheets of money: chances, amounts, paid hours, and nothing learned."""

from __future__ import annotations

from decimal import Decimal

import pytest

from slabwright.sheets.money_tables import amount_text, chance_text, learned_lines, paid_hours


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "< 0.1 %"),
        (0.0009, "< 0.1 %"),
        (0.001, "0.1 %"),
        (0.0994, "9.9 %"),
        (0.1, "10 %"),
        (0.456, "46 %"),
        (1.0, "100 %"),
    ],
)
def test_a_chance_is_never_called_none(chance: float, said: str) -> None:
    assert chance_text(chance, "en") == said


@pytest.mark.parametrize(
    ("amount", "said"),
    [("1", "1"), ("1.5", "1.50"), ("1000", "1,000"), ("49.709695", "49.71"), ("0.004", "0")],
)
def test_an_amount_as_it_is_read(amount: str, said: str) -> None:
    assert amount_text(Decimal(amount)) == said


def test_hours_are_paid_to_the_quarter_and_never_said_in_days() -> None:
    assert paid_hours(48 * 3600.0) == Decimal("48.00")
    assert paid_hours(3600.0 + 450.1) == Decimal("1.25")


def test_nothing_learned_is_said() -> None:
    from slabwright.money.model import Learned

    assert learned_lines(Learned((), None), "en") == ("The record teaches no rate yet.",)
