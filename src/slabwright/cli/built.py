"""The command for after stripping: what was built against what was planned."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from slabwright.cli.group import main
from slabwright.cli.talk import FINE, STOPPED, UNUSABLE, leave, make_plan, read_job, show, talk, write_file
from slabwright.cli.tongue import lang_option
from slabwright.files import head_of


@main.command("as-built")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("readings", type=click.Path(path_type=Path))
@click.option("--unit", help="Unit of readings that name none: ft, in, m, mm.")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Write the table here.")
@lang_option("Language of the table.")
def as_built(job: Path, readings: Path, unit: str | None, output: Path | None, lang: str) -> None:
    """Compare the finished slab with the plan of JOB.

    READINGS is a CSV of rod readings taken after stripping: point, reading, and set-up where there are
    several. Points are the marks of the grade table; from every set-up read the datum or another
    surveyed point too. The table of differences goes to stdout as CSV, what is out of tolerance to stderr.
    """
    from slabwright.build.as_built import compare
    from slabwright.ground.csv_readings import readings_from_csv
    from slabwright.ground.exchange import LARGEST
    from slabwright.notes import NotesError
    from slabwright.sheets.built_table import built_table
    from slabwright.sheets.table_files import csv_text

    notes = read_job(job, lang)
    try:
        rows = readings_from_csv(head_of(readings, LARGEST["csv"]), name=readings.name, unit=unit)
    except OSError as error:
        leave(UNUSABLE, f"slabwright: {readings} cannot be read: {error.strerror}.")
    except NotesError as error:
        leave(UNUSABLE, error.text(lang))
    plan = make_plan(notes, job, quiet=True)
    heights = {h.name: h.height for h in plan.survey.heights.values()}
    made = compare(plan.shaped, heights, rows)
    table = csv_text(built_table(made, plan, lang), system=notes.units, lang=lang)
    if output is None:
        click.echo(table, nl=False)
    else:
        write_file(output, table.encode())
    for finding in made.findings:
        show(finding, notes, lang, err=True)
    out = sum(not mark.within for mark in made.marks)
    talk(f"{len(made.marks)} marks compared, {out} out of tolerance")
    sys.exit(STOPPED if any(f.level == "stop" for f in made.findings) else FINE)
