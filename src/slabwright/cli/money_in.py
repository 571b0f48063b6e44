"""Money at the edge: what every command of money takes, and how it says what is wrong with it."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from slabwright.cli.talk import (
    FAILED,
    UNUSABLE,
    day_of,
    leave,
    make_plan,
    read_job,
    show_text,
    talk,
    write_files,
)
from slabwright.cli.tongue import lang_option
from slabwright.files import head_of

if TYPE_CHECKING:
    from slabwright.findings import Finding
    from slabwright.measure import System
    from slabwright.money.model import Book, Learned
    from slabwright.priced import PricedJob, Records

FILE = click.Path(path_type=Path)
BUSINESS = "SLABWRIGHT_BUSINESS"
OPTION_EXAMPLES = (
    "exposed stone finish, 1/2 in thicker, 1 ft wider, fibre in the concrete, take out old patio, "
    "drain P1, P2; several at once: salt finish + 1 ft wider; "
    "on top of another: 1 in thicker after exposed stone finish; "
    "or in short: finish=exposed, thicker=1/2 in, wider=1 ft, steel=fiber, take-out=old patio, drain=P1,P2"
)
T = TypeVar("T")
PAPERS = ("letter", "tabloid", "A4", "A3")


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


SHARED = (
    click.argument("job", type=FILE),
    click.option(
        "--book",
        "books",
        type=FILE,
        multiple=True,
        required=True,
        help="Price book, CSV or XLSX; lines of later ones replace those of earlier ones.",
    ),
    click.option(
        "--record", "records", type=FILE, multiple=True, help="What was done: rates learned from it."
    ),
    click.option("--option", "wanted", multiple=True, help=f"Price a change: {OPTION_EXAMPLES}."),
    click.option("--distance", type=Measured("length", "12 mi"), default=0.0, help="One way, such as 12 mi."),
    click.option(
        "--drive", type=Measured("duration", "30 min"), default=0.0, help="One way, such as 30 min."
    ),
    click.option("--trips", type=click.IntRange(0), help="Trips there and back; default: one a day of work."),
    click.option("--permit", "permits", multiple=True, help="Code of a permit in the book."),
    click.option("--currency", default="USD", show_default=True, help="Of the book (ISO 4217)."),
    click.option("--date", "when", metavar="YYYY-MM-DD", help="Day of pricing; default: today."),
    lang_option("Language."),
    click.option("--paper", type=click.Choice(PAPERS), help="Default: from the job, else letter or A4."),
)


def sharing(parts: Sequence[Callable[..., Any]]) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return what gives a command arguments and options that several commands share, in their order."""

    def given(command: Callable[..., Any]) -> Callable[..., Any]:
        for one in reversed(parts):
            command = one(command)
        return command

    return given


shared = sharing(SHARED)


def tell(finding: Finding, system: System, lang: str) -> None:
    """Show a finding on stderr."""
    text = finding.text(system=system, lang=lang)
    show_text(text, f"{text.where}: " if text.where else "", lang)


def checked_currency(currency: str) -> str:
    """Return a currency that is known; a usage error names those that are."""
    from slabwright.measure.money import CURRENCIES

    if currency not in CURRENCIES:
        raise click.UsageError(f"--currency {currency} is none of {', '.join(sorted(CURRENCIES))}.")
    return currency


def _read(make: Callable[[], T], called: str, undone: str, system: System, lang: str) -> T:
    """Return what is read; every mistake is told, and ends with UNUSABLE."""
    from slabwright.priced import NotUsableError

    try:
        return make()
    except OSError as error:
        leave(UNUSABLE, f"slabwright: {error.filename} cannot be read: {error.strerror}.")
    except NotUsableError as error:
        for finding in error.findings:
            tell(finding, system, lang)
        wrong = sum(finding.level == "stop" for finding in error.findings)
        leave(UNUSABLE, f"{wrong} mistake{'s' if wrong > 1 else ''} in {called}; {undone}.")


