"""The command line: thin, it reads, calls plan, prints.

Data goes to stdout and talk to stderr. Nothing heavy is imported before a command needs it, so that
`--help` answers at once.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from slabwright import __version__

if TYPE_CHECKING:
    from slabwright.findings import Finding
    from slabwright.notes.models import Notes
    from slabwright.result import Plan

FINE, STOPPED, UNUSABLE, FAILED = 0, 1, 2, 3
USES = ("walk", "patio", "driveway", "apron", "pad", "landing")
LEVEL_COLOURS = {"stop": "red", "caution": "yellow", "note": "cyan"}

EXIT_CODES = """\b
Exit codes:
  0  planned, nothing stands in the way
  1  planned, but a finding says stop: do not build it like this
  2  the notes cannot be used; what is wrong is listed with its line
  3  the machine would not do it (a full disk, a folder that cannot be written)
"""


def talk(text: str) -> None:
    """Say something to the person, on stderr."""
    click.echo(text, err=True)


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
            click.echo(f"\r\033[K{stage} ...", err=True, nl=False)

    def end(self) -> None:
        """Clear the line."""
        if self.live:
            click.echo("\r\033[K", err=True, nl=False)


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog=EXIT_CODES,
)
@click.version_option(__version__, "-V", "--version", prog_name="slabwright")
def main() -> None:
    """Field notes of a concrete walk, patio or driveway in; a plan that a crew can build from out.

    \b
    Start here:
      slabwright new walk -o job.yaml    a job file to fill in, with every key explained
      slabwright check job.yaml          what is wrong or missing, and what to do about it
      slabwright plan job.yaml           the packet: sheets, tables and plan.json in a folder

    Write down what you read on site (tape pulls, rod readings); never work out a coordinate.
    Everything printed is a plan to check on site. Local codes and licensed practice decide.
    """


@main.command()
@click.argument("use", type=click.Choice(USES), default="walk")
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write to this file; '-' or none: stdout.",
)
@click.option("--metric", is_flag=True, help="Write the example in metres and millimetres.")
def new(use: str, output: Path | None, metric: bool) -> None:
    """Write a job file to fill in, for a slab of this USE.

    The file is a small made-up job that already plans as it stands; put your own readings in place of
    its own. A file that is there is never overwritten.
    """
    from slabwright.notes.templates import new_job

    text = new_job(use, metric=metric)
    if output is None or str(output) == "-":
        click.echo(text, nl=False)
        return
    try:
        with output.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        leave(FAILED, f"slabwright: {output} is there already and was left alone; choose another name.")
    except OSError as error:
        leave(FAILED, f"slabwright: {output} cannot be written: {error.strerror}.")
    talk(f"wrote {output}; next: slabwright check {output}")


@main.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@click.option("--lang", type=click.Choice(["en", "es"]), default="en", help="Language of the findings.")
def check(job: Path, as_json: bool, lang: str) -> None:
    """Read JOB, plan it, and list what was found. Writes no files.

    \b
    stop     do not build it like this
    caution  look again before you pour
    note     good to know
    """
    notes = _read(job)
    plan = _make(notes, job, quiet=as_json)
    if as_json:
        click.echo(json.dumps(_findings_as_data(plan, lang), indent=1, ensure_ascii=False))
    else:
        for finding in plan.findings:
            _show(finding, notes, lang)
        _sum_up(plan)
    sys.exit(_code(plan))


@main.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the packet; default: out-NAME beside JOB.",
)
@click.option(
    "--date", "when", metavar="YYYY-MM-DD", help="Date printed on the sheets; default: none, left to fill in."
)
@click.option("--revision", default="", help="Revision printed on the sheets.")
@click.option(
    "--paper",
    type=click.Choice(["letter", "tabloid", "A4", "A3"]),
    help="Default: from the job, else letter or A4.",
)
@click.option("--lang", type=click.Choice(["en", "es"]), default="en", help="Language of the sheets.")
@click.option(
    "--picture",
    type=click.Path(file_okay=False, path_type=Path),
    help="Also draw each sheet as a PNG into this folder.",
)
@click.option("--quiet", is_flag=True, help="No talk; only the files' names on stdout.")
def plan(
    job: Path,
    out: Path | None,
    when: str | None,
    revision: str,
    paper: str | None,
    lang: str,
    picture: Path | None,
    quiet: bool,
) -> None:
    """Plan JOB and write its packet: PDF, SVG and DXF sheets, CSV and XLSX tables, plan.json.

    The same notes give the same bytes; a date appears only when you give one with --date.
    """
    from slabwright.plan import sheets_of

    day = _day(when)
    notes = _read(job)
    folder = out or job.parent / f"out-{job.stem}"
    made = _make(notes, job, quiet=quiet)
    steps = Steps(quiet)
    names = []
    for name, content in sheets_of(
        made,
        date=day,
        revision=revision,
        paper=paper,
        lang=lang,
        pictures=picture is not None,
        on_stage=steps,
    ):
        target = picture / Path(name).name if picture is not None and name.endswith(".png") else folder / name
        _write(target, content)
        names.append(target)
    steps.end()
    for target in names:
        click.echo(str(target))
    if not quiet:
        for finding in made.findings:
            if finding.level != "note":
                _show(finding, notes, lang, err=True)
        _sum_up(made)
        talk(f"open {folder / 'packet.pdf'}")
    sys.exit(_code(made))


@main.command()
@click.argument("which", type=click.Choice(["job", "plan"]), default="job")
def schema(which: str) -> None:
    """Print the JSON Schema (2020-12) of the job file (job) or of plan.json (plan).

    An editor that knows JSON Schema completes keys and marks slips while you type; a program that reads
    plan.json can rely on it. Keys of plan.json end in their unit, as in length_m.
    """
    if which == "job":
        from slabwright.notes.schema import job_schema

        document = job_schema()
    else:
        from slabwright.plan import plan_schema

        document = plan_schema()
    click.echo(json.dumps(document, indent=1, ensure_ascii=False))


@main.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print the completion script of a SHELL.

    \b
    bash:  slabwright completion bash >> ~/.bashrc
    zsh:   slabwright completion zsh >> ~/.zshrc
    fish:  slabwright completion fish > ~/.config/fish/completions/slabwright.fish
    """
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    if kind is None:  # pragma: no cover - click knows all three
        leave(FAILED, f"slabwright: no completion for {shell}.")
    click.echo(kind(main, {}, "slabwright", "_SLABWRIGHT_COMPLETE").source())


