"""The owner's tables: cost lines, from cost to price, slabs, risk and its drivers, options, learned rates.

Cells of money are Decimal, so that a file holds numbers; `on_paper` writes them out with their currency.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from slabwright.build.says import in_language
from slabwright.measure import Both, write_money
from slabwright.money.model import (
    BuildUp,
    CostLine,
    Driver,
    Estimate,
    Learned,
    OptionPrice,
    Risk,
)
from slabwright.money.phrases import called, share_text
from slabwright.result import Plan
from slabwright.sheets.tables import Cell, Column, Table
from slabwright.sheets.words import word as say
from slabwright.sheets.words import words

SHOWN = Decimal("0.01")
QUARTER = 900.0  # [s]


def on_paper(table: Table, currency: str) -> Table:
    """Return a table with its money written out, for a page or a screen."""
    money = [column.kind == "money" for column in table.columns]

    def written(row: tuple[Cell, ...]) -> tuple[Cell, ...]:
        return tuple(
            write_money(cell, currency) if is_money and isinstance(cell, Decimal) else cell
            for cell, is_money in zip(row, money, strict=True)
        )

    total = None if table.total is None else written(table.total)
    return replace(table, rows=tuple(written(row) for row in table.rows), total=total)


def amount_text(amount: Decimal) -> str:
    """Return a counted amount as it is read: to a hundredth, without empty decimals."""
    shown = amount.quantize(SHOWN, ROUND_HALF_UP)
    whole = shown.to_integral_value()
    return f"{whole:,f}" if whole == shown else f"{shown:,f}"


def chance_text(chance: float, lang: str) -> str:
    """Return a chance [-] as it is said; a very small one is never called none."""
    if chance < 0.001:
        return say("money-never", lang)
    return share_text(Decimal(repr(round(chance, 3 if chance < 0.1 else 2))))


def line_name(line: CostLine, lang: str, names: Mapping[str, str]) -> str:
    """Return what a cost line is for; names: of the shopping list in the reader's language."""
    if line.code == "drive":
        return say("money-drive", lang)
    return called(names.get(line.what, line.what), line.what_es, lang) or line.code


def unit_text(unit: str, lang: str) -> str:
    """Return a unit of the book as it is said: counted things have a word, measured ones their sign."""
    key = f"money-unit-{unit}"
    return say(key, lang) if key in words() else unit


def _raised(unit: str, lang: str) -> str:
    """Return a unit for a page: 'yd³' for 'yd3'."""
    said = unit_text(unit, lang)
    return said.replace("2", "²").replace("3", "³") if said == unit else said


def takes_text(line: CostLine, lang: str) -> str:
    """Return the figure of the plan that a line takes, in words; files name its place in plan.json."""
    key = f"money-takes-{re.sub('[^a-z]+', '-', line.takes)}"
    return say(key, lang) if key in words() else line.takes


def option_name(one: OptionPrice, priced: Sequence[OptionPrice], lang: str) -> str:
    """Return what an option is called, the ones that it stands on, and whether it cannot be had."""
    names = {option.key: called(option.en, option.es, lang) for option in priced}
    name = names[one.key]
    if one.difference is None:
        return say("money-opt-no-price", lang, name=name)
    under = ", ".join(names[key] for key in one.against)
    return say("money-opt-on", lang, name=name, others=under) if under else name


def names_of(plan: Plan, lang: str) -> dict[str, str]:
    """Return the names of the plan's shopping list in another language, by their English ones."""
    listed = plan.built.materials
    return {m.what: in_language(m, system=plan.notes.units, lang=lang).what for m in listed}


