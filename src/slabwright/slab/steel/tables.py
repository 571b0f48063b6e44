"""Bars, mesh and the rules of steel: tables from steel.toml, read to SI; laps and drag."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from slabwright import tables
from slabwright.measure import FOOT, INCH, PSI, read


@dataclass(frozen=True, slots=True)
class BarSize:
    """A bar: diameter [m], area [m2], mass per length [kg/m]."""

    number: str
    diameter: float
    area: float
    mass: float
    source: str


@dataclass(frozen=True, slots=True)
class DowelSize:
    """The dowel for slabs from a thickness [m]: diameter in eighths of an inch, length [m]."""

    thickness: float
    number: str
    length: float


@dataclass(frozen=True, slots=True)
class Mesh:
    """A style of welded wire mesh: wire spacing [m], area each way [m2/m], mass [kg/m2]."""

    name: str
    wire: float
    area: float
    mass: float
    source: str


def _tables() -> dict[str, Any]:
    return tables.table("slab/steel", "steel")


def rule(name: str) -> float:
    """Return one rule's value in SI; KeyError for an unknown name."""
    return tables.rule("slab/steel", "steel", name)


@cache
def bar_size(number: str, *, gfrp: bool = False) -> BarSize:
    """Return the bar of this number ('3' to '6'), steel or glass fibre; KeyError for another.

    Sources: astm-a615 (steel), astm-d7957-areas (glass fibre).
    """
    table = _tables()["gfrp" if gfrp else "bars"]
    row = table[number]
    return BarSize(
        number,
        read("length", row["diameter"]),
        read("area", row["area"]),
        read("linear_mass", row["mass"]),
        table["source"],
    )


@cache
def dowel_sizes() -> tuple[DowelSize, ...]:
    """Return the smooth dowels by slab thickness, thinnest first (source concrete-construction-dowels)."""
    return tuple(
        DowelSize(read("length", row["thickness"]), str(row["number"]), read("length", row["length"]))
        for row in _tables()["dowels"]["sizes"]
    )


def smooth_mass(number: str) -> float:
    """Return the mass [kg/m] of a smooth round bar, its diameter in eighths of an inch."""
    return math.pi / 4.0 * (int(number) * INCH / 8.0) ** 2 * rule("steel_density")


@cache
def meshes() -> tuple[Mesh, ...]:
    """Return the styles of mesh, lightest first (source wwr-styles)."""
    return tuple(
        Mesh(
            row["name"],
            read("length", row["width"]),
            read("area", row["area_ft"]) / FOOT,
            read("area_mass", row["mass"]),
            row["source"],
        )
        for row in _tables()["mesh"]
    )


def development(diameter: float, strength: float, *, close: bool = False) -> float:
    """Return the development length [m] of an uncoated bottom bar, #6 or smaller.

    diameter: of the bar [m]; strength: of the concrete [Pa]; close: bars or cover nearer than the
    good case allows (clear spacing and cover of a bar's diameter). Source aci-318-laps: 25.4.2.3,
    fy/(25 sqrt f'c) db, or 3 fy/(50 sqrt f'c) db where close, in psi.
    """
    if not (diameter > 0 and strength > 0):
        raise ValueError(f"a bar of {diameter!r} m in concrete of {strength!r} Pa has no development length")
    factor = 3.0 / 50.0 if close else 1.0 / 25.0
    return factor * (rule("yield_strength") / PSI) / math.sqrt(strength / PSI) * diameter


def class_b_lap(diameter: float, strength: float, *, close: bool = False) -> float:
    """Return the Class B lap [m]: 1.3 development lengths, 12 in at least (source aci-318-laps).

    diameter [m], strength of the concrete [Pa].
    """
    return max(rule("least_lap"), rule("class_b") * development(diameter, strength, close=close))


def lap_of(number: str, strength: float, *, gfrp: bool = False) -> float:
    """Return the lap to build [m], up to the next whole inch.

    strength: of the concrete [Pa]. Steel: Class B. Glass fibre: 40 diameters (source aci-440-laps).
    """
    size = bar_size(number, gfrp=gfrp)
    lap = (
        max(rule("least_lap"), rule("gfrp_lap_diameters") * size.diameter)
        if gfrp
        else class_b_lap(size.diameter, strength)
    )
    return math.ceil(lap / INCH - 1e-9) * INCH


def drag_area(friction: float, length: float, weight: float, stress: float) -> float:
    """Return the steel [m2/m] that the subgrade drag formula asks for: F L w / (2 fs).

    friction [-]; length between free joints [m]; weight of the slab [Pa]; stress allowed in the
    steel [Pa]. Source crsi-drag. ACI 360 no longer prints it, because it leaves curling out.
    """
    if not stress > 0:
        raise ValueError(f"steel cannot work at {stress!r} Pa")
    return friction * length * weight / (2.0 * stress)


def steel_ratio(area: float, spacing: float, thickness: float) -> float:
    """Return steel area over concrete area [-]; area of one bar [m2], spacing [m], thickness [m]."""
    return area / (spacing * thickness)
