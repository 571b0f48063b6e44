"""Points from and to DXF: POINT entities, named by the text that stands at each."""

from __future__ import annotations

import io
import threading
from collections.abc import Sequence
from importlib import import_module
from typing import Any

from slabwright.ground.exchange import ExchangeError, NamedPoint, Slips, check_size, metres_in, take

NEAR = 0.5  # [m] a text whose place is this close to a point may be its name
LETTERS = 0.1  # [m] height of the names written
LONGEST_NAME = 60
MOST_PAIRS = 200_000  # of a point and a text near it; heaped on one place they grow with their square
INSUNITS = {  # $INSUNITS -> metres; 21 is the US survey foot
    1: 0.0254,
    2: 0.3048,
    3: 1609.344,
    4: 0.001,
    5: 0.01,
    6: 1.0,
    7: 1000.0,
    10: 0.9144,
    14: 0.1,
    21: 1200.0 / 3937.0,
}
METRES = 6
_WRITING = threading.Lock()


def points_from_dxf(
    data: bytes, *, name: str = "points.dxf", unit: str | None = None, near: float = NEAR
) -> tuple[NamedPoint, ...]:
    """Return the POINT entities of a drawing's model space, in the drawing's order [m].

    Each TEXT or MTEXT names the point nearest to it, within `near`; points without one are numbered
    'DXF 1', 'DXF 2', ... Where every point lies at z = 0 the drawing is flat and heights are None.

    :param data: the file's bytes (ASCII or binary DXF).
    :param unit: unit of length where the drawing states none.
    :param near: how far a name may stand from its point [m].
    :raises ExchangeError: naming file and entity of every mistake.
    """
    slips = Slips(name)
    check_size(data, "dxf", slips)
    drawing = _opened(data, slips)
    metres = INSUNITS.get(int(drawing.header.get("$INSUNITS", 0)))
    if unit is not None:
        metres = metres_in(unit, slips, None, "unit") if metres is None else metres
    if metres is None:
        raise slips.stop(None, "$INSUNITS", None, "the drawing states no unit that is known", "unit 'ft'")
    space = drawing.modelspace()
    marks = [entity for entity in space if entity.dxftype() == "POINT"]
    if not marks:
        raise slips.stop(None, "POINT", None, "the drawing holds no POINT entities")
    places = [tuple(float(v) * metres for v in entity.dxf.location) for entity in marks]
    try:
        names = _named(places, _texts(space, metres), near)
    except OverflowError as error:
        raise slips.stop(None, "TEXT", None, "too many points and texts stand on one place") from error
    flat = all(place[2] == 0.0 for place in places)
    points: dict[str, NamedPoint] = {}
    for k, (entity, (x, y, z)) in enumerate(zip(marks, places, strict=True)):
        label = names.get(k) or f"DXF {k + 1}"
        point = NamedPoint(label, x, y, None if flat else z, str(entity.dxf.layer))
        take(points, point, None, f"POINT {entity.dxf.handle}", slips)
    slips.check()
    return tuple(points.values())


def _opened(data: bytes, slips: Slips) -> Any:
    """Return the drawing; a mistake when it is none or when it is broken beyond mending."""
    recover = import_module("ezdxf.recover")
    try:
        return recover.read(io.BytesIO(data))[0]
    except Exception:  # the library raises many kinds on hostile files; all mean the same to a person
        raise slips.stop(None, "", None, "this cannot be read as a DXF drawing") from None


def _texts(space: Any, metres: float) -> list[tuple[float, float, str]]:
    """Return place [m] and words of every text."""
    found: list[tuple[float, float, str]] = []
    for entity in space:
        kind = entity.dxftype()
        if kind not in ("TEXT", "MTEXT"):
            continue
        words = entity.plain_text() if kind == "TEXT" else entity.plain_text(split=False)
        words = " ".join(words.split())
        if words and len(words) <= LONGEST_NAME:
            at = entity.dxf.insert
            found.append((float(at[0]) * metres, float(at[1]) * metres, words))
    return found


def _named(
    places: Sequence[tuple[float, ...]], texts: Sequence[tuple[float, float, str]], near: float
) -> dict[int, str]:
    """Return a text for each point that has one near, closest pairs first, each text once.

    OverflowError where more than MOST_PAIRS are near each other.
    """
    pairs: list[tuple[float, int, int]] = []
    cells: dict[tuple[int, int], list[int]] = {}
    for t, (x, y, _) in enumerate(texts):
        cells.setdefault((int(x // near), int(y // near)), []).append(t)
    for k, (x, y, *_) in enumerate(places):
        i, j = int(x // near), int(y // near)
        for t in (t for di in (-1, 0, 1) for dj in (-1, 0, 1) for t in cells.get((i + di, j + dj), ())):
            apart = ((texts[t][0] - x) ** 2 + (texts[t][1] - y) ** 2) ** 0.5
            if apart <= near:
                pairs.append((apart, k, t))
        if len(pairs) > MOST_PAIRS:
            raise OverflowError
    names: dict[int, str] = {}
    used: set[int] = set()
    for _, k, t in sorted(pairs):
        if k not in names and t not in used:
            names[k] = texts[t][2]
            used.add(t)
    return names


def points_to_dxf(points: Sequence[NamedPoint]) -> str:
    """Return a drawing in metres with one POINT and its name a point; the same points give the same text.

    :param points: places and heights [m]; a point without a height stands at z = 0.
    """
    ezdxf = import_module("ezdxf")
    with _WRITING:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            drawing = ezdxf.new("R2000", setup=False, units=METRES)
            for layer in ("points", "names"):
                drawing.layers.add(layer)
            space = drawing.modelspace()
            for point in points:
                at = (point.x, point.y, point.height or 0.0)
                space.add_point(at, dxfattribs={"layer": "points"})
                place = (point.x + LETTERS, point.y + LETTERS)
                space.add_text(point.name, height=LETTERS, dxfattribs={"layer": "names", "insert": place})
            out = io.StringIO()
            drawing.write(out)
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
    return out.getvalue()


__all__ = ["ExchangeError", "points_from_dxf", "points_to_dxf"]
