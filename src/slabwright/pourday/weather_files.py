"""Files of hourly weather: a plain CSV table, EPW typical years, and the US weather service's JSON.

CSV: a header line names the columns and the unit of each ('temperature F', 'humidity %', 'wind mph',
'sky %', 'rain %', 'sun W/m2', 'dew point F'); `time` is ISO 8601, with its offset or in the site's zone. A
cell may carry its own unit. Empty cells, 'NA' and '-' are missing.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from itertools import pairwise
from typing import Any

from slabwright.findings import Finding, find
from slabwright.measure import MeasureError, read
from slabwright.pourday.model import Site, Weather
from slabwright.pourday.tables import skies
from slabwright.pourday.weather import WeatherError, WeatherRow, local_moment, weather_of, zone_of

MOST_BYTES = 20_000_000
LONGEST_SPELL = 400  # [h]
COLUMNS = {
    "temperature": "temperature",
    "temp": "temperature",
    "air": "temperature",
    "dew point": "dew",
    "dew": "dew",
    "humidity": "humidity",
    "rh": "humidity",
    "wind": "wind",
    "sky": "cloud",
    "cloud": "cloud",
    "rain": "rain",
    "sun": "sun",
}
KINDS = {
    "temperature": ("temperature", "F"),
    "dew": ("temperature", "F"),
    "humidity": ("percent", "%"),
    "wind": ("speed", "mph"),
    "cloud": ("percent", "%"),
    "rain": ("percent", "%"),
}
MISSING = {"", "na", "n/a", "nan", "-", "--", "null", "none"}
HEAD = re.compile(r"\s*(?P<name>[A-Za-z ]+?)\s*(?:[(\[_ ]\s*(?P<unit>[A-Za-z0-9%/]+)\s*[)\]]?)?\s*$")
Read = tuple[Weather, tuple[Finding, ...]]


def read_csv(text: str, site: Site, *, origin: str = "the weather table") -> Read:
    """Return hourly weather from a CSV table. WeatherError where it cannot be used."""
    _not_too_big(text, origin)
    try:
        table = list(csv.reader(io.StringIO(text.lstrip("\ufeff"))))
    except csv.Error as error:
        raise WeatherError(f"{origin} is not a table: {error}") from error
    start = next((i for i, cells in enumerate(table) if any(cell.strip() for cell in cells)), None)
    if start is None:
        raise WeatherError(f"{origin} is empty")
    fields = _header(table[start], origin)
    zone = zone_of(site)
    found: list[Finding] = []
    rows: list[WeatherRow] = []
    before: datetime | None = None
    for line, cells in enumerate(table[start + 1 :], start + 2):
        if not any(cell.strip() for cell in cells):
            continue
        row = _csv_row(line, cells, fields, zone, before, found)
        if row is not None:
            before = row.when
            rows.append(row)
    try:
        weather, more = weather_of(rows, zone=zone, origin=origin)
    except WeatherError as error:
        error.findings = (*found, *error.findings)
        raise
    return weather, (*found, *more)


def _header(cells: list[str], origin: str) -> list[tuple[str, str] | None]:
    """Return each column's field and unit, None for one that is not ours."""
    fields: list[tuple[str, str] | None] = []
    for cell in cells:
        match = HEAD.match(cell)
        words = match["name"].strip().lower() if match else ""
        unit = (match["unit"] or "") if match else ""
        if words == "time":
            fields.append(("time", ""))
        elif words in COLUMNS:
            fields.append((COLUMNS[words], unit))
        elif match and f"{words} {unit.lower()}" in COLUMNS:  # 'dew point' without a unit
            fields.append((COLUMNS[f"{words} {unit.lower()}"], ""))
        else:
            fields.append(None)
    named = [field[0] for field in fields if field]
    if "time" not in named:
        raise WeatherError(f"{origin}: the first line names no column 'time' but {', '.join(cells)}")
    doubled = sorted({name for name in named if named.count(name) > 1})
    if doubled:
        raise WeatherError(f"{origin}: two columns for {', '.join(doubled)}")
    return fields


def _csv_row(
    line: int,
    cells: list[str],
    fields: list[tuple[str, str] | None],
    zone: tzinfo | None,
    before: datetime | None,
    found: list[Finding],
) -> WeatherRow | None:
    values: dict[str, float | None] = {}
    when: datetime | None = None
    for cell, known in zip(cells, fields, strict=False):
        if known is None:
            continue
        name, unit = known
        if name == "time":
            try:
                when = local_moment(cell, zone, after=before)
            except WeatherError as error:
                found.append(find("pourday", "weather-time", where=f"row {line}", said=str(error)))
                return None
        elif cell.strip().lower() in MISSING:
            values[name] = None
        else:
            values[name] = _cell(line, name, unit, cell, found)
    if when is None:
        found.append(find("pourday", "weather-time", where=f"row {line}", said="the row has no time"))
        return None
    return WeatherRow(line, when, values)


