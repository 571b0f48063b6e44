"""Points as tables and as GeoJSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence

from slabwright.ground.exchange import NamedPoint

DIGITS = 4  # places are written to a tenth of a millimetre
FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a cell that begins so is run as a formula by spreadsheets
NOT_A_GLOBE = (
    "local metres: x to the right along the first wall, y into the house; not longitude and latitude"
)


def points_to_csv(points: Sequence[NamedPoint]) -> str:
    """Return a table with a heading: point, x, y and height in metres, remark.

    A name or remark that a spreadsheet would run as a formula is given a leading apostrophe.
    """
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(["point", "x (m)", "y (m)", "height (m)", "remark"])
    for p in points:
        height = "" if p.height is None else _shown(p.height)
        table.writerow([_safe(p.name), _shown(p.x), _shown(p.y), height, _safe(p.remark)])
    return out.getvalue()


def points_to_geojson(points: Sequence[NamedPoint]) -> str:
    """Return a feature collection (RFC 7946 in form) in local metres, which it says of itself.

    RFC 7946 reads coordinates as longitude and latitude; a drawing program that is told 'no projection'
    reads these as they are.
    """
    features = []
    for p in points:
        place = [round(v, DIGITS) + 0.0 for v in (p.x, p.y, *(() if p.height is None else (p.height,)))]
        features.append(
            {
                "type": "Feature",
                "id": p.name,
                "geometry": {"type": "Point", "coordinates": place},
                "properties": {"name": p.name, "remark": p.remark},
            }
        )
    whole = {"type": "FeatureCollection", "coordinates-are": NOT_A_GLOBE, "features": features}
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _shown(value: float) -> str:
    return f"{round(value, DIGITS) + 0.0:.{DIGITS}f}"


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA) else text
