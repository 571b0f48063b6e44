"""What each limit costs: the duals of the program, in m3 of earthwork and in trade words."""

from __future__ import annotations

import numpy as np

from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.slab.heights.limits import INCH
from slabwright.slab.heights.problem import Problem
from slabwright.slab.heights.rows import HEIGHT_KINDS, Family
from slabwright.slab.heights.solver import Solved

WORTH_SAYING = 0.02  # [m3] about a barrow load; less is not worth a line on paper
STEP = INCH / 8  # [m] what 'each 1/8 in' means
SLOPE_STEP = 0.005  # [-] half of one percent


def slope_of_family(problem: Problem, dual: np.ndarray, family: int) -> float:
    """Return d(cost)/d(bound) when every bound of the family moves up by one unit together."""
    return float(dual[problem.program.family == family].sum())


def prices(problem: Problem, solved: Solved, slab: str) -> dict[str, float]:
    """Return m3 of earthwork saved per unit ([m] or [-]) by which each limit of a slab is relaxed.

    For a fixed height it is the better of up and down. To first order, at the heights found; the
    saving in earthwork alone, with the same limits in play (source: linear programming duals).
    """
    out: dict[str, float] = {}
    for k, family in enumerate(problem.program.families):
        if family.slab != slab:
            continue
        if family.kind in HEIGHT_KINDS:
            saved = abs(slope_of_family(problem, solved.earth_dual, k))
        else:
            saved = relax(problem, solved, k)
        if abs(saved) > 1e-9:
            out[family.key] = saved
    return out


def relax(problem: Problem, solved: Solved, family: int) -> float:
    """Return m3 saved per unit when each row of a family may go one unit past the bound it stands at."""
    rows = problem.program.family == family
    return float((solved.earth_above + solved.earth_below)[rows].sum())


def price_notes(problem: Problem, solved: Solved, slab: str) -> tuple[Finding, ...]:
    """Return what is worth saying about the prices of one slab's limits, the dearest first."""
    said: list[tuple[float, Finding]] = []
    for k, family in enumerate(problem.program.families):
        if family.slab != slab:
            continue
        if family.kind in ("existing", "door", "height"):
            slope = slope_of_family(problem, solved.earth_dual, k)
            saved = abs(slope) * STEP
            code = ("price-edge-" if family.kind == "existing" else "price-") + (
                "lower" if slope > 0 else "higher"
            )
            values: dict[str, Value] = {"thing": family.who, "step": Quantity("inches", STEP)}
        elif family.unit == "-":
            saved = relax(problem, solved, k) * SLOPE_STEP
            code = f"price-{family.kind}"
            values = {"step": Quantity("percent", SLOPE_STEP), "limit": Quantity("slope", family.limit)}
        else:
            continue
        if saved >= WORTH_SAYING:
            values["saved"] = Quantity("volume", saved)
            text = find(
                "slab",
                code,
                where=_where(family),
                line=family.line,
                **values,
            )
            said.append((-saved, text))
    return tuple(f for _, f in sorted(said, key=lambda row: (row[0], row[1].code)))


def _where(family: Family) -> str:
    return f"{family.slab}, {family.who}" if family.who else family.slab