def _cell(line: int, name: str, unit: str, cell: str, found: list[Finding]) -> float | None:
    """Return one cell [SI], None with a finding where it cannot be read."""
    try:
        if name == "sun":
            return float(cell)
        kind, usual = KINDS[name]
        bare = unit or usual
        if kind == "percent" and not unit and cell.strip().endswith("%"):
            bare = "%"
        return read(kind, cell.strip(), bare=bare)
    except (MeasureError, ValueError) as error:
        found.append(find("pourday", "weather-unread", where=f"row {line}", what=name, said=str(error)))
        return None


def read_epw(text: str, first: date, days: int, site: Site, *, origin: str = "the EPW file") -> Read:
    """Return `days` of a typical year from the date `first` on, on that year's calendar.

    Hour h of the file covers (h - 1, h], so the sun of a row belongs to the hour before it. The file has
    no 29 February: the hours of the 28th stand in for it, and a finding says so. The clock is standard time.
    """
    _not_too_big(text, origin)
    lines = text.splitlines()
    if len(lines) < 9 or not lines[0].upper().startswith("LOCATION"):
        raise WeatherError(f"{origin} does not begin with LOCATION and seven more header lines")
    zone = _epw_zone(lines[0], origin)
    table, found = _epw_table(lines[8:])
    rows: list[WeatherRow] = []
    leap = False
    for k in range(days * 24 + 2):
        when = datetime(first.year, first.month, first.day, tzinfo=zone) + timedelta(hours=k)
        stamp = when - timedelta(hours=1)  # the row's own hour ends at `when`
        day = (stamp.month, stamp.day)
        if day == (2, 29) and day not in {key[:2] for key in table}:
            day, leap = (2, 28), True
        here = table.get((*day, stamp.hour + 1))
        if here is None:
            continue
        line, values = here
        rows.append(WeatherRow(line, when, dict(values)))
    for row, later in pairwise(rows):
        row.values["sun"] = later.values.get("sun")
    rows = rows[:-1]  # the sun of its last hour is not in the rows taken
    if leap:
        found.append(find("pourday", "weather-leap"))
    found.append(find("pourday", "weather-typical"))
    weather, more = weather_of(rows, zone=zone_of(site) or zone, origin=origin)
    return weather, (*found, *more)


def _epw_zone(line: str, origin: str) -> tzinfo:
    cells = line.split(",")
    try:
        hours = float(cells[8])
    except (IndexError, ValueError) as error:
        raise WeatherError(f"{origin}: LOCATION has no time zone in its ninth field: {line[:80]}") from error
    if not -14 <= hours <= 14:
        raise WeatherError(f"{origin}: LOCATION has a time zone of {hours:g} h")
    return timezone(timedelta(hours=hours))


def _epw_table(
    lines: list[str],
) -> tuple[dict[tuple[int, int, int], tuple[int, dict[str, float | None]]], list[Finding]]:
    """Return values by (month, day, hour 1..24)."""
    table: dict[tuple[int, int, int], tuple[int, dict[str, float | None]]] = {}
    found: list[Finding] = []
    for line, text in enumerate(lines, 9):
        cells = text.split(",")
        if len(cells) < 24:
            if text.strip():
                said = f"{len(cells)} fields, at least 24 are wanted"
                found.append(find("pourday", "weather-unread", where=f"row {line}", what="row", said=said))
            continue
        try:
            stamp = (int(cells[1]), int(cells[2]), int(cells[3]))
            warm, dew, moist = (float(cells[i]) for i in (6, 7, 8))
            sun, wind, sky = (float(cells[i]) for i in (13, 21, 23))
        except ValueError as error:
            found.append(find("pourday", "weather-unread", where=f"row {line}", what="row", said=str(error)))
            continue
        table[stamp] = (
            line,
            {
                "temperature": None if warm >= 99.9 else warm,
                "dew": None if dew >= 99.9 else dew,
                "humidity": None if moist >= 999 else moist / 100.0,
                "wind": None if wind >= 999 else wind,
                "cloud": None if sky >= 99 else sky / 10.0,
                "sun": None if sun >= 9999 else sun,
            },
        )
    return table, found


