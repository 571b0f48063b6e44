"""The key under a drawing: what its lines, hatches and signs mean, in words. Millimetres, y down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypeAlias

from slabwright.sheets.boxes import Box
from slabwright.sheets.drawing import Arc, Area, Arrow, Drawing, Item, Line, Marker, Point, Polyline
from slabwright.sheets.lettering import block, size_for, typeset
from slabwright.sheets.markers import sign
from slabwright.sheets.picture import Curve, Letters, Shape, Stroke, arrow_parts, sign_parts
from slabwright.sheets.styles import layer_line, layers, letter_size, line_styles
from slabwright.sheets.words import word, words

Kind: TypeAlias = Literal["line", "arrow", "hatch", "sign"]

ROW_MM = 6.0
SWATCH_MM = 11.0
SIGN_MM = 5.0
GAP_MM = 1.4
BETWEEN_MM = 5.0


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that the key explains: a line style, a hatch or a sign, by name, and its layer."""

    kind: Kind
    name: str
    layer: str


@dataclass(frozen=True, slots=True)
class Placed:
    """An entry at its place in the key: row, left edge [mm] and its words."""

    entry: Entry
    row: int
    x: float
    text: str


# What needs no entry where another says it already.
_SAID_BY: dict[tuple[Kind, str], tuple[Kind, str]] = {
    ("hatch", "house"): ("line", "wall"),
    ("line", "existing"): ("hatch", "cured"),
    ("line", "water"): ("arrow", "water"),
}


def _word_key(kind: Kind, name: str) -> str:
    """Return the key of an entry's words."""
    return f"key-{kind}-{name}"


def _of_item(item: Item) -> Iterable[tuple[Kind, str]]:
    match item:
        case Line() | Polyline() | Arc():
            yield "line", item.style or layer_line(item.layer)
        case Arrow():
            yield "arrow", item.style or layer_line(item.layer)
        case Area():
            if item.hatch:
                yield "hatch", item.hatch
            if item.outline:
                yield "line", item.outline
        case Marker():
            yield "sign", item.kind
        case _:
            return


def entries(whole: Drawing) -> tuple[Entry, ...]:
    """Return what a drawing uses and the words explain: signs first, then lines, then hatches."""
    found: dict[tuple[Kind, str], Entry] = {}
    told = {key for key, _ in whole.told}
    for item in whole.shown():
        for kind, name in _of_item(item):
            if (key := _word_key(kind, name)) in told or key in words():
                found.setdefault((kind, name), Entry(kind, name, item.layer))
    for plain, clearer in _SAID_BY.items():
        if clearer in found:
            found.pop(plain, None)
    order = {"sign": 0, "line": 1, "arrow": 1, "hatch": 2}
    rank = {layer: n for n, layer in enumerate(layers())}
    return tuple(sorted(found.values(), key=lambda e: (order[e.kind], rank[e.layer], e.name)))


def lay_out(whole: Drawing, *, width: float, lang: str) -> tuple[Placed, ...]:
    """Return the key of a drawing in rows of at most width [mm]; empty when nothing needs a word."""
    placed: list[Placed] = []
    told = dict(whole.told)
    row, x = 0, 0.0
    for entry in entries(whole):
        key = _word_key(entry.kind, entry.name)
        text = typeset(told[key]) if key in told else word(key, lang)
        swatch = _swatch(entry)
        long = swatch + GAP_MM + block(text, size_for(text, letter_size("small")))[0]
        if placed and x + long > width:
            row, x = row + 1, 0.0
        placed.append(Placed(entry, row, x, text))
        x += long + BETWEEN_MM
    return tuple(placed)


def _swatch(entry: Entry) -> float:
    """Return how wide [mm] what is explained stands before its words."""
    return max(SIGN_MM, 2.0 * sign(entry.name).reach) if entry.kind == "sign" else SWATCH_MM


def height(placed: tuple[Placed, ...]) -> float:
    """Return how high a key is [mm]."""
    return ROW_MM * (placed[-1].row + 1) if placed else 0.0


def drawn(placed: tuple[Placed, ...], top: float) -> tuple[list[Shape], list[Stroke | Curve], list[Letters]]:
    """Return the key as parts of a picture, its first row's upper edge at `top` [mm]."""
    shapes: list[Shape] = []
    strokes: list[Stroke | Curve] = []
    letters: list[Letters] = []
    for one in placed:
        y = top + ROW_MM * (one.row + 0.5)
        entry = one.entry
        swatch = _swatch(entry)
        if entry.kind == "line":
            ends: tuple[Point, ...] = ((one.x, y), (one.x + swatch, y))
            strokes.append(Stroke("notes", line_styles()[entry.name], ends))
        elif entry.kind == "arrow":
            more_shapes, shaft = arrow_parts(
                "notes", line_styles()[entry.name], (one.x, y), (1.0, 0.0), swatch
            )
            shapes += more_shapes
            strokes.append(shaft)
        elif entry.kind == "hatch":
            ring = _ring(one.x, y, swatch)
            shapes.append(Shape("notes", (ring,), "", hatch=entry.name))
            strokes.append(Stroke("notes", line_styles()["thin"], ring, True))
        else:
            more_shapes, more_strokes = sign_parts("notes", sign(entry.name), (one.x + swatch / 2.0, y))
            shapes += more_shapes
            strokes += more_strokes
        size = size_for(one.text, letter_size("small"))
        wide, high = block(one.text, size)
        centre = one.x + swatch + GAP_MM + wide / 2.0
        letters.append(Letters("notes", one.text, Box(centre, y, wide / 2.0, high / 2.0), size, 400, False))
    return shapes, strokes, letters


def _ring(x: float, y: float, swatch: float) -> tuple[Point, ...]:
    return ((x, y - 2.1), (x + swatch, y - 2.1), (x + swatch, y + 2.1), (x, y + 2.1))
