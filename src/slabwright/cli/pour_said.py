"""What is typed on the command line about a pour: figures, covers, a set time, things seen."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from slabwright.pourday.crew_model import Seen
    from slabwright.pourday.model import Protection

    Kind = click.ParamType[Any]
else:
    Kind = click.ParamType  # older releases cannot be subscripted when they run

COVERS = {
    "blanket": "blanket",
    "blankets": "blanket",
    "sheet": "sheet",
    "sheets": "sheet",
    "plastic": "sheet",
    "burlap": "burlap",
    "wet burlap": "burlap",
    "shade": "shade",
    "windbreak": "windbreak",
    "evaporation retarder": "film",
}
WHATS = {"placed": "placed", "sheen gone": "sheen_gone", "broom": "broom", "first broom": "broom"}
COVER = re.compile(r"(?P<cover>.+?) from (?P<on>.+?)(?: to (?P<off>.+?))?(?: \+ ?(?P<days>\d) ?d(?:ays?)?)?")
SEEN = re.compile(r"(?P<what>.+?)(?: on (?:(?P<slab>.+?), *)?(?:panel )?(?P<panel>[^,]+?))? at (?P<clock>.+)")
SET = re.compile(r"(?P<time>.+?) at (?P<warm>.+)")


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


class Said(Kind):
    """A line in the trade's words; a usage error says what was written and what would do."""

    example = ""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return what the line says, in SI."""
        from slabwright.measure import MeasureError

        if not isinstance(value, str):
            return value
        text = " ".join(value.split())
        try:
            return self.read(text)
        except MeasureError as error:
            return self.fail(f'"{text}": {error}', param, ctx)
        except ValueError as error:
            return self.fail(f'"{text}": {error}. Write for example "{self.example}"', param, ctx)

    def read(self, text: str) -> Any:
        """Return what a line says; ValueError where it cannot be read."""
        raise NotImplementedError


class CoverSaid(Said):
    """'blankets from 5:30pm to 8am + 2 days': off is the next time the clock shows that, and days more."""

    name = "cover"
    example = "blankets from 5:30pm to 8am + 2 days"

    def read(self, text: str) -> Protection:
        """Return the cover with its clocks [s]."""
        from slabwright.measure import read
        from slabwright.pourday.from_job import protection

        match = COVER.fullmatch(text.lower())
        if match is None:
            raise ValueError("a cover is said with its hour")
        cover = COVERS.get(match["cover"])
        if cover is None:
            raise ValueError(f"{match['cover']} is none of {', '.join(COVERS)}")
        on = read("clock", match["on"])
        if match["off"] is None and match["days"] is not None:
            raise ValueError("days belong behind the hour that it comes off")
        off = None if match["off"] is None else read("clock", match["off"])
        return protection(cover, on, off, int(match["days"] or 0))  # type: ignore[arg-type]


class SeenSaid(Said):
    """'sheen gone on panel 1 at 9:40am', 'placed at 7:12am', 'broom on patio, 2 at 10:15am'."""

    name = "seen"
    example = "sheen gone on panel 1 at 9:40am"

    def read(self, text: str) -> Seen:
        """Return what was seen, with its clock [s]."""
        from slabwright.measure import read
        from slabwright.pourday.crew_model import Seen

        match = SEEN.fullmatch(text)
        if match is None:
            raise ValueError("what was seen is said with its hour")
        what = WHATS.get(match["what"].lower())
        if what is None:
            raise ValueError(f"{match['what']} is none of {', '.join(WHATS)}")
        clock = read("clock", match["clock"])
        return Seen(what, clock, match["panel"] or "", match["slab"] or "")  # type: ignore[arg-type]


class SetSaid(Said):
    """'5 h 20 min at 68F': initial set after batching, and the concrete's temperature."""

    name = "set"
    example = "5 h 20 min at 68F"

    def read(self, text: str) -> tuple[float, float]:
        """Return the time [s] and the temperature [degC]."""
        from slabwright.measure import read

        match = SET.fullmatch(text)
        if match is None:
            raise ValueError("a set is said with the concrete's temperature")
        return read("duration", match["time"]), read("temperature", match["warm"])