def lines(made: Estimate, lang: str, names: Mapping[str, str]) -> Table:
    """Return every cost line with its amount, price, the plan's figure and the line of the book."""
    several = len(made.by_slab) > 1
    rows: list[tuple[Cell, ...]] = [
        (
            say(f"money-group-{line.group}", lang),
            line_name(line, lang, names),
            line.count,
            unit_text(line.unit, lang),
            line.price,
            line.cost,
            say("money-minimum", lang) if line.by_minimum else None,
            line.takes,
            f"{line.book}:{line.row}",
            line.by_slab[0][0] if several and len(line.by_slab) == 1 else None,
        )
        for line in made.lines
    ]
    return Table(
        "estimate-lines",
        Both("Cost lines", "Renglones de costo"),
        (
            Column("group", "Group", "Grupo"),
            Column("what", "What", "Qué"),
            Column("amount", "Amount", "Cantidad", "ratio"),
            Column("unit", "Unit", "Unidad"),
            Column("price", "Each", "Cada uno", "money"),
            Column("cost", "Cost", "Costo", "money"),
            Column("minimum", "By", "Por"),
            Column("takes", "Figure of the plan", "Dato del plan"),
            Column("book", "Line of the book", "Renglón del libro"),
            Column("slab", "Slab", "Losa"),
        ),
        tuple(rows),
        (None, say("money-direct", lang), None, None, None, made.direct, None, None, None, None),
    )


def lines_on_paper(made: Estimate, lang: str, names: Mapping[str, str]) -> Table:
    """Return the cost lines for a page: amounts as they are read, money written out."""
    table = lines(made, lang, names)
    rows = tuple(
        (
            *row[:2],
            amount_text(line.count),
            _raised(line.unit, lang),
            *row[4:7],
            takes_text(line, lang),
            *row[8:],
        )
        for row, line in zip(table.rows, made.lines, strict=True)
    )
    return on_paper(replace(table, rows=rows), made.currency)


def _step_name(step: BuildUp, lang: str) -> str:
    return say(f"money-step-{step.code.replace(' ', '-')}", lang, name=called(step.name, step.name_es, lang))


def build_up(made: Estimate, lang: str) -> Table:
    """Return the way from direct cost over full cost to the price and what the customer pays."""
    by_group: dict[str, Decimal] = {}
    for line in made.lines:
        by_group[line.group] = by_group.get(line.group, Decimal(0)) + line.cost
    rows: list[tuple[Cell, ...]] = [
        (say(f"money-group-{group}", lang), None, None, cost) for group, cost in by_group.items()
    ]
    rows.append((say("money-direct", lang), None, None, made.direct))
    before = [step for step in made.steps if not step.code.startswith(("profit", "least"))]
    after = [step for step in made.steps if step not in before]

    def row(step: BuildUp) -> tuple[Cell, ...]:
        share = None if step.share is None else share_text(step.share)
        base = f"{amount_text(step.base)} h" if step.code == "overhead by the hour" else step.base
        return _step_name(step, lang), share, base, step.amount

    rows += [row(step) for step in before]
    rows.append((say("money-full-cost", lang), None, None, made.full_cost))
    rows += [row(step) for step in after]
    rows.append((say("money-price", lang), None, None, made.price))
    rows += [row(step) for step in made.taxes]
    return Table(
        "estimate",
        Both("From cost to price", "Del costo al precio"),
        (
            Column("what", "What", "Qué"),
            Column("share", "Share", "Parte", "ratio"),
            Column("of", "Of", "De", "money"),
            Column("amount", "Amount", "Importe", "money"),
        ),
        tuple(rows),
        (say("money-customer-pays", lang), None, None, made.total),
    )


def build_up_on_paper(made: Estimate, lang: str) -> Table:
    """Return the way from cost to price for a page or a screen: its sums marked, money written out."""
    table = build_up(made, lang)
    sums = {say(f"money-{key}", lang) for key in ("direct", "full-cost", "price")}
    rows = tuple((f"= {row[0]}", *row[1:]) if row[0] in sums else row for row in table.rows)
    return on_paper(replace(table, rows=rows), made.currency)


def slabs(made: Estimate) -> Table:
    """Return the price of each slab, shared costs split."""
    return Table(
        "estimate-slabs",
        Both("Price by slab", "Precio por losa"),
        (Column("slab", "Slab", "Losa"), Column("price", "Price", "Precio", "money")),
        made.by_slab,
    )


