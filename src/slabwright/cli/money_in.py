"""Money at the edge: price books, records of what was done, options and terms as they are typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.talk import LEVEL_COLOURS, UNUSABLE, leave

if TYPE_CHECKING:
    from slabwright.findings import Finding
    from slabwright.measure import System
    from slabwright.money.model import (
        Actual,
        Book,
        Change,
        Estimate,
        JobTerms,
        Learned,
        Option,
        OptionPrice,
        OrderActual,
        PlanQuantities,
    )
    from slabwright.money.model_paper import Party
    from slabwright.notes.models import Notes
    from slabwright.result import Plan

KINDS_OF_CHANGE = ("finish", "steel", "thicker", "wider", "take-out", "drain")
OPTION_EXAMPLES = "finish=exposed, thicker=1/2 in, wider=1 ft, steel=fiber, take-out=old patio, drain=P1,P2"


class Measured(click.ParamType):  # type: ignore[type-arg]  # generic from some version on
    """A value with its unit, read as a kind of measure."""

    def __init__(self, kind: str, example: str) -> None:
        """Take the kind ('length', 'duration') and an example for who writes it wrongly."""
        self.kind, self.example, self.name = kind, example, kind

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the value in SI; a usage error says what would do."""
        from slabwright.measure import MeasureError, read

        if not isinstance(value, str):
            return float(value)
        try:
            return read(self.kind, value)
        except MeasureError as error:
            return self.fail(f'"{value}": {error.reason}. Write for example {self.example}.', param, ctx)


def tell(finding: Finding, system: System, lang: str) -> None:
    """Show a finding on stderr."""
    text = finding.text(system=system, lang=lang)
    head = click.style(f"{text.level:8}", fg=LEVEL_COLOURS[text.level], bold=True)
    click.echo(f"{head}{text.where}{': ' if text.where else ''}{text.what}", err=True)
    click.echo(f"        why: {text.why} [{text.source}]", err=True)
    click.echo(f"        do:  {text.do}", err=True)


def read_book(files: Sequence[Path], currency: str, system: System, lang: str) -> Book:
    """Return the books laid over each other; every mistake is told, and ends with UNUSABLE."""
    from slabwright.money.book import lay_over, load_book

    try:
        books = [load_book(file, currency=currency) for file in files]
    except OSError as error:
        leave(UNUSABLE, f"slabwright: {error.filename} cannot be read: {error.strerror}.")
    book = lay_over(*books)
    for finding in book.findings:
        tell(finding, system, lang)
    wrong = sum(finding.level == "stop" for finding in book.findings)
    if wrong:
        leave(UNUSABLE, f"{wrong} mistake{'s' if wrong > 1 else ''} in {book.name}; nothing was priced.")
    return book


@dataclass(frozen=True, slots=True)
class Records:
    """What was done on days and what became of orders, as read."""

    actuals: tuple[Actual, ...]
    orders: tuple[OrderActual, ...]


def read_records(files: Sequence[Path], system: System, lang: str) -> Records:
    """Return the records of files, told apart by headings; mistakes are told, and end with UNUSABLE."""
    from slabwright.money.records import read_actuals, read_orders

    actuals: list[Actual] = []
    orders: list[OrderActual] = []
    found: list[Finding] = []
    for file in files:
        try:
            content = file.read_bytes()
        except OSError as error:
            leave(UNUSABLE, f"slabwright: {file} cannot be read: {error.strerror}.")
        days, said = read_actuals(content, name=file.name)
        if any(finding.code == "columns-missing" for finding in said):
            loads, instead = read_orders(content, name=file.name)
            if not any(finding.code == "columns-missing" for finding in instead):
                orders += loads
                found += instead
                continue
        actuals += days
        found += said
    for finding in found:
        tell(finding, system, lang)
    wrong = sum(finding.level == "stop" for finding in found)
    if wrong:
        leave(UNUSABLE, f"{wrong} mistake{'s' if wrong > 1 else ''} in the records; nothing was learned.")
    return Records(tuple(actuals), tuple(orders))


