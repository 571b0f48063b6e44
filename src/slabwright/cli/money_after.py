"""The commands for what follows a quote: change orders, and bills for the work so far and the rest."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.group import main
from slabwright.cli.money_in import FILE, PAPERS, sharing
from slabwright.cli.talk import FAILED, UNUSABLE, day_of, leave, talk, write_files
from slabwright.cli.tongue import lang_option
from slabwright.files import alone, head_of

if TYPE_CHECKING:
    from slabwright.money.kept import Kept
    from slabwright.priced import Files

_SHARE = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,4})?)\s*%").fullmatch
SHARED = (
    click.argument("kept", metavar="QUOTE.JSON", type=FILE),
    click.option("--date", "when", metavar="YYYY-MM-DD", help="Day that it is written on; default: today."),
    click.option("--out", type=click.Path(file_okay=False, path_type=Path), help="Default: beside the file."),
    lang_option("Language of the paper."),
    click.option("--paper", type=click.Choice(PAPERS), help="Default: letter or A4, by the job's units."),
)


shared = sharing(SHARED)


def _read(file: Path) -> Kept:
    from slabwright.money.kept import MOST_BYTES, KeptError, read_kept

    try:
        return read_kept(head_of(file, MOST_BYTES))
    except OSError as error:
        leave(UNUSABLE, f"slabwright: {file} cannot be read: {error.strerror}.")
    except KeptError as error:
        leave(UNUSABLE, f"slabwright: {file}: {error}. `slabwright quote` writes such a file, quote.json.")


def _day(when: str | None) -> date:
    written = day_of(when)
    return date.fromisoformat(written) if written else date.today()


def _finish(file: Path, before: Kept, out: Path | None, step: Callable[[], tuple[Kept, Any, Files]]) -> None:
    """Take a step, write its paper and what is kept together: what cannot be written changes nothing."""
    from slabwright.money.kept import KeptError, kept_text

    try:
        made, _, files = step()
    except KeptError as error:
        leave(UNUSABLE, f"slabwright: {error}.")
    papers = [((out or file.parent) / name, content) for name, content in files]
    with alone(file.resolve().parent):
        if _read(file) != before:
            leave(FAILED, f"slabwright: {file} was changed by somebody else meanwhile. Try again.")
        write_files([*papers, (file, kept_text(made).encode())])
    for target, _ in papers:
        talk(f"wrote {target}")
    talk(f"kept in {file}")


def share_of(written: str) -> Decimal:
    """Return a share written in per cent, exact; ValueError for anything else."""
    found = _SHARE(written.strip())
    if not found:
        raise ValueError(f'"{written}" is no share; write for example 60 %')
    return Decimal(found[1]) / 100


@main.command()
@shared
@click.option("--why", "reason", required=True, help="Why, in the language of the paper.")
@click.option("--what", "scope", required=True, help="What changes, in the language of the paper.")
@click.option(
    "--price",
    "asked",
    required=True,
    help="Before tax, such as 250; less is written -80. A $ needs single quotes: '$250'.",
)
@click.option("--days", type=int, default=0, help="Working days added; -1 is one saved.")
@click.option("--again", is_flag=True, help="It is meant, although the order before says the same.")
def change(
    kept: Path,
    when: str | None,
    out: Path | None,
    lang: str,
    paper: str | None,
    reason: str,
    scope: str,
    asked: str,
    days: int,
    again: bool,
) -> None:
    """Write the next change order to a quote, to be signed before it is done.

    QUOTE.JSON is the file that `slabwright quote` wrote. The order is numbered by itself, shows what was
    agreed before and what all comes to with it, and is kept in the same file for the bills to come.
    """
    from slabwright.measure import Both, MeasureError, read_money
    from slabwright.priced import change_job

    before = _read(kept)
    day = _day(when)
    try:
        amount = read_money(asked, bare=before.quote.currency)
    except MeasureError as error:
        raise click.UsageError(f'--price "{asked}": {error.reason}; write for example 250.') from error
    if amount.currency != before.quote.currency:
        raise click.UsageError(f'--price "{asked}": the quote is in {before.quote.currency}.')
    why, what = Both(reason, reason), Both(scope, scope)
    if before.changes and not again:
        last = before.changes[-1]
        if (last.scope, last.price, last.days) == (what, amount.amount, days):
            said = f"change order {last.number} says the same already; was it written twice?"
            leave(UNUSABLE, f"slabwright: {said} If it is meant, add --again.")
    step = partial(change_job, before, reason=why, scope=what, price=amount.amount, days=days, dated=day)
    _finish(kept, before, out, partial(step, paper=paper, lang=lang))


@main.command()
@shared
@click.option(
    "--done",
    "shares",
    multiple=True,
    metavar="ITEM=SHARE",
    help="Share done in all up to now: 'side walk=60 %', 'change 1=100 %', or 'all=50 %'.",
)
@click.option("--final", is_flag=True, help="The last bill: all of it, less what was billed before.")
@click.option("--held", default="0 %", show_default=True, help="Share kept back until the last bill.")
@click.option("--number", help="Number of the bill; default: from the quote's.")
@click.option("--pay-days", type=click.IntRange(0, 365), default=14, show_default=True, help="Days to pay.")
def invoice(
    kept: Path,
    when: str | None,
    out: Path | None,
    lang: str,
    paper: str | None,
    shares: tuple[str, ...],
    final: bool,
    held: str,
    number: str | None,
    pay_days: int,
) -> None:
    """Write a bill for the work so far, or with --final for the rest.

    QUOTE.JSON is the file that `slabwright quote` wrote, with its change orders. What is not named in --done
    stays as the bill before had it. All bills together come to what was agreed, to the cent.
    """
    from slabwright.money.kept import items_of
    from slabwright.priced import bill_job

    if bool(shares) == final:
        raise click.UsageError("say what is done with --done 'side walk=60 %', or --final for the rest.")
    before = _read(kept)
    done: dict[str, Decimal] = {}
    try:
        kept_back = share_of(held)
        for one in shares:
            item, _, share = one.rpartition("=")
            named = items_of(before) if item.strip() == "all" else (item.strip(),)
            done.update(dict.fromkeys(named, share_of(share)))
    except ValueError as error:
        raise click.UsageError(f"{error}.") from error
    step = partial(bill_job, before, done, dated=_day(when), final=final, held=kept_back, number=number)
    _finish(kept, before, out, partial(step, pay_days=pay_days, paper=paper, lang=lang))
