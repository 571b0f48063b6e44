"""What each limit costs: the duals of the program, in m3 of earthwork and in trade words."""

from __future__ import annotations

import numpy as np

from slabwright.findings import Finding, Value, find
from slabwright.measure import INCH, Quantity
from slabwright.slab.heights.problem import Problem
from slabwright.slab.heights.rows import HEIGHT_KINDS, Family, Floats
from slabwright.slab.heights.solver import Solved

WORTH_SAYING = 0.02  # [m3] about a barrow load; less is not worth a line on paper
STEP = INCH / 8  # [m] what 'each 1/8 in' means
SLOPE_STEP = 0.005  # [-] half of one percent


def _by_family(problem: Problem, solved: Solved, rows: Floats) -> Floats:
    """Return the sums of a value of rows by family."""
    sums = np.zeros(len(problem.program.families) + 1)
    np.add.at(sums, solved.family, rows)  # structural rows (-1) land in the last place
    return sums[:-1]


def moved(problem: Problem, solved: Solved) -> Floats:
    """Return, by family, d(earthwork)/d(band) [m3 per unit] when all its bands are raised together."""
    return _by_family(problem, solved, solved.earth_dual)


def relaxed(problem: Problem, solved: Solved) -> Floats:
    """Return, by family, the earthwork saved [m3 per unit] when z may go past each of its bands' ends."""
    return _by_family(problem, solved, solved.earth_above + solved.earth_below)


def prices(problem: Problem, solved: Solved, slab: str) -> dict[str, float]:
    """Return m3 of earthwork saved per unit ([m] or [-]) by which each limit of a slab is relaxed.

    For a fixed height it is the better of up and down. To first order, at the heights found, with the
    same limits in play (source: lp-duals). It is the earthwork alone: a limit that holds a wished fall
    rather than the ground may have a negative price, for the wish would then be bought with digging.
    """
    shift, ease = moved(problem, solved), relaxed(problem, solved)
    out: dict[str, float] = {}
    for k, family in enumerate(problem.program.families):
        if family.slab != slab:
            continue
        saved = abs(float(shift[k])) if family.kind in HEIGHT_KINDS else float(ease[k])
        if abs(saved) > 1e-9:
            out[family.key] = saved
    return out


def price_notes(problem: Problem, solved: Solved, slab: str) -> tuple[Finding, ...]:
    """Return what is worth saying about the prices of one slab's limits, the dearest first."""
    shift, ease = moved(problem, solved), relaxed(problem, solved)
    said: list[tuple[float, Finding]] = []
    for k, family in enumerate(problem.program.families):
        if family.slab != slab:
            continue
        values: dict[str, Value]
        if family.kind in ("existing", "door", "height"):
            saved = abs(float(shift[k])) * STEP
            code = "price-edge-" if family.kind == "existing" else "price-"
            code += "lower" if shift[k] > 0 else "higher"
            values = {"thing": family.who, "step": Quantity("inches", STEP)}
        elif family.unit == "-":
            saved = float(ease[k]) * SLOPE_STEP
            code = f"price-{family.kind}"
            values = {"step": Quantity("percent", SLOPE_STEP), "limit": Quantity("slope", family.limit)}
        else:
            continue
        if saved >= WORTH_SAYING:
            values["saved"] = Quantity("volume", saved)
            said.append((-saved, find("slab", code, where=_where(family), line=family.line, **values)))
    return tuple(f for _, f in sorted(said, key=lambda row: (row[0], row[1].code)))


def _where(family: Family) -> str:
    return f"{family.slab}, {family.who}" if family.who else family.slab
