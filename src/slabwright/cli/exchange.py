"""Commands that bring readings and points in and give points out, in open formats."""

from __future__ import annotations

from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from pathlib import Path

import click

from slabwright.cli.group import main
from slabwright.cli.talk import FAILED, UNUSABLE, leave, make_plan, read_job, talk, write_file
from slabwright.cli.tongue import tongue
from slabwright.files import head_of

READINGS, POINTS = (".csv",), (".xml", ".dxf")
GIVEN = (".csv", ".geojson", ".json", ".dxf")


@main.command("bring-in")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--set-up", default="brought in", show_default=True, help="Set-up of readings that name none.")
@click.option("--unit", help="Unit of numbers that name none: ft, in, m, mm.")
@click.option("--write", is_flag=True, help="Write into JOB itself; otherwise it goes to stdout.")
def bring_in(job: Path, file: Path, set_up: str, unit: str | None, write: bool) -> None:
    """Add the readings or points of FILE to JOB, leaving its remarks and order alone.

    \b
    .csv   rod readings: point, reading, remark (and set-up, where there are several)
    .xml   points of a LandXML file     .dxf   POINT entities, named by the text beside them

    Points come with the ends of the job's first wall among them, so that they can be laid on it.
    """
    from slabwright.ground.bring_in import with_points, with_readings
    from slabwright.ground.csv_readings import readings_from_csv
    from slabwright.ground.dxf_points import points_from_dxf
    from slabwright.ground.exchange import LARGEST
    from slabwright.ground.landxml import points_from_landxml
    from slabwright.notes import NotesError, WriteError, parse_notes
    from slabwright.notes.reader import MAX_BYTES

    kind = file.suffix.lower()
    if kind not in READINGS + POINTS:
        leave(UNUSABLE, f"slabwright: {file} is none of {', '.join(READINGS + POINTS)}.")
    notes = read_job(job)
    try:
        written = head_of(job, MAX_BYTES)
        data = head_of(file, max(LARGEST.values()))
    except OSError as error:
        leave(UNUSABLE, f"slabwright: {error.filename} cannot be read: {error.strerror}.")
    code = "utf-16" if written.startswith((BOM_UTF16_LE, BOM_UTF16_BE)) else "utf-8"
    text = written.decode(code)  # it was read as notes: it can be decoded
    try:
        if kind in READINGS:
            rows = readings_from_csv(data, name=file.name, unit=unit)
            new, count = with_readings(text, notes, rows, set_up=set_up, name=file.name), len(rows)
        else:
            reader = points_from_landxml if kind == ".xml" else points_from_dxf
            points = reader(data, name=file.name, unit=unit)
            new, count = with_points(text, notes, points, name=file.name), len(points)
        parse_notes(new, name=job.name)
    except (NotesError, WriteError) as error:
        talk(error.text(tongue()) if isinstance(error, NotesError) else str(error))
        leave(UNUSABLE, f"{job} was left as it was.")
    if not write:
        click.echo(new, nl=False)
        return
    if head_of(job, MAX_BYTES) != written:
        leave(FAILED, f"slabwright: {job} was changed by another program meanwhile and was left alone.")
    write_file(job, new.encode(code))
    talk(f"{count} rows of {file.name} were added to {job}; next: slabwright check {job}")


@main.command("points")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="CSV, GeoJSON or DXF by its ending.",
)
def points(job: Path, output: Path | None) -> None:
    """Give out the points of JOB as adjusted, with the finished corners of its slabs.

    Without --output they go to stdout as CSV. Places are local metres: x to the right along the first
    wall, y into the house; heights are above the job's datum.
    """
    from slabwright.ground.dxf_points import points_to_dxf
    from slabwright.ground.exchange import NamedPoint
    from slabwright.ground.export import points_to_csv, points_to_geojson

    kind = output.suffix.lower() if output else ".csv"
    if kind not in GIVEN:
        leave(FAILED, f"slabwright: {output} is none of {', '.join(GIVEN)}.")
    plan = make_plan(read_job(job), job, quiet=True)
    heights = plan.survey.heights
    listed = [
        NamedPoint(p.name, p.x, p.y, heights[p.name].height if p.name in heights else None)
        for p in plan.survey.points.values()
    ]
    listed += [
        NamedPoint(f"{slab.spec.name} {n.label}", n.x, n.y, n.z, "finished")
        for slab in plan.shaped.slabs
        for n in slab.height_plan.nodes
        if not n.shape_only
    ]
    writer = {".csv": points_to_csv, ".dxf": points_to_dxf}.get(kind, points_to_geojson)
    text = writer(listed)
    if output is None:
        click.echo(text, nl=False)
        return
    write_file(output, text.encode())
    talk(f"wrote {len(listed)} points to {output}")