def read_nws(text: str, site: Site, *, origin: str = "the forecast") -> Read:
    """Return hourly weather from the US weather service's JSON: hourly periods or the grid's layers."""
    _not_too_big(text, origin)
    try:
        properties = json.loads(text)["properties"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise WeatherError(f"{origin} is not a forecast of the weather service: {error}") from error
    if not isinstance(properties, dict):
        raise WeatherError(f"{origin} is not a forecast of the weather service")
    try:
        rows = _periods(properties) if "periods" in properties else _layers(properties)
    except WeatherError:
        raise
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise WeatherError(f"{origin} is not shaped like a forecast: {error!r}") from error
    return weather_of(rows, zone=zone_of(site), origin=origin)


def _periods(properties: dict[str, Any]) -> list[WeatherRow]:
    rows = []
    for line, period in enumerate(properties["periods"], 1):
        unit = str(period.get("temperatureUnit") or "F")
        warm = period.get("temperature")
        if isinstance(warm, dict):
            unit, warm = ("C" if "degC" in str(warm.get("unitCode")) else "F"), warm.get("value")
        rows.append(
            WeatherRow(
                line,
                local_moment(period["startTime"], None),
                {
                    "temperature": None if warm is None else read("temperature", str(warm), bare=unit),
                    "dew": _value(period.get("dewpoint")),
                    "humidity": _share(_value(period.get("relativeHumidity"))),
                    "wind": _wind(period.get("windSpeed")),
                    "cloud": _sky(period.get("shortForecast")),
                    "rain": _share(_value(period.get("probabilityOfPrecipitation"))),
                },
            )
        )
    return rows


def _value(field: Any) -> float | None:
    """Return a {unitCode, value} field in its unit, Fahrenheit as Celsius."""
    if not isinstance(field, dict) or field.get("value") is None:
        return None
    value = float(field["value"])
    return (value - 32.0) / 1.8 if str(field.get("unitCode", "")).endswith("degF") else value


def _share(value: float | None) -> float | None:
    return None if value is None else value / 100.0


def _wind(text: Any) -> float | None:
    """Return the wind [m/s] of '5 to 10 mph', the stronger of the two: it dries more."""
    if isinstance(text, dict):
        return _speed(text.get("maxValue", text.get("value")), str(text.get("unitCode", "")))
    if not isinstance(text, str):
        return None
    numbers = re.findall(r"[0-9]+(?:\.[0-9]+)?", text)
    if not numbers:
        return 0.0 if "calm" in text.lower() else None
    return read("speed", numbers[-1], bare="km/h" if "km" in text else "mph")


def _speed(value: Any, unit: str) -> float | None:
    if value is None:
        return None
    return float(value) / 3.6 if "km_h" in unit else float(value)


def _sky(words: Any) -> float | None:
    said = str(words or "").lower()
    return next((share for term, share in skies() if term in said), None)


LAYERS: dict[str, tuple[str, Callable[[float, str], float]]] = {
    "temperature": ("temperature", lambda v, u: (v - 32.0) / 1.8 if u.endswith("degF") else v),
    "dewpoint": ("dew", lambda v, u: (v - 32.0) / 1.8 if u.endswith("degF") else v),
    "relativeHumidity": ("humidity", lambda v, _: v / 100.0),
    "windSpeed": ("wind", lambda v, u: v / 3.6 if "km_h" in u else v),
    "skyCover": ("cloud", lambda v, _: v / 100.0),
    "probabilityOfPrecipitation": ("rain", lambda v, _: v / 100.0),
}
SPELL = re.compile(r"P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?)?$")


def _layers(properties: dict[str, Any]) -> list[WeatherRow]:
    """Return one row an hour from the grid's layers, each value held for its spell."""
    hours: dict[datetime, dict[str, float | None]] = {}
    for layer, (name, convert) in LAYERS.items():
        field = properties.get(layer)
        if not isinstance(field, dict):
            continue
        unit = str(field.get("uom", ""))
        for entry in field.get("values", ()):
            begins, _, spell = str(entry["validTime"]).partition("/")
            value = entry.get("value")
            start = local_moment(begins, None).astimezone(UTC)
            for k in range(_hours(spell)):
                row = hours.setdefault(start + timedelta(hours=k), {})
                row[name] = None if value is None else convert(float(value), unit)
    return [WeatherRow(n, when, hours[when]) for n, when in enumerate(sorted(hours), 1)]


def _hours(spell: str) -> int:
    match = SPELL.match(spell)
    if not match:
        raise WeatherError(f"{spell!r} is not a length of time like PT3H")
    days, hours, minutes = (int(part or 0) for part in match.groups())
    long = max(1, days * 24 + hours + (1 if minutes >= 30 else 0))
    if long > LONGEST_SPELL:
        raise WeatherError(f"{spell!r} is no spell of a forecast; {LONGEST_SPELL} hours are the most")
    return long


def _not_too_big(text: str, origin: str) -> None:
    if len(text) > MOST_BYTES:
        raise WeatherError(f"{origin} has {len(text):,} characters; {MOST_BYTES:,} are the most")
