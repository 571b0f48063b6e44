"""Writing numbers: tape fractions and plain decimals, rounded half up, never a false zero.

The total is rounded first and split afterwards, so that 11 15/16 + 1/16 is 1'-0" and never 0'-12". The
sign stands outside. A value that is not zero is never written as zero: a length goes on to 64ths,
and below half a 64th to decimals of an inch; other numbers get as many decimals as their first figure
needs. Only what is smaller than `DUST` [m], or 1e-9 of the unit, is arithmetic dust and is
written as 0.
"""

from __future__ import annotations

from math import floor, gcd, isfinite, log10

from slabwright.measure.units import INCH

DUST = 1e-6
"""A length below this [m] is dust of the arithmetic: a tape shows nothing a hundred times larger."""

_TINY = 1e-9
_FINEST = 64
_ALLOWED = frozenset((1, 2, 4, 8, 16, 32, 64))
# A half that lost its last bit in a conversion is still a half.
_HALF = 0.5 + 1e-9


def finite(value: float) -> float:
    """Return `value`; ValueError for NaN and the infinities, which no sheet may show."""
    if not isfinite(value):
        raise ValueError(f"{value} cannot be written")
    return value


def steps(value: float, step: float) -> int:
    """Return how many `step` the size of `value` is, to the nearest, halves up."""
    return floor(abs(value) / step + _HALF)


def signed(value: float, text: str, plus: bool = False) -> str:
    """Return `text`, the size of `value`, with its sign; a text that is all zero has none."""
    if not any(c in "123456789" for c in text):
        return text
    return "-" + text if value < 0 else "+" + text if plus else text


def feet_inches(m: float, denominator: int, *, feet: str = "auto", plus: bool = False) -> str:
    """Return a length [m] as feet, inches and a fraction: 15'-6 1/2", 4 3/8", 3/8".

    `feet` is 'auto' (from 12 in up), 'always' (0'-8") or 'never' (186 1/2").
    """
    if denominator not in _ALLOWED:
        raise ValueError(f"an inch is written in 1, 2, 4, 8, 16, 32 or 64 parts, not {denominator}")
    size = abs(finite(m))
    count = steps(size, INCH / denominator)
    if count == 0 and size >= DUST:
        denominator = _FINEST
        count = steps(size, INCH / denominator)
        if count == 0:
            before = "0'-" if feet == "always" else ""
            return signed(m, f'{before}{first_figure(size / INCH)}"', plus)
    inches, part = divmod(count, denominator)
    whole_feet = 0
    if feet != "never":
        whole_feet, inches = divmod(inches, 12)
    common = gcd(part, denominator)
    fraction = f"{part // common}/{denominator // common}" if part else ""
    written = " ".join(filter(None, (str(inches) if inches or not part or whole_feet else "", fraction)))
    if whole_feet or feet == "always":
        head = written if inches or not part or whole_feet else f"0 {written}"
        return signed(m, f"{whole_feet}'-{head}\"", plus)
    return signed(m, f'{written}"', plus)


def first_figure(size: float) -> str:
    """Return a small positive number with its first figure only: 0.004."""
    places = -floor(log10(size))
    return f"{steps(size, 10.0**-places) / 10.0**places:.{places}f}".rstrip("0")


def decimal(value: float, places: int, *, plus: bool = False, trim: bool = False) -> str:
    """Return a number with `places` decimals, halves up; `trim` drops zeros at the end."""
    finite(value)
    count = steps(value, 10.0**-places)
    if count == 0 and abs(value) > _TINY:
        return signed(value, first_figure(abs(value)), plus)
    whole, part = divmod(count, 10**places)
    text = f"{whole}.{part:0{places}d}" if places else str(whole)
    if trim and places:
        text = text.rstrip("0").rstrip(".")
    return signed(value, text, plus)
