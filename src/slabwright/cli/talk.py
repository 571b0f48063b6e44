"""What every command shares: reading a job, planning it, writing files, saying what was found.

Data goes to stdout and talk to stderr. Nothing heavy is imported before a command needs it, so that
`--help` answers at once.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from slabwright.cli.tongue import said, tongue
from slabwright.files import put

if TYPE_CHECKING:
    from slabwright.findings import Finding, Text
    from slabwright.notes.models import Notes
    from slabwright.result import Plan

FINE, STOPPED, UNUSABLE, FAILED = 0, 1, 2, 3
LEVEL_COLOURS = {"stop": "red", "caution": "yellow", "note": "cyan"}


def talk(text: str) -> None:
    """Say something to the person, on stderr, in the language of this run."""
    click.echo(said(text), err=True)


def leave(code: int, text: str) -> NoReturn:
    """Say why on stderr and end with this exit code."""
    talk(text)
    sys.exit(code)


class Steps:
    """Tells on a terminal which stage is at work; silent when stderr is not a terminal."""

    def __init__(self, quiet: bool) -> None:
        self.live = not quiet and sys.stderr.isatty()

    def __call__(self, stage: str) -> None:
        """Show `stage` in place of the one before."""
        if self.live:
            click.echo(f"\r\033[K{said(stage)} ...", err=True, nl=False)

    def end(self) -> None:
        """Clear the line."""
        if self.live:
            click.echo("\r\033[K", err=True, nl=False)


def day_of(when: str | None, option: str = "--date") -> str | None:
    if when is None:
        return None
    from datetime import date

    try:
        return date.fromisoformat(when).isoformat()
    except ValueError:
        leave(UNUSABLE, f'slabwright: {option} "{when}" is no date; write for example 2026-05-04.')


def read_job(job: Path, lang: str = "") -> Notes:
    """Read the job file; ends with every mistake in it where it cannot be used, in `lang` or this run's."""
    from slabwright.notes import NotesError, read_notes

    try:
        return read_notes(job)
    except NotesError as error:
        talk(error.text(lang or tongue()))
        count = len(error.mistakes)
        leave(UNUSABLE, f"{count} mistake{'s' if count != 1 else ''} in {job}; nothing was planned.")


def make_plan(notes: Notes, job: Path, *, quiet: bool) -> Plan:
    from slabwright.plan import PlanError, make

    steps = Steps(quiet)
    try:
        return make(notes, name=job.stem if job.stem != "job" else job.resolve().parent.name, on_stage=steps)
    except PlanError as error:
        steps.end()
        leave(UNUSABLE, f"{job}: {said(str(error))}")
    finally:
        steps.end()


def write_file(target: Path, content: bytes) -> None:
    """Write a file wholly or not at all; ends with FAILED where the machine will not have it."""
    write_files([(target, content)])


def write_files(files: Iterable[tuple[Path, bytes]]) -> None:
    """Write files, all or none, so that no folder holds half of what was made anew beside what is old."""
    try:
        put(files)
    except OSError as error:
        leave(
            FAILED,
            f"slabwright: {error.filename} cannot be written: {error.strerror}. "
            "Nothing was changed. Make room, or choose another folder with --out.",
        )


def show(finding: Finding, notes: Notes, lang: str, *, err: bool = False) -> None:
    """Print one finding with its place, why it is one, and what to do."""
    from slabwright.sheets.words import word

    text = finding.text(system=notes.units, lang=lang)
    line = f" ({word('talk-line', lang, n=finding.line)})" if finding.line else ""
    where = f"{text.where}{line}: " if text.where or line else ""
    show_text(text, where, lang, err=err)


def show_text(text: Text, where: str, lang: str, *, err: bool = True) -> None:
    """Print a finding's words behind its level, `where` before them."""
    from slabwright.sheets.words import word

    level = word(f"talk-{text.level}", lang)
    head = click.style(f"{level:8}", fg=LEVEL_COLOURS[text.level], bold=True)
    click.echo(f"{head}{where}{text.what}", err=err)
    why, do = (word(f"talk-{part}", lang) for part in ("why", "do"))
    wide = max(len(why), len(do))
    click.echo(f"        {why:{wide}} {text.why} [{text.source}]", err=err)
    click.echo(f"        {do:{wide}} {text.do}", err=err)


def _numbered(level: str, n: int) -> str:
    return f"talk-{level}" if n == 1 else f"talk-{level}s"


def sum_up(plan: Plan, lang: str) -> None:
    """Say how many findings there are of each level."""
    from slabwright.sheets.words import word

    counts = {level: sum(f.level == level for f in plan.findings) for level in LEVEL_COLOURS}
    parts = [f"{n} {word(_numbered(level, n), lang)}" for level, n in counts.items() if n]
    talk(f"{plan.notes.title}: {', '.join(parts) if parts else word('talk-nothing', lang)}")


def findings_as_data(plan: Plan, lang: str) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for finding in plan.findings:
        text = finding.text(system=plan.notes.units, lang=lang)
        rows.append(
            {
                "code": f"{finding.room}.{finding.code}",
                "level": text.level,
                "where": text.where,
                "line": finding.line,
                "what": text.what,
                "why": text.why,
                "source": text.source,
                "do": text.do,
            }
        )
    return rows


def code_of(plan: Plan) -> int:
    return STOPPED if any(f.level == "stop" for f in plan.findings) else FINE