def _day(when: str | None) -> str | None:
    if when is None:
        return None
    from datetime import date

    try:
        return date.fromisoformat(when).isoformat()
    except ValueError:
        leave(UNUSABLE, f'slabwright: --date "{when}" is no date; write for example 2026-05-04.')


def _read(job: Path) -> Notes:
    from slabwright.notes.reader import NotesError, read_notes

    try:
        return read_notes(job)
    except NotesError as error:
        talk(str(error))
        count = len(error.mistakes)
        leave(UNUSABLE, f"{count} mistake{'s' if count != 1 else ''} in {job}; nothing was planned.")


def _make(notes: Notes, job: Path, *, quiet: bool) -> Plan:
    from slabwright.plan import PlanError, make

    steps = Steps(quiet)
    try:
        return make(notes, name=job.stem if job.stem != "job" else job.resolve().parent.name, on_stage=steps)
    except PlanError as error:
        steps.end()
        leave(UNUSABLE, f"{job}: {error}")
    finally:
        steps.end()


def _write(target: Path, content: bytes) -> None:
    """Write beside the target first and rename, so that a full disk never leaves half a sheet."""
    part = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(content)
        os.replace(part, target)
    except OSError as error:
        part.unlink(missing_ok=True) if part.parent.is_dir() else None
        leave(
            FAILED,
            f"slabwright: {target} cannot be written: {error.strerror}. Choose another folder with --out.",
        )


def _show(finding: Finding, notes: Notes, lang: str, *, err: bool = False) -> None:
    text = finding.text(system=notes.units, lang=lang)
    line = f" (line {finding.line})" if finding.line else ""
    head = click.style(f"{text.level:8}", fg=LEVEL_COLOURS[text.level], bold=True)
    where = f"{text.where}{line}: " if text.where or line else ""
    click.echo(f"{head}{where}{text.what}", err=err)
    click.echo(f"        why: {text.why} [{text.source}]", err=err)
    click.echo(f"        do:  {text.do}", err=err)


def _sum_up(plan: Plan) -> None:
    counts = {level: sum(f.level == level for f in plan.findings) for level in LEVEL_COLOURS}
    parts = [f"{n} {level}{'s' if n != 1 else ''}" for level, n in counts.items() if n]
    talk(f"{plan.notes.title}: {', '.join(parts) if parts else 'nothing found'}")


def _findings_as_data(plan: Plan, lang: str) -> list[dict[str, object]]:
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


def _code(plan: Plan) -> int:
    return STOPPED if any(f.level == "stop" for f in plan.findings) else FINE
