"""Slips and failed tests in the trade's words: which finding, with which values."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.survey.chi_square import chi_square_quantile
from slabwright.survey.result import Fit, ReadingFit, Slip
from slabwright.survey.vet import ROOM, length

TEN_FEET = 3.048  # [m] a corner out of square is shown as its offset at this length
CLEAR = 0.995  # past this share of chi-square a net does not close; before it, it is only strained

_OWN_WORDS = ("foot", "inch")
_SAME_WORDS = ("swapped", "fraction", "tenths-as-inches", "side", "other-corner", "upside-down", "wrong-way")


def slip_findings(slips: Sequence[Slip]) -> tuple[Finding, ...]:
    """Return one finding a slip, or one for each group of slips that fit equally."""
    found: list[Finding] = []
    for group in dict.fromkeys(slip.group for slip in slips):
        some = [slip for slip in slips if slip.group == group]
        found.append(_one(some[0]) if len(some) == 1 else _several(some))
    return tuple(found)


def _code(slip: Slip) -> str:
    """Return the catalogue code of a lone slip."""
    if slip.kind in _OWN_WORDS:
        return f"slip-{slip.kind}-{'long' if slip.by > 0.0 else 'short'}"
    if slip.kind in _SAME_WORDS:
        return "slip-side-of-point" if slip.part == "side" else f"slip-{slip.kind}"
    if slip.kind == "not-so":
        return "slip-not-square" if slip.part == "right" else "slip-not-straight"
    if slip.kind == "unknown":
        return "slip-unknown"
    return "slip-long" if slip.by > 0.0 else "slip-short"


def _size(slip: Slip) -> Quantity:
    if slip.part == "right":
        return length(abs(math.tan(slip.by)) * TEN_FEET)
    return length(abs(slip.by))


def _one(slip: Slip) -> Finding:
    return find(
        ROOM,
        _code(slip),
        where=slip.reading,
        line=slip.line,
        reading=slip.reading,
        fits=length(slip.fits),
        written=length(slip.written),
        size=_size(slip),
        point=slip.points[0] if slip.points else "",
    )


def _several(slips: Sequence[Slip]) -> Finding:
    names = ", ".join(slip.reading for slip in slips)
    lengths = all(slip.part not in ("right", "straight", "side") for slip in slips)
    if len(slips) > 2 or not lengths:
        return find(ROOM, "slip-one-of", where=names, line=slips[0].line, readings=names)
    a, b = slips
    values: dict[str, Value] = {"a": a.reading, "b": b.reading}
    for key, slip in (("a", a), ("b", b)):
        values |= {f"{key}_fits": length(slip.fits), f"{key}_written": length(slip.written)}
    return find(ROOM, "slip-one-of-two", where=names, line=a.line, **values)


def fit_findings(what: str, fit: Fit, rows: Sequence[ReadingFit]) -> tuple[Finding, ...]:
    """Return a finding when a net ('pulls' or 'heights') fails its test and no slip explains it."""
    if fit.passed:
        return ()
    clear = fit.statistic > chi_square_quantile(CLEAR, fit.dof)
    worst = max((row for row in rows if row.used), key=lambda row: abs(row.standardised))
    if worst.redundancy > 0.0:
        off = abs(worst.residual) / worst.redundancy
        size = length(off * TEN_FEET if worst.part == "right" else off)
    else:
        size = length(0.0)
    end = "do-not-close" if clear else "strained"
    return (
        find(
            ROOM,
            f"{what}-{end}",
            where=worst.name,
            line=worst.line,
            reading=worst.name,
            size=size,
            times=f"{fit.statistic / fit.dof:.1f}",
        ),
    )
