"""What work costs and what is asked for it: book, quantities, estimate, risk. Frozen records.

Money is a Decimal in the book's one currency, to the cent wherever it is a sum that someone pays. Amounts
of the plan are SI floats with their dimension.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

from slabwright.findings import Finding
from slabwright.measure import System

Priced = Literal[
    "material", "plant", "haul", "disposal", "rental", "subcontract", "permit", "travel", "labour"
]
Basis = Literal["on cost", "on price"]


@dataclass(frozen=True, slots=True)
class BookLine:
    """One line of a price book, as written: amounts are in `unit`, money in the book's currency.

    `group` and `code` say what it is, `condition` when it holds ('' is always). `low` and `high` are the
    least and most believable value; `least` is a minimum charge; `pack` the smallest amount sold; `jobs` is
    how many jobs of the crew's own record stand behind it. `name` is what it is called, `name_es` in Spanish
    where the book says so.
    """

    group: str
    code: str
    condition: str
    unit: str
    value: Decimal
    low: Decimal | None = None
    high: Decimal | None = None
    least: Decimal | None = None
    pack: Decimal | None = None
    dated: date | None = None
    supplier: str = ""
    note: str = ""
    name: str = ""
    name_es: str = ""
    book: str = ""
    row: int = 0
    jobs: int = 0


@dataclass(frozen=True, slots=True)
class Book:
    """A price book: usable lines by (group or 'price', code, condition); findings on the rest."""

    name: str
    currency: str
    lines: Mapping[tuple[str, str, str], BookLine]
    findings: tuple[Finding, ...] = ()

    def find(self, group: str, code: str, condition: str = "") -> BookLine | None:
        """Return the line for a code under a condition, else the line that always holds, else None."""
        return self.lines.get((group, code, condition)) or self.lines.get((group, code, ""))

    def group(self, group: str) -> tuple[BookLine, ...]:
        """Return the lines of one group ('labour', 'burden', 'tax', ...), in the book's order."""
        return tuple(line for line in self.lines.values() if line.group == group)


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount [SI] and its dimension: length, area, volume, mass, duration, or a count of something.

    Counts are each, load, day, trip, job and bag; one is never taken for another.
    """

    dimension: str
    amount: float


@dataclass(frozen=True, slots=True)
class Need:
    """Something of the plan to pay for, measured in one way or several, leading one first.

    `takes` names the figure of the plan that it comes from; `shares` (slab, weight) say whose it is, empty
    for what belongs to the job as a whole. `what` is its name in words.
    """

    group: Priced
    code: str
    condition: str
    amounts: tuple[Amount, ...]
    takes: str
    shares: tuple[tuple[str, float], ...] = ()
    what: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """A step of the work on one slab, or on the job where `slab` is None, and how much of it."""

    step: str
    condition: str
    amount: Amount
    slab: str | None
    takes: str


@dataclass(frozen=True, slots=True)
class PlanQuantities:
    """All that a plan has to be paid for.

    `areas` by slab [m2]; `need`, `need_sd`, `order` [m3] of concrete with its loads;
    `people` on the crew.
    """

    title: str
    areas: tuple[tuple[str, float], ...]
    needs: tuple[Need, ...]
    work: tuple[Work, ...]
    people: int
    need: float
    need_sd: float
    order: float
    loads: tuple[float, ...]
    units: System = System.IMPERIAL
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class JobTerms:
    """What this job adds to the book: who works, how far away, permits, the day of pricing.

    `crew` (role, count) replaces the book's crew; `trips` None is one a day of work, two at least where
    forms come off; `distance` [m] and
    `drive` [s] are one way; `permits` are codes of the book; `extra` are needs beside those of the plan.
    """

    crew: tuple[tuple[str, int], ...] = ()
    trips: int | None = None
    distance: float = 0.0
    drive: float = 0.0
    permits: tuple[str, ...] = ()
    extra: tuple[Need, ...] = ()
    dated: date | None = None


@dataclass(frozen=True, slots=True)
class CostLine:
    """One priced quantity: `count` of `unit` at `price`, `cost` to the cent.

    `by_minimum` where the minimum charge was more. `takes` is the plan's figure behind it, `book` and `row`
    the line of the book; `by_slab` splits the cost to the cent; `person_time` [s] of one person for labour.
    """

    group: Priced
    code: str
    condition: str
    what: str
    unit: str
    count: Decimal
    price: Decimal
    cost: Decimal
    by_minimum: bool
    takes: str
    book: str
    row: int
    by_slab: tuple[tuple[str, Decimal], ...]
    person_time: float = 0.0
    what_es: str = ""


@dataclass(frozen=True, slots=True)
class BuildUp:
    """One step from cost to price: what it is a share of, the share (None for a sum), the amount."""

    code: str
    base: Decimal
    share: Decimal | None
    amount: Decimal
    name: str = ""
    name_es: str = ""


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a job costs and what to ask.

    `direct` sums the lines; `steps` go from there to `price`, before taxes that the customer pays on top
    (`taxes`); `total` is what the customer pays. `full_cost` is all but profit. `by_slab` splits `price`.
    `person_time` [s] on the clock of one person; `days` of the whole crew. `complete` is False where
    something has no price. `rounding` names decimal's mode, to the cent at every line.
    """

    title: str
    currency: str
    rounding: str
    lines: tuple[CostLine, ...]
    direct: Decimal
    steps: tuple[BuildUp, ...]
    full_cost: Decimal
    price: Decimal
    taxes: tuple[BuildUp, ...]
    total: Decimal
    by_slab: tuple[tuple[str, Decimal], ...]
    person_time: float
    days: int
    markup: Decimal
    margin: Decimal
    complete: bool
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class MoneyBand:
    """Percentiles 10, 50, 80 and 90 of an amount of money, and its mean."""

    low: Decimal
    middle: Decimal
    eighty: Decimal
    high: Decimal
    mean: Decimal


