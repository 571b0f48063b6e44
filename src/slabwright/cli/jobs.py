"""The commands of a job: new, check, plan, schema, completion."""

from __future__ import annotations

import json
import sys
from contextlib import suppress
from pathlib import Path

import click

from slabwright.cli.group import main
from slabwright.cli.talk import (
    FAILED,
    Steps,
    code_of,
    day_of,
    findings_as_data,
    leave,
    make_plan,
    read_job,
    show,
    sum_up,
    talk,
    write_files,
)
from slabwright.cli.tongue import lang_option
from slabwright.cli.weather_in import of_notes, with_pour

USES = ("walk", "patio", "driveway", "apron", "pad", "landing")


@main.command()
@click.argument("use", type=click.Choice(USES), default="walk")
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write to this file; '-' or none: stdout.",
)
@click.option("--metric", is_flag=True, help="Write the example in metres and millimetres.")
@lang_option("Language of its names and comments.")
def new(use: str, output: Path | None, metric: bool, lang: str) -> None:
    """Write a job file to fill in, for a slab of this USE.

    The file is a small made-up job that already plans as it stands; put your own readings in place of
    its own. A file that is there is never overwritten.
    """
    from slabwright.notes.writer import new_job

    text = new_job(use, metric=metric, lang=lang)
    if output is None or str(output) == "-":
        click.echo(text, nl=False)
        return
    try:
        with output.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        leave(FAILED, f"slabwright: {output} is there already and was left alone; choose another name.")
    except OSError as error:
        with suppress(OSError):
            output.unlink()  # half a job file would be left alone by the next try
        leave(FAILED, f"slabwright: {output} cannot be written: {error.strerror}.")
    talk(f"wrote {output}; next: slabwright check {output}")


@main.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@lang_option("Language of findings and mistakes.")
def check(job: Path, as_json: bool, lang: str) -> None:
    """Read JOB, plan it, and list what was found. Writes no files.

    \b
    stop     do not build it like this
    caution  look again before you pour
    note     good to know
    """
    notes = read_job(job, lang)
    plan = make_plan(notes, job, quiet=as_json)
    weather = of_notes(notes, job)
    if weather is not None:
        plan = with_pour(plan, weather, lang=lang, quiet=as_json)
    if as_json:
        click.echo(json.dumps(findings_as_data(plan, lang), indent=1, ensure_ascii=False))
    else:
        for finding in plan.findings:
            show(finding, notes, lang)
        sum_up(plan, lang)
    sys.exit(code_of(plan))


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
@lang_option("Language of the sheets.")
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

    day = day_of(when)
    notes = read_job(job, lang)
    folder = out or job.parent / f"out-{job.stem}"
    made = make_plan(notes, job, quiet=quiet)
    weather = of_notes(notes, job)
    if weather is not None:
        made = with_pour(made, weather, lang=lang, quiet=quiet)
    steps = Steps(quiet)
    made_files = []
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
        made_files.append((target, content))
    steps.end()
    write_files(made_files)
    for target, _ in made_files:
        click.echo(str(target))
    if not quiet:
        for finding in made.findings:
            if finding.level != "note":
                show(finding, notes, lang, err=True)
        sum_up(made, lang)
        talk(f"open {folder / 'packet.pdf'}")
    sys.exit(code_of(made))


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
