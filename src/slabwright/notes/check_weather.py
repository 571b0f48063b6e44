"""Whether a day's figures are whole: low and high, moisture, wind and sky, or a file in their place."""

from __future__ import annotations

from slabwright.notes.index import Index
from slabwright.notes.tidy import Path
from slabwright.notes.values import Mapped

_NEEDED = (
    ("low", "low: 61 F"),
    ("high", "high: 88 F"),
    ("wind", "wind: 8 mph"),
    ("sky", "sky: partly cloudy"),
    ("day", "day: 2026-07-14"),
)
_FIGURES = ("low", "high", "humidity", "dew-point", "wind", "sky", "rain", "days")


def check_weather(index: Index, node: Mapped, path: Path) -> None:
    """Say what a weather record lacks, or holds beside a file that already says it."""
    if "file" in node or index.tidier.told((*path, "file")):
        for key in _FIGURES:
            if key in node:
                index.say((*path, key), node[key], "comes from the file: leave out one of the two", None)
        return
    for key, example in _NEEDED:
        if key not in node and not index.tidier.told((*path, key)):
            index.say((*path, key), node, "is missing: a day's weather needs it", example)
    given = [key for key in ("humidity", "dew-point") if key in node or index.tidier.told((*path, key))]
    if not given:
        why = "is missing: a day's weather needs it, or the dew point in its place"
        index.say((*path, "humidity"), node, why, "humidity: 45 %")
    elif len(given) == 2:
        why = "is given beside humidity: leave out one of the two"
        index.say((*path, "dew-point"), node.get("dew-point"), why, None)
