"""The command of the pour: what the weather does to the day, as a card on the terminal and as sheets."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from slabwright.cli.group import main
from slabwright.cli.pour_said import CoverSaid, SeenSaid, SetSaid, Written
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
    write_files,
)
from slabwright.cli.tongue import lang_option
from slabwright.cli.weather_in import Fetch, Typed, of_notes, with_pour

if TYPE_CHECKING:
    from slabwright.notes.models import WeatherNotes
    from slabwright.pourday.crew_model import Seen
    from slabwright.pourday.model import Cure, Protection


@main.command("pour")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--weather",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Hourly weather: CSV, EPW, or the US weather service's JSON. Default: the job's own.",
)
@click.option(
    "--fetch",
    is_flag=True,
    help="Ask the US weather service for its forecast of the place. The network is not asked otherwise.",
)
@click.option(
    "--contact",
    metavar="NAME@PLACE",
    envvar="SLABWRIGHT_CONTACT",
    help="With --fetch: who asks, such as your e-mail address; the service wants to know.",
)
@click.option(
    "--kept",
    type=click.Path(file_okay=False, path_type=Path),
    help="With --fetch: folder of answers, used again for an hour; default: weather/ among the sheets.",
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
    "--cover",
    "covers",
    multiple=True,
    type=CoverSaid(),
    metavar="TEXT",
    help='What goes over or round the slab, such as "blankets from 5:30pm to 8am + 2 days". Blankets, '
    "sheets, burlap, shade, windbreak, evaporation retarder. Once for each. Default: the job's own.",
)
@click.option(
    "--cure",
    type=click.Choice(["compound", "blanket", "sheet", "burlap"]),
    help="What goes on after the broom; default: the job's own, else compound.",
)
@click.option(
    "--set",
    "set_seen",
    type=SetSaid(),
    metavar="TEXT",
    help='A set this crew saw with this mix, such as "5 h 20 min at 68F": initial set after batching, and '
    "the concrete's temperature. The mix is held to it.",
)
@click.option(
    "--seen",
    multiple=True,
    type=SeenSaid(),
    metavar="TEXT",
    help='During the pour: "placed at 7:12am", "sheen gone at 9:40am", "broom on panel 2 at 10:15am". The '
    "rest of the day follows it. The first panel where none is named.",
)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the sheets; default: out-NAME beside JOB.",
)
@click.option("--paper", type=click.Choice(["letter", "tabloid", "A4", "A3"]), help="Default: from the job.")
@lang_option("Language of the sheets.")
@click.option("--date", "when", metavar="YYYY-MM-DD", help="Date printed on the sheets; default: none.")
@click.option("--quiet", is_flag=True, help="No talk; only the card and the files' names on stdout.")
def pour(
    job: Path,
    weather: Path | None,
    fetch: bool,
    contact: str | None,
    kept: Path | None,
    day: str | None,
    start: float | None,
    covers: tuple[Protection, ...],
    cure: Cure | None,
    set_seen: tuple[float, float] | None,
    seen: tuple[Seen, ...],
    out: Path | None,
    paper: str | None,
    lang: str,
    when: str | None,
    quiet: bool,
    **figures: Any,
) -> None:
    """Forecast the day that JOB is poured: windows by panel, crew, trucks, go or wait, cure and strip.

    The weather comes from --weather, from figures typed in (--low and so on), with --fetch from the US
    weather service, or from the job file. The card goes to stdout; the sheets (pour.pdf, tables) go into a
    folder. During the pour run it again with --seen. It is a forecast: the crew's own eyes and local rules
    decide.
    """
    from slabwright.plan import pour_sheets_of
    from slabwright.pourday.crew_model import PourAsked

    printed, asked = day_of(when), day_of(day, "--day")
    notes = read_job(job, lang)
    folder = out or job.parent / f"out-{job.stem}"
    said = _said(weather, asked, figures)
    if fetch:
        said = _fetched(said, contact, kept or folder / "weather", asked)
    said = said or of_notes(notes, job)
    if said is None:
        leave(
            UNUSABLE,
            f"slabwright: no weather for {job}. Write for example --weather july.csv, or "
            "--day 2026-07-14 --low 61F --high 88F --humidity 45% --wind 8mph --sky clear",
        )
    if asked is not None:
        said = replace(said, day=asked)
    known = PourAsked(tuple(covers), cure, set_seen, tuple(seen))
    made = with_pour(
        make_plan(notes, job, quiet=quiet), said, start=start, asked=known, lang=lang, quiet=quiet
    )
    steps = Steps(quiet)
    sheets = pour_sheets_of(made, date=printed, paper=paper, lang=lang, on_stage=steps)
    files = [(folder / name, content) for name, content in sheets]
    steps.end()
    write_files(files)
    _card(made, lang)
    for target, _ in files:
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


def _fetched(said: Typed | None, contact: str | None, kept: Path, day: str | None) -> Typed:
    """Return that the forecast is to be asked for; ends with a message where that cannot be."""
    if said is not None:
        other = "--weather" if said.file else "a day's figures"
        leave(UNUSABLE, f"slabwright: --fetch and {other} exclude each other.")
    if not (contact or "").strip():
        leave(
            UNUSABLE,
            "slabwright: --fetch: the weather service wants to know who asks. "
            "Write for example --contact crew@example.org",
        )
    return Typed(day=day, fetch=Fetch(str(contact), kept))


def _record(given: dict[str, Any]) -> WeatherNotes:
    from slabwright.notes.models_weather import WeatherNotes

    return WeatherNotes.model_construct(**given)


def _card(made: Any, lang: str) -> None:
    """Print the card's essentials."""
    from slabwright.sheets.pour_text import card_lines

    for line in card_lines(made, lang):
        click.echo(line)
