"""How lines, hatches and letters look: the table styles.toml, read once.

Widths, dashes and sizes are in millimetres on paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from slabwright.tables import table


@dataclass(frozen=True, slots=True)
class LineStyle:
    """One way to draw a line: width [mm], colour as '#rrggbb', dash lengths [mm], empty when solid."""

    name: str
    width: float
    colour: str
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class HatchLines:
    """One family of parallel hatch lines: angle [deg], spacing, dash, phase and width [mm]."""

    angle: float
    spacing: float
    width: float
    dash: tuple[float, ...] = ()
    phase: float = 0.0


def _raw() -> dict[str, Any]:
    return table("sheets", "styles")


@cache
def palette() -> dict[str, str]:
    """Return every colour by name, as '#rrggbb'."""
    return dict(_raw()["palette"])


def colour(name: str) -> str:
    """Return a palette colour as '#rrggbb'; KeyError when the palette has no such name."""
    return palette()[name]


def _shaded(name: str, share: float) -> str:
    """Return a palette colour with `share` [-] of it left and the rest ink."""
    pairs = zip(_parts(colour(name)), _parts(colour("ink")), strict=True)
    return "#" + "".join(f"{round(share * own + (1.0 - share) * ink):02x}" for own, ink in pairs)


def _parts(value: str) -> tuple[int, int, int]:
    return int(value[1:3], 16), int(value[3:5], 16), int(value[5:7], 16)


@cache
def line_styles() -> dict[str, LineStyle]:
    """Return every line style by name."""
    return {
        name: LineStyle(
            name, row["width"], _shaded(row["colour"], row.get("shade", 1.0)), tuple(row.get("dash", ()))
        )
        for name, row in _raw()["lines"].items()
    }


@cache
def layers() -> tuple[str, ...]:
    """Return the layers in the order in which they are drawn."""
    return tuple(_raw()["layers"])


@cache
def layer_line(layer: str) -> str:
    """Return the line style that a layer draws with; KeyError when there is no such layer."""
    return str(_raw()["layers"][layer]["line"])


@cache
def hatch(name: str) -> tuple[HatchLines, ...]:
    """Return the line families of a hatch; KeyError when there is no such hatch."""
    return tuple(
        HatchLines(
            row["angle"], row["spacing"], row["width"], tuple(row.get("dash", ())), row.get("phase", 0.0)
        )
        for row in _raw()["hatches"][name]
    )


@cache
def hatch_names() -> tuple[str, ...]:
    """Return the names of all hatches."""
    return tuple(_raw()["hatches"])


def letter_size(name: str) -> float:
    """Return the em height [mm] of a named letter size ('small', 'label', 'figure', 'big')."""
    return float(_raw()["letters"][name])


@cache
def part(name: str) -> float:
    """Return the size [mm] of a drawn part: 'tick', 'arrow-head', 'halo' and so on."""
    return float(_raw()["parts"][name])