def learned_from(
    book: Book, records: Records, system: System, lang: str, keep: Iterable[int] = ()
) -> Learned:
    """Return what records teach, its findings told."""
    from slabwright.money import learn

    made = learn(book, records.actuals, records.orders, keep=keep)
    for finding in made.findings:
        tell(finding, system, lang)
    return made


def with_past(notes: Notes, records: Records, learned: Learned) -> Notes:
    """Return notes that know what became of earlier orders, so that this one is planned with them."""
    from slabwright.money.learning import past_jobs

    past = past_jobs(records.orders, learned)
    if not past:
        return notes
    order = notes.order.model_copy(update={"past_jobs": (*notes.order.past_jobs, *past)})
    return notes.model_copy(update={"order": order})


def quantities_of(plan: Plan) -> PlanQuantities:
    """Return all that a plan has to be paid for."""
    from slabwright.money import take_off

    places = {name: (p.x, p.y) for name, p in plan.survey.points.items()}
    return take_off(plan.shaped, plan.built, plan.ground, plan.notes, places, stops=plan.findings)


def replan(notes: Notes) -> PlanQuantities:
    """Plan changed notes and take off their quantities; ValueError where it cannot be done."""
    from slabwright.plan import PlanError, make

    try:
        return quantities_of(make(notes))
    except PlanError as error:
        raise ValueError(str(error)) from error


def option_of(written: str, notes: Notes) -> Option:
    """Return an option from 'finish=exposed' or 'finish@side walk=exposed'; UsageError says what would do."""
    from slabwright.measure import MeasureError, Quantity, read, write
    from slabwright.money.model import Change, Option
    from slabwright.money.phrases import Phrase, say
    from slabwright.sheets.words import word

    before, sign, to = (part.strip() for part in written.partition("="))
    what, _, slab = (part.strip() for part in before.partition("@"))
    if not sign or not to or what not in KINDS_OF_CHANGE:
        raise click.UsageError(f'--option "{written}" is none of: {OPTION_EXAMPLES}.')
    points: tuple[str, ...] = ()
    more, system = 0.0, notes.units
    try:
        if what in ("thicker", "wider"):
            more = read("length", to)
    except MeasureError as error:
        raise click.UsageError(
            f'--option "{written}": {error.reason}; write for example {what}=1 in.'
        ) from error
    if what == "drain":
        points = tuple(point.strip() for point in to.split(","))
    change: Change = Change(
        what,  # type: ignore[arg-type]  # one of KINDS_OF_CHANGE, as checked
        slab=slab or None,
        to="" if what in ("thicker", "wider", "drain") else to,
        more=more,
        points=points,
    )

    def name(lang: str) -> str:
        key = {"finish": f"finish-{to}", "steel": f"in-{to}", "take-out": "in-take-out", "drain": "in-drain"}
        try:
            if what in ("thicker", "wider"):
                size = Quantity("inches" if what == "thicker" else "length", more)
                said = word(f"money-opt-{what}", lang, more=write(size, system=system, lang=lang))
            else:
                said = say(Phrase(key[what], {"name": to}), lang, system)
        except KeyError:
            said = to
        said = said[:1].upper() + said[1:]
        return word("money-opt-at", lang, slab=slab, what=said) if slab else said

    return Option(written, name("en"), name("es"), (change,))


def priced_options(
    written: Sequence[str],
    notes: Notes,
    base: Estimate,
    book: Book,
    terms: JobTerms,
) -> tuple[OptionPrice, ...]:
    """Return the options with their differences, each planned anew."""
    from slabwright.money import options

    if not written:
        return ()
    choices = [option_of(one, notes) for one in written]
    return options(notes, base, choices, replan=replan, book=book, terms=terms)


def party_of(written: str | None) -> Party:
    """Return who is meant by 'name; a line; another'; without a word, a line to write on."""
    from slabwright.money.model_paper import Party

    parts = [part.strip() for part in (written or "").split(";") if part.strip()]
    return Party(parts[0], tuple(parts[1:])) if parts else Party("_" * 24)
