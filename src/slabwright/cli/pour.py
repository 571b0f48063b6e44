"""The command of the pour: what the weather does to the day, as a card on the terminal and as sheets."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.group import main
from slabwright.cli.talk import (
    UNUSABLE,
    Steps,
    code_of,
    day_of,
    leave,
    make_plan,
    read_job,
    show,
    talk,
    write_file,
)
from slabwright.cli.weather_in import Typed, of_notes, with_pour

if TYPE_CHECKING:
    from slabwright.notes.models import WeatherNotes

    Kind = click.ParamType[Any]
else:
    Kind = click.ParamType  # older releases cannot be subscripted when they run


class Written(Kind):
    """A value as the job file holds it: with its unit, in the trade's words."""

    def __init__(self, key: str) -> None:
        """Take the key of the weather record that it is read as; 'start' is a time of day."""
        self.key = key
        self.name = key

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the value in SI; a usage error says what was written and what would do."""
        from pydantic import TypeAdapter, ValidationError

        from slabwright.notes.models_weather import WeatherNotes
        from slabwright.notes.values import Clock

        kind = (
            Clock if self.key == "start" else WeatherNotes.__pydantic_fields__[self.key].rebuild_annotation()
        )
        try:
            return TypeAdapter(kind).validate_python(value)
        except ValidationError as error:
            cause = error.errors()[0].get("ctx", {}).get("error")
            reason = getattr(cause, "reason", None) or str(cause or "cannot be read")
            example = getattr(cause, "example", None)
            stop = "" if reason.endswith(("?", ".")) else "."
            shown = f" Write for example {example}" if example else ""
            return self.fail(f'"{value}": {reason}{stop}{shown}', param, ctx)


@main.command("pour")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--weather",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Hourly weather: CSV, EPW, or the US weather service's JSON. Default: the job's own.",
)
@click.option(
    "--day", metavar="YYYY-MM-DD", help="Day of the pour; default: the first whole day of the file."
)
@click.option("--start", type=Written("start"), help="First truck, such as 7:00am; default: the crew's own.")
@click.option("--low", type=Written("low"), help="In place of a file: the day's low, such as 61F.")
@click.option("--high", type=Written("high"), help="The day's high, such as 88F.")
@click.option(
    "--humidity", type=Written("humidity"), help="Its humidity at the mean temperature, such as 45%."
)
@click.option("--dew-point", type=Written("dew_point"), help="Or its dew point, such as 55F.")
@click.option("--wind", type=Written("wind"), help="Its mean wind in the open, such as 8mph.")
@click.option(
    "--sky", type=Written("sky"), help="Its sky: clear, partly cloudy, overcast, or cloud in percent."
)
@click.option("--rain", type=Written("rain"), help="Its chance of rain, such as 10%.")
@click.option("--days", type=Written("days"), help="For how many days running the figures hold; default 3.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the sheets; default: out-NAME beside JOB.",
)
@click.option("--paper", type=click.Choice(["letter", "tabloid", "A4", "A3"]), help="Default: from the job.")
@click.option("--lang", type=click.Choice(["en", "es"]), default="en", help="Language of the sheets.")
@click.option("--date", "when", metavar="YYYY-MM-DD", help="Date printed on the sheets; default: none.")
@click.option("--quiet", is_flag=True, help="No talk; only the card and the files' names on stdout.")
def pour(
    job: Path,
    weather: Path | None,
    day: str | None,
    start: float | None,
    out: Path | None,
    paper: str | None,
    lang: str,
    when: str | None,
    quiet: bool,
    **figures: Any,
) -> None:
    """Forecast the day that JOB is poured: windows by panel, crew, trucks, go or wait, cure and strip.

    The weather comes from --weather, from figures typed in (--low and so on), or from the job file. The
    card goes to stdout; the sheets (pour.pdf, tables) go into a folder. It is a forecast: the crew's own
    eyes and local rules decide.
    """
    from slabwright.plan import pour_sheets_of

    printed, asked = day_of(when), day_of(day, "--day")
    notes = read_job(job)
    said = _said(weather, asked, figures) or of_notes(notes, job)
    if said is None:
        leave(
            UNUSABLE,
            f"slabwright: no weather for {job}. Write for example --weather july.csv, or "
            "--day 2026-07-14 --low 61F --high 88F --humidity 45% --wind 8mph --sky clear",
        )
    if asked is not None:
        said = Typed(said.file, asked, said.figures)
    made = with_pour(make_plan(notes, job, quiet=quiet), said, start=start, lang=lang, quiet=quiet)
    folder = out or job.parent / f"out-{job.stem}"
    steps = Steps(quiet)
    names = []
    for name, content in pour_sheets_of(made, date=printed, paper=paper, lang=lang, on_stage=steps):
        write_file(folder / name, content)
        names.append(folder / name)
    steps.end()
    _card(made, lang)
    for target in names:
        click.echo(str(target))
    if not quiet:
        for finding in made.findings:
            if finding.room == "pourday" and finding.level != "note":
                show(finding, notes, lang, err=True)
        talk(f"open {folder / 'pour.pdf'}")
    sys.exit(code_of(made))


def _said(weather: Path | None, day: str | None, figures: dict[str, Any]) -> Typed | None:
    """Return what the options say of the weather; None where they say nothing."""
    given = {key: value for key, value in figures.items() if value is not None}
    if weather is not None and given:
        leave(
            UNUSABLE, f"slabwright: --weather and --{next(iter(given)).replace('_', '-')} exclude each other."
        )
    if weather is not None:
        return Typed(file=weather, day=day)
    if not given:
        return None
    missing = [key for key in ("low", "high", "wind", "sky") if key not in given]
    if "humidity" not in given and "dew_point" not in given:
        missing.append("humidity")
    if day is None:
        missing.append("day")
    if missing:
        wanted = ", ".join(f"--{key.replace('_', '-')}" for key in missing)
        leave(
            UNUSABLE,
            f"slabwright: a day's figures are not whole: write {wanted} too.",
        )
    return Typed(day=day, figures=_record(given))


def _record(given: dict[str, Any]) -> WeatherNotes:
    from slabwright.notes.models_weather import WeatherNotes

    return WeatherNotes.model_construct(**given)


def _card(made: Any, lang: str) -> None:
    """Print the card's essentials."""
    from slabwright.sheets.pour_text import card_lines

    for line in card_lines(made, lang):
        click.echo(line)
