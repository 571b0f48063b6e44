"""Risk: hours and cost as a distribution, the chance of losing money, and what drives it.

Every rate and price with a spread is drawn once a sample as the beta distribution of a three-point estimate
(source pert); one crew works all steps of a job, so its pace is drawn once for the whole job; the concrete
that the job takes is drawn from the order's own spread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import Finding, find
from slabwright.measure import HOUR, Quantity, write_money
from slabwright.money.arith import CENT, Pert
from slabwright.money.model import (
    Book,
    BookLine,
    CostLine,
    Driver,
    Estimate,
    MoneyBand,
    PlanQuantities,
    Risk,
    TimeBand,
)
from slabwright.money.pricing import unit_of_line

Floats = NDArray[np.float64]

LOSS_CAUTION = 0.2  # chance of a loss that is pointed at (source own-setting)
MAIN_DRIVERS = 8
SAMPLES_MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class _Factors:
    """Draws by driver: each row of `values` (k, n) multiplies what hangs on that driver."""

    keys: tuple[tuple[str, str], ...]
    values: Floats

    def of(self, key: tuple[str, str]) -> Floats | None:
        """Return the draws (n,) of one driver, None where it has no spread."""
        return self.values[self.keys.index(key)] if key in self.keys else None


def risk(
    quantities: PlanQuantities,
    made: Estimate,
    book: Book,
    *,
    price: Decimal | None = None,
    samples: int = 10_000,
    seed: int = 1,
) -> Risk:
    """Return cost and hours as a distribution.

    quantities and book: those that `made` was estimated from. price: before tax, the estimate's own where
    None. samples: 100 to a million. The same seed gives the same answer. ValueError for other samples.
    """
    if not 100 <= samples <= SAMPLES_MOST:
        raise ValueError(f"{samples} samples; 100 to {SAMPLES_MOST} can be drawn")
    asked = made.price if price is None else price
    rng = np.random.default_rng(seed)
    spreads = _spreads(made.lines, book)
    factors = _drawn(spreads, samples, rng)
    pace = _pace(book, samples, rng)
    labour, hours, bought, other = _summed(made.lines, factors, pace, samples)
    short_cost, short = _short(quantities, book, samples, rng)
    bought += short_cost
    shares = {step.code: 0.0 for step in made.steps}
    for step in made.steps:
        shares[step.code] += float(step.share or 0)
    burden = labour * shares.get("burden", 0.0)
    pocket = labour + burden + bought * (1.0 + shares.get("tax on material", 0.0)) + other
    hourly = book.find("term", "overhead-hour")
    overhead = pocket * shares.get("overhead", 0.0) + hours * (float(hourly.value) if hourly else 0.0)
    full = pocket + overhead
    drivers = _drivers(full, factors, pace, short, _names(made.lines, book))
    eighty = float(np.percentile(full, 80))
    # Contingency stands in the estimate as its own step: the base is the cost without it.
    spare = next((step.amount for step in made.steps if step.code == "contingency"), Decimal(0))
    base = made.full_cost - spare
    loss, pocket_loss = float(np.mean(full > float(asked))), float(np.mean(pocket > float(asked)))
    return Risk(
        price=asked,
        cost=_band(full),
        time=TimeBand(*(float(x) * HOUR for x in np.percentile(hours, (10, 50, 80, 90)))),
        chance_loss=loss,
        chance_out_of_pocket=pocket_loss,
        chance_short=float(np.mean(short > 0.0)),
        contingency=max(Decimal(0), _money(eighty) - base),
        drivers=drivers,
        samples=samples,
        seed=seed,
        findings=_said(made, asked, loss, drivers),
    )


def _money(value: float) -> Decimal:
    return Decimal(repr(round(value, 2))).quantize(CENT)


def _band(cost: Floats) -> MoneyBand:
    low, middle, eighty, high = (float(x) for x in np.percentile(cost, (10, 50, 80, 90)))
    return MoneyBand(_money(low), _money(middle), _money(eighty), _money(high), _money(float(cost.mean())))


def _key(line: CostLine) -> tuple[str, str]:
    return (f"rate: {line.code}" if line.group == "labour" else line.code, line.condition)


def _spreads(lines: Sequence[CostLine], book: Book) -> dict[tuple[str, str], Pert]:
    """Return the spread of every rate and price as factors of its likely value, one a driver."""
    spreads: dict[tuple[str, str], Pert] = {}
    for line in lines:
        row = book.find("rate" if line.group == "labour" else "price", line.code, line.condition)
        if row is None or row.low is None or row.high is None or row.low == row.high:
            continue
        likely = float(row.value)
        spreads[_key(line)] = Pert(float(row.low) / likely, 1.0, float(row.high) / likely)
    return spreads


def _names(lines: Sequence[CostLine], book: Book) -> dict[tuple[str, str], tuple[str, str]]:
    """Return what the book calls each driver, in English and Spanish."""
    names = {}
    for line in lines:
        row = book.find("rate" if line.group == "labour" else "price", line.code, line.condition)
        if row is not None:
            names[_key(line)] = (row.name, row.name_es)
    return names


def _drawn(spreads: dict[tuple[str, str], Pert], samples: int, rng: np.random.Generator) -> _Factors:
    """Draw all spreads at once: cost factors, so that a rate's draw is turned over."""
    if not spreads:
        return _Factors((), np.zeros((0, samples)))
    ends = np.array([(p.a, p.b, *p.shape) for p in spreads.values()])
    a, b, alpha, beta = (column[:, None] for column in ends.T)
    values = a + (b - a) * rng.beta(alpha, beta, size=(len(ends), samples))
    for k, (code, _) in enumerate(spreads):
        if code.startswith("rate: "):
            values[k] = 1.0 / values[k]
    return _Factors(tuple(spreads), values)


