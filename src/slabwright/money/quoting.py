"""The quote: price by slab, what is in it and what is not, options, payment steps, validity."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import ROUND_DOWN, Decimal

from slabwright import tables
from slabwright.findings import Finding, find
from slabwright.measure import Both, Money, Quantity, write_money
from slabwright.money.arith import split, to_cent
from slabwright.money.model import Estimate, OptionPrice
from slabwright.money.model_paper import (
    Allowance,
    OfferedOption,
    Party,
    Payment,
    PriceLine,
    Quote,
    TaxLine,
)
from slabwright.money.phrases import Phrase, Said, Share, share_text
from slabwright.notes.models import Notes
from slabwright.slab.model import Shaped, Slab

VALID_DAYS = 30  # that a price holds where the book does not say (source common-practice)
SCHEDULE: tuple[tuple[Said, Decimal], ...] = (
    (Phrase("pay-deposit"), Decimal("0.10")),
    (Phrase("pay-forms"), Decimal("0.40")),
    (Phrase("pay-pour"), Decimal("0.40")),
    (Phrase("pay-done"), Decimal("0.10")),
)
"""Payment steps where the caller gives none (source common-practice)."""
EXCLUDED = ("out-rock", "out-lines", "out-soil", "out-plants", "out-seal", "out-cold")
CONDITIONS = ("if-weather", "if-hidden", "if-lines", "if-cracks", "if-access", "if-change", "if-law")


def deposit_limits() -> dict[str, dict[str, str]]:
    """Return limits on deposits by place ('US-CA'), as written in deposits.toml."""
    return tables.table("money", "deposits")


def deposit_most(total: Decimal, place: str, currency: str = "USD") -> Decimal | None:
    """Return the largest deposit on a total that a place allows, None where no limit is on file."""
    row = deposit_limits().get(place)
    if row is None or row["currency"] != currency:
        return None
    share = to_cent(total * Decimal(row["share"]) / 100, ROUND_DOWN)
    return min(share, Decimal(row["most"]).quantize(Decimal("0.01")))


def schedule_for(total: Decimal, place: str, currency: str = "USD") -> tuple[tuple[Said, Decimal], ...]:
    """Return the usual payment steps with the deposit lowered to what a place allows."""
    most = deposit_most(total, place, currency)
    (when, first), (then, second), *rest = SCHEDULE
    if most is None or not total or to_cent(total * first, ROUND_DOWN) <= most:
        return SCHEDULE
    lowered = (most / total).quantize(Decimal("0.0001"), rounding=ROUND_DOWN)
    return ((when, lowered), (then, second + first - lowered), *rest)


def quote(
    made: Estimate,
    shaped: Shaped,
    notes: Notes,
    *,
    number: str,
    dated: date,
    business: Party,
    customer: Party,
    offered: Sequence[OptionPrice] = (),
    place: str = "",
    valid_days: int = VALID_DAYS,
    schedule: Sequence[tuple[Said, Decimal]] | None = None,
    allowances: Sequence[Allowance] = (),
    also: Iterable[Both] = (),
    excluded: Iterable[Said] | None = None,
    permits_in: bool = False,
) -> Quote:
    """Return a quote to sign.

    made: the estimate. shaped, notes: the plan, for what is covered. place: where the job is ('US-CA'), for
    limits on deposits. schedule: payment steps (when, share of the total); the usual ones, lowered to the
    place's limit, where None. allowances: sums that are within the price. also: further things covered.
    excluded: what is not covered; the usual list where None. Only prices go in: no cost, rate or margin.
    """
    found: list[Finding] = []
    ready = made.complete
    if not ready:
        found.append(find("money", "quote-incomplete", where=number))
    steps = tuple(schedule_for(made.total, place, made.currency) if schedule is None else schedule)
    payments = _payments(made, steps, found, number)
    _check_deposit(made, payments, place, found, number)
    out = (
        excluded
        if excluded is not None
        else [Phrase(key) for key in (*EXCLUDED, *(() if permits_in else ("out-permit",)))]
    )
    return Quote(
        number=number,
        title=made.title,
        dated=dated,
        valid_until=dated + timedelta(days=valid_days),
        business=business,
        customer=customer,
        currency=made.currency,
        units=notes.units,
        lines=tuple(_line(slab, dict(made.by_slab)) for slab in shaped.slabs),
        price=made.price,
        taxes=tuple(
            TaxLine(tax.name, tax.share or Decimal(0), tax.amount, tax.name_es) for tax in made.taxes
        ),
        total=made.total,
        options=_offered(offered),
        includes=(*_included(shaped, notes), *also),
        excludes=tuple(out),
        allowances=tuple(allowances),
        conditions=_conditions(place),
        payments=payments,
        days=made.days,
        ready=ready and not any(f.level == "stop" for f in found),
        findings=tuple(found),
    )


def _line(slab: Slab, prices: dict[str, Decimal]) -> PriceLine:
    spec = slab.spec
    what = Phrase(
        "slab",
        {
            "name": spec.name,
            "use": Phrase(f"use-{spec.use}"),
            "area": Quantity("area", slab.outline.area),
            "thickness": Quantity("inches", spec.thickness),
            "finish": Phrase(f"finish-{spec.finish}"),
        },
    )
    return PriceLine(spec.name, what, prices.get(spec.name, Decimal(0)))


def _offered(offered: Sequence[OptionPrice]) -> tuple[OfferedOption, ...]:
    """Return the options that have a price; those without one are not shown to a customer."""
    names = {option.key: Both(option.en, option.es) for option in offered}
    return tuple(
        OfferedOption(
            option.key, names[option.key], option.difference, tuple(names[k] for k in option.against)
        )
        for option in offered
        if option.difference is not None
    )


def _included(shaped: Shaped, notes: Notes) -> tuple[Said, ...]:
    base = max((slab.spec.base for slab in shaped.slabs), default=0.0)
    strength = max((slab.spec.strength for slab in shaped.slabs), default=0.0)
    steels = {slab.steel.choice for slab in shaped.slabs}
    said: list[Said] = [Phrase("in-locate")]
    said += [Phrase("in-take-out", {"name": old.name}) for old in notes.existing if old.keeps == "nothing"]
    said.append(Phrase("in-dig"))
    if base > 0:
        said.append(Phrase("in-base", {"base": Quantity("inches", base)}))
    said.append(Phrase("in-forms"))
    said += [Phrase(f"in-{choice}") for choice in ("bars", "gfrp", "mesh", "fiber") if choice in steels]
    said.append(Phrase("in-concrete", {"strength": Quantity("pressure", strength)}))
    if any(joint.kind == "contraction" for slab in shaped.slabs for joint in slab.joint_plan.joints):
        said.append(Phrase("in-joints"))
    if notes.water.trench_drains:
        said.append(Phrase("in-drain"))
    said.append(Phrase("in-clean"))
    return tuple(said)


def _conditions(place: str) -> tuple[Said, ...]:
    said: list[Said] = [Phrase(key) for key in CONDITIONS]
    row = deposit_limits().get(place)
    if row is not None:
        share, most = Decimal(row["share"]) / 100, Money(Decimal(row["most"]), row["currency"])
        said.append(Phrase("if-deposit", {"place": row["name"], "share": Share(share), "most": most}))
    return tuple(said)


def _payments(
    made: Estimate, steps: tuple[tuple[Said, Decimal], ...], found: list[Finding], number: str
) -> tuple[Payment, ...]:
    whole = sum((share for _, share in steps), Decimal(0))
    if whole != 1 or any(share < 0 for _, share in steps):
        found.append(find("money", "payments-off", where=number, shares=share_text(whole)))
        return ()
    if not steps:
        return ()
    amounts = _floored_first(made.total, [share for _, share in steps])
    return tuple(Payment(when, share, amount) for (when, share), amount in zip(steps, amounts, strict=True))


def _floored_first(total: Decimal, shares: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Return payments that add up to the total, the deposit never a cent over its share."""
    first = to_cent(total * shares[0], ROUND_DOWN)
    if len(shares) == 1:
        return (total,)
    return (first, *split(total - first, shares[1:]))


def _check_deposit(
    made: Estimate, payments: Sequence[Payment], place: str, found: list[Finding], number: str
) -> None:
    row = deposit_limits().get(place)
    most = deposit_most(made.total, place, made.currency)
    if row is None or most is None:
        found.append(find("money", "deposit-check", where=number, place=place or "-"))
    elif payments and payments[0].amount > most:
        found.append(
            find(
                "money",
                "deposit-over",
                where=number,
                deposit=write_money(payments[0].amount, made.currency),
                most=write_money(most, row["currency"]),
                place=row["name"],
            )
        )