def read_book(files: Sequence[Path], currency: str, system: System, lang: str) -> Book:
    """Return the books laid over each other; every mistake is told, and ends with UNUSABLE."""
    from slabwright.priced import read_books

    called = " + ".join(file.name for file in files)
    book = _read(lambda: read_books(files, currency=currency), called, "nothing was priced", system, lang)
    for finding in book.findings:
        tell(finding, system, lang)
    return book


def read_record(files: Sequence[Path], system: System, lang: str) -> Records:
    """Return the records of files; mistakes are told, and end with UNUSABLE."""
    from slabwright.priced import read_records

    records = _read(lambda: read_records(files), "the records", "nothing was learned", system, lang)
    for finding in records.findings:
        tell(finding, system, lang)
    return records


def learn_told(book: Book, records: Records, system: System, lang: str, keep: Iterable[int] = ()) -> Learned:
    """Return what records teach, its findings told; a book that was taught already ends with UNUSABLE."""
    from slabwright.priced import learn_from

    try:
        made = learn_from(book, records, keep=keep)
    except ValueError as error:
        leave(UNUSABLE, f"slabwright: {error}.")
    for finding in made.findings:
        tell(finding, system, lang)
    return made


@dataclass(frozen=True, slots=True)
class Asked:
    """A job as a command was asked to price it."""

    priced: PricedJob
    day: date
    paper: str | None
    lang: str

    @property
    def system(self) -> System:
        """The units of the job."""
        return self.priced.plan.notes.units


def price_asked(
    *,
    job: Path,
    books: tuple[Path, ...],
    records: tuple[Path, ...],
    wanted: tuple[str, ...],
    distance: float,
    drive: float,
    trips: int | None,
    permits: tuple[str, ...],
    currency: str,
    when: str | None,
    lang: str,
    paper: str | None,
) -> Asked:
    """Read, plan and price; ends with a message where something cannot be used."""
    from slabwright.money.model import JobTerms
    from slabwright.money.wanted import WantedError, options_of
    from slabwright.priced import price_job, put_to_use

    checked_currency(currency)
    written = day_of(when)
    day = date.fromisoformat(written) if written else date.today()
    notes = read_job(job, lang)
    system = notes.units
    book = read_book(books, currency, system, lang)
    try:
        choices = options_of(wanted, system)
    except WantedError as error:
        raise click.UsageError(f"--option {error.said(lang)}.") from error
    learned = None
    if records:
        read = read_record(records, system, lang)
        learned = learn_told(book, read, system, lang)
        book, notes = put_to_use(book, notes, read, learned)
    plan = make_plan(notes, job, quiet=False)
    terms = JobTerms(trips=trips, distance=distance, drive=drive, permits=permits, dated=day)
    priced = price_job(plan, book, terms=terms, choices=choices, learned=learned)
    return Asked(priced, day, paper, lang)


def tell_all(one: Asked, found: Iterable[Finding]) -> None:
    """Tell findings once each, without notes."""
    told: list[Finding] = []
    for finding in found:
        if finding not in told and finding.level != "note":
            told.append(finding)
            tell(finding, one.system, one.lang)


def write_all(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write files into a folder, all or none, and say so."""
    made = [(folder / name, content) for name, content in files]
    write_files(made)
    for target, _ in made:
        talk(f"wrote {target}")


def business_of(written: str | None, paper: str = "quote") -> str | None:
    """Return who writes, from the option or the environment; says where there is nobody."""
    business = written or os.environ.get(BUSINESS)
    if not business:
        talk(f"no --business was given: the {paper} has a line to write it on")
    return business


def must_not_follow(file: Path) -> None:
    """End with FAILED where a quote stands in `file` that change orders or bills hang on already."""
    from slabwright.money.kept import MOST_BYTES, KeptError, read_kept

    if not file.exists():
        return
    try:
        kept = read_kept(head_of(file, MOST_BYTES))
        follows = bool(kept.changes or kept.bills)
    except (OSError, KeptError):
        follows = True  # somebody else's file, or a damaged one: not ours to throw away
    if follows:
        said = f"{file} keeps change orders or bills and was left alone"
        leave(FAILED, f"slabwright: {said}; choose another --out.")