def band(made: Risk, lang: str) -> Table:
    """Return the full cost and what is left of the price, for jobs that go well, as usual, and badly."""
    cost, time = made.cost, made.time
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            say(f"money-band-{key}", lang),
            amount,
            made.price - amount,
            paid_hours(seconds),
        )
        for key, amount, seconds in (
            ("low", cost.low, time.time_low),
            ("middle", cost.middle, time.time_middle),
            ("eighty", cost.eighty, time.time_eighty),
            ("high", cost.high, time.time_high),
        )
    )
    return Table(
        "estimate-risk",
        Both("Band of the full cost", "Banda del costo completo"),
        (
            Column("job", "If the job", "Si la obra"),
            Column("cost", "Full cost", "Costo completo", "money"),
            Column("left", "Left of the price", "Queda del precio", "money"),
            Column("time", "Paid hours", "Horas pagadas", "ratio"),
        ),
        rows,
    )


def _driver_name(driver: Driver, lang: str) -> str:
    named = {"pace of the whole job": "money-driver-pace", "concrete runs short": "money-driver-short"}
    if driver.code in named:
        return say(named[driver.code], lang)
    code = f"{driver.code.removeprefix('rate: ')} {driver.condition}".strip()
    name = called(driver.name or code, driver.name_es, lang)
    return say("money-driver-rate", lang, name=name) if driver.code.startswith("rate: ") else name


def drivers(made: Risk, lang: str) -> Table:
    """Return what makes the cost uncertain, most first."""
    return Table(
        "estimate-drivers",
        Both("What drives it", "De qué depende"),
        (
            Column("what", "What", "Qué"),
            Column("share", "Part of the spread", "Parte de la variación", "percent"),
        ),
        tuple((_driver_name(one, lang), one.variance_share) for one in made.drivers),
    )


def option_table(priced: Sequence[OptionPrice], lang: str) -> Table:
    """Return what each option changes in price, cost and days; one that cannot be priced has no figure."""
    return Table(
        "options",
        Both("Options, against the base", "Opciones, contra la base"),
        (
            Column("option", "Option", "Opción"),
            Column("price", "Price", "Precio", "money"),
            Column("cost", "Full cost", "Costo completo", "money"),
            Column("days", "Days", "Días", "count"),
        ),
        tuple((option_name(o, priced, lang), o.difference, o.cost_difference, o.days) for o in priced),
    )


def learned_table(made: Learned, lang: str) -> Table:
    """Return what the record teaches of each step: the book's rate, the learned one, its band, its jobs."""
    return Table(
        "learned-rates",
        Both(
            "What this crew really does, for one person and an hour",
            "Lo que de veras rinde esta cuadrilla, por persona y hora",
        ),
        (
            Column("step", "Step", "Paso"),
            Column("condition", "Condition", "Condición"),
            Column("unit", "Unit", "Unidad"),
            Column("book", "The book", "El libro", "ratio"),
            Column("learned", "Learned", "Aprendido", "ratio"),
            Column("low", "Eight in ten from", "Ocho de diez, de", "ratio"),
            Column("high", "to", "a", "ratio"),
            Column("jobs", "Jobs", "Obras", "count"),
        ),
        tuple(
            (
                called(r.step, r.name_es, lang),
                r.condition,
                f"{r.unit}/h",
                r.from_book,
                r.rate_middle,
                r.rate_low,
                r.rate_high,
                r.jobs,
            )
            for r in made.rates
        ),
    )


def learned_lines(made: Learned, lang: str) -> tuple[str, ...]:
    """Return what the record teaches of the order, or that it teaches nothing."""
    said = []
    if not made.rates:
        said.append(say("money-learned-none", lang))
    if made.order is not None:
        order = made.order
        shares = (order.used_middle, order.used_low, order.used_high)
        middle, low, high = (used_text(share) for share in shares)
        said.append(say("money-order-learned", lang, middle=middle, low=low, high=high, jobs=order.jobs))
    return tuple(said)


def used_text(share: float) -> str:
    """Return concrete used over drawn as a share, to a thousandth."""
    return share_text(Decimal(repr(round(share, 3))))


def paid_hours(seconds: float) -> Decimal:
    """Return a time [s] in hours to the quarter, as it is paid; never in days, which have no fixed hours."""
    return (Decimal(round(seconds / QUARTER)) / 4).quantize(SHOWN)
