"""Options: what each changes in price, cost and days, found by planning the job again with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal

from slabwright.findings import Finding, Level, find
from slabwright.money.changes import ChangeError, changed
from slabwright.money.estimating import estimate
from slabwright.money.model import Book, Estimate, JobTerms, Option, OptionPrice, PlanQuantities
from slabwright.notes.models import Notes

Replan = Callable[[Notes], PlanQuantities]


@dataclass(slots=True)
class _Pricing:
    """What pricing of options needs, and estimates made so far by the set of options in them."""

    notes: Notes
    base: Estimate
    choices: dict[str, Option]
    replan: Replan
    book: Book
    terms: JobTerms | None
    rounding: str
    made: dict[tuple[str, ...], Estimate] = field(default_factory=dict)

    def estimate(self, keys: tuple[str, ...]) -> Estimate:
        """Return the estimate of the job with some options, in their order."""
        if keys not in self.made:
            changes = [change for key in keys for change in self.choices[key].changes]
            quantities = self.replan(changed(self.notes, changes))
            self.made[keys] = estimate(quantities, self.book, terms=self.terms, rounding=self.rounding)
        return self.made[keys]


def options(
    notes: Notes,
    base: Estimate,
    choices: Sequence[Option],
    *,
    replan: Replan,
    book: Book,
    terms: JobTerms | None = None,
    rounding: str = ROUND_HALF_UP,
) -> tuple[OptionPrice, ...]:
    """Return every option with its difference in price.

    notes: of the base job, estimated as `base` with the same book and terms. replan: makes the plan of
    changed notes and takes off its quantities; it raises ValueError where nothing can be planned. An option
    that goes round in a circle, names another that is not there, or cannot be planned or priced has no
    difference and says why.
    """
    pricing = _Pricing(notes, base, {c.key: c for c in choices}, replan, book, terms, rounding, {(): base})
    prices = []
    for n, choice in enumerate(choices):
        if any(choice.key == earlier.key for earlier in choices[:n]):
            prices.append(_none(choice, find("money", "option-twice", where=choice.key, item=choice.key)))
        else:
            prices.append(_price(choice, pricing))
    return tuple(prices)


def _none(choice: Option, *found: Finding) -> OptionPrice:
    return OptionPrice(choice.key, choice.en, choice.es, None, None, None, choice.on_top_of, (), found)


def below(choice: Option, choices: dict[str, Option]) -> tuple[tuple[str, ...], Finding | None]:
    """Return all options that one stands on, lowest first, or the finding why they cannot be told."""
    order: list[str] = []

    def visit(option: Option, way: tuple[str, ...]) -> Finding | None:
        for key in option.on_top_of:
            if key in way:
                circle = " > ".join((*way[way.index(key) :], key))
                return find("money", "option-circular", where=choice.key, circle=circle)
            if key not in choices:
                return find("money", "option-unknown", where=choice.key, item=key)
            if key not in order:
                wrong = visit(choices[key], (*way, key))
                if wrong is not None:
                    return wrong
                order.append(key)
        return None

    wrong = visit(choice, (choice.key,))
    return (() if wrong else tuple(order)), wrong


def _price(choice: Option, pricing: _Pricing) -> OptionPrice:
    under, wrong = below(choice, pricing.choices)
    if wrong is not None:
        return _none(choice, wrong)
    try:
        before = pricing.estimate(under)
        after = pricing.estimate((*under, choice.key))
    except ChangeError as error:
        return _none(choice, error.finding(choice.key))
    except ValueError as error:
        return _none(choice, find("money", "option-unplanned", where=choice.key, said=str(error)))
    stops = [f for f in after.findings if f.level is Level.STOP and f not in before.findings]
    if stops:
        said = find("money", "option-stops", where=choice.key, count=len(stops))
        return _none(choice, said, *stops)
    return OptionPrice(
        key=choice.key,
        en=choice.en,
        es=choice.es,
        difference=after.price - before.price,
        cost_difference=after.full_cost - before.full_cost,
        days=after.days - before.days,
        against=under,
        lines=_differing(before, after),
    )


def _differing(before: Estimate, after: Estimate) -> tuple[tuple[str, str, Decimal, Decimal], ...]:
    """Return the cost of every code that changes: before, after; nothing stands for not there."""
    sums: dict[tuple[str, str], list[Decimal]] = {}
    for side, made in enumerate((before, after)):
        for line in made.lines:
            row = sums.setdefault((line.code, line.condition), [Decimal(0), Decimal(0)])
            row[side] += line.cost
    return tuple((*key, was, now) for key, (was, now) in sums.items() if was != now)


def chosen_notes(
    notes: Notes, keys: Sequence[str], choices: Sequence[Option]
) -> tuple[Notes, tuple[str, ...]]:
    """Return the notes of a job with the options that a customer took, and all their keys in order.

    Options that those stand on come with them. ChangeError or ValueError where they cannot be had together;
    KeyError for an option that is not offered.
    """
    by_key = {choice.key: choice for choice in choices}
    order: list[str] = []
    for key in keys:
        under, wrong = below(by_key[key], by_key)
        if wrong is not None:
            raise ValueError(wrong.text().what)
        order += [k for k in (*under, key) if k not in order]
    return changed(notes, [change for key in order for change in by_key[key].changes]), tuple(order)


def chosen(
    notes: Notes, keys: Sequence[str], choices: Sequence[Option], *, replan: Replan
) -> tuple[Notes, PlanQuantities]:
    """Return the notes and quantities of a job with the options taken; errors as in `chosen_notes`."""
    made, _ = chosen_notes(notes, keys, choices)
    return made, replace(replan(made), title=notes.title)