def _pace(book: Book, samples: int, rng: np.random.Generator) -> Floats:
    """Return how slow each sample's job runs as a whole, lognormal about 1 (n,)."""
    line = book.find("term", "pace-spread")
    sd = float(line.value) / 100.0 if line else 0.0
    return np.exp(rng.normal(0.0, 1.0, samples) * sd)


def _summed(
    lines: Sequence[CostLine], factors: _Factors, pace: Floats, samples: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return wages, paid hours, what is bought (material and plant) and other cost, each (n,)."""
    labour, hours = np.zeros(samples), np.zeros(samples)
    bought, other = np.zeros(samples), np.zeros(samples)
    fixed = {"labour": 0.0, "hours": 0.0, "bought": 0.0, "other": 0.0}
    for line in lines:
        cost, factor = float(line.cost), factors.of(_key(line))
        if line.group == "labour":
            if line.code == "drive":
                fixed["labour"], fixed["hours"] = fixed["labour"] + cost, fixed["hours"] + float(line.count)
            else:
                slow = pace if factor is None else pace * factor
                labour += cost * slow
                hours += float(line.count) * slow
            continue
        name, total = ("bought", bought) if line.group in ("material", "plant") else ("other", other)
        if factor is None:
            fixed[name] += cost
        else:
            total += cost * factor
    return (
        labour + fixed["labour"],
        hours + fixed["hours"],
        bought + fixed["bought"],
        other + fixed["other"],
    )


def _short(
    quantities: PlanQuantities,
    book: Book,
    samples: int,
    rng: np.random.Generator,
) -> tuple[Floats, Floats]:
    """Return what running short costs, and the volume short [m3], each (n,)."""
    need = rng.normal(quantities.need, max(quantities.need_sd, 0.0), samples)
    short = np.maximum(0.0, need - quantities.order)
    concrete = next((n for n in quantities.needs if n.code == "concrete"), None)
    # a bag that is missing is fetched, not delivered
    trip = book.find("price", "second-trip") if concrete else None
    line = book.find("price", "concrete", concrete.condition) if concrete else None
    cost = np.where(short > 0.0, float(trip.value) if trip else 0.0, 0.0)
    return cost + short * _per_m3(line), short


def _per_m3(line: BookLine | None) -> float:
    if line is None or unit_of_line(line).dimension != "volume":
        return 0.0
    return float(line.value) / unit_of_line(line).amount


def _drivers(
    full: Floats,
    factors: _Factors,
    pace: Floats,
    short: Floats,
    names: dict[tuple[str, str], tuple[str, str]],
) -> tuple[Driver, ...]:
    """Return the squared correlation of each driver with the cost, largest first."""
    rows = [(key, factors.values[k]) for k, key in enumerate(factors.keys)]
    rows += [(("pace of the whole job", ""), pace), (("concrete runs short", ""), short)]
    centred = full - full.mean()
    size = math.sqrt(float(centred @ centred))
    drivers = []
    for (code, condition), values in rows:
        own = values - values.mean()
        norm = math.sqrt(float(own @ own))
        if norm > 1e-12 and size > 1e-12:
            share = float((own @ centred) / (norm * size)) ** 2
            drivers.append(Driver(code, condition, share, *names.get((code, condition), ())))
    return tuple(sorted(drivers, key=lambda d: -d.variance_share)[:MAIN_DRIVERS])


def _said(made: Estimate, asked: Decimal, loss: float, drivers: Sequence[Driver]) -> tuple[Finding, ...]:
    found = []
    if loss > LOSS_CAUTION:
        main = f"{drivers[0].code} {drivers[0].condition}".strip() if drivers else "-"
        chance, shown = Quantity("percent", loss), write_money(asked, made.currency)
        found.append(find("money", "loss-likely", where=made.title, chance=chance, price=shown, main=main))
    if not made.complete:
        found.append(find("money", "risk-incomplete", where=made.title))
    return tuple(found)
