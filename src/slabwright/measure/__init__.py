"""How the trade writes numbers, read to SI floats and written back.

Read: `read("length", text)` or the named functions (`read_length`, ...). Write: `write(Quantity)`
or the named functions. SI inside: m, m2, m3, kg, s, degC, rad, plain slope ratio, m/s, Pa, m3/s.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class System(StrEnum):
    """How sheets are written; any quantity may be read in either."""

    IMPERIAL = "imperial"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI with its kind (see `KINDS`), written in trade units only at the edge."""

    kind: str
    si: float


def write(quantity: Quantity, *, system: System = System.IMPERIAL) -> str:
    """Return the quantity as the trade writes it."""
    raise NotImplementedError