@dataclass(frozen=True, slots=True)
class TimeBand:
    """Percentiles 10, 50, 80 and 90 of the time of one person [s]."""

    time_low: float
    time_middle: float
    time_eighty: float
    time_high: float


@dataclass(frozen=True, slots=True)
class Driver:
    """What makes the cost uncertain: its code, its share of the cost's variance [-], its name in the book."""

    code: str
    condition: str
    variance_share: float
    name: str = ""
    name_es: str = ""


@dataclass(frozen=True, slots=True)
class Risk:
    """Cost and hours as a distribution.

    `chance_loss` [-] that full cost, overhead included, is more than `price`; `chance_out_of_pocket` [-]
    that cost without overhead is. `contingency` would bring the cost without one to its 80th percentile.
    `drivers` largest first, as squared correlation with the cost.
    """

    price: Decimal
    cost: MoneyBand
    time: TimeBand
    chance_loss: float
    chance_out_of_pocket: float
    chance_short: float
    contingency: Decimal
    drivers: tuple[Driver, ...]
    samples: int
    seed: int
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """One change to the notes: what ('finish', 'thicker', 'steel', ...), where, and to what.

    `more` [m] or plain slope for changes by an amount; `to` for a choice; `points` for a drain's line.
    """

    what: Literal["finish", "thicker", "steel", "wider", "take-out", "drain"]
    slab: str | None = None
    to: str = ""
    more: float = 0.0
    points: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """Something offered beside the base: its key, its name in both languages, changes, what it builds on."""

    key: str
    en: str
    es: str
    changes: tuple[Change, ...]
    on_top_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OptionPrice:
    """What an option changes: price, cost, working days; None where it cannot be priced.

    The difference is against the base, or against the options that it builds on (`against`).
    `lines` are the cost lines that differ: (code, condition, base cost, cost with the option).
    """

    key: str
    en: str
    es: str
    difference: Decimal | None
    cost_difference: Decimal | None
    days: int | None
    against: tuple[str, ...] = ()
    lines: tuple[tuple[str, str, Decimal, Decimal], ...] = ()
    findings: tuple[Finding, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Actual:
    """What was done on one day: how much of a step, in how many person-hours."""

    day: date
    job: str
    step: str
    condition: str
    unit: str
    amount: Decimal
    hours: Decimal
    row: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class OrderActual:
    """What became of an order: concrete as drawn, delivered in all, left over, in `unit`."""

    day: date
    job: str
    unit: str
    drawn: Decimal
    delivered: Decimal
    left: Decimal
    row: int = 0


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """What this crew really does of one step, for one person and an hour, in the book's unit.

    `middle` with the band `low` to `high` that eight of ten next jobs fall in; `jobs` on record; `from_book`
    is what the book said.
    """

    step: str
    condition: str
    unit: str
    rate_middle: Decimal
    rate_low: Decimal
    rate_high: Decimal
    rate_least: Decimal
    rate_most: Decimal
    from_book: Decimal
    jobs: int
    name: str = ""
    name_es: str = ""


@dataclass(frozen=True, slots=True)
class LearnedOrder:
    """Concrete used over concrete drawn [-]: middle, band of eight in ten, spread, jobs on record."""

    used_middle: float
    used_low: float
    used_high: float
    used_sd: float
    jobs: int


@dataclass(frozen=True, slots=True)
class Learned:
    """What the record teaches: rates by step and condition, the order's error."""

    rates: tuple[LearnedRate, ...]
    order: LearnedOrder | None
    findings: tuple[Finding, ...] = ()
