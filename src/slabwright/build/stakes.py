"""Stakes along the form runs: at the ends, both sides of a butt, and between at most so far apart."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.build.form_tables import JUST, rule, stake_spacing
from slabwright.build.model import StakePlace
from slabwright.build.runs import Run


def stakes_along(length: float, pieces: Sequence[float], spacing: float) -> list[tuple[float, str]]:
    """Return where stakes stand on a run: (distance from its first end [m], kind) in order.

    length of the run [m]; pieces: lengths of its boards in order [m] (the last may run past the
    corner); spacing: the widest allowed [m]. Ends and butts have a stake 3 in to each side.
    """
    off = min(rule("stake_from_end"), length / 2)
    fixed: list[tuple[float, str]] = [(off, "corner")]
    at = 0.0
    for piece in pieces[:-1]:
        at += piece
        fixed += [(max(off, at - off), "butt"), (min(length - off, at + off), "butt")]
    if length - off > off + JUST:
        fixed.append((length - off, "corner"))
    stakes = [fixed[0]]
    for place, kind in fixed[1:]:
        before = stakes[-1][0]
        between = math.ceil((place - before) / spacing - JUST) - 1
        stakes += [(before + (place - before) * (i + 1) / (between + 1), "stake") for i in range(between)]
        if place - before > JUST:
            stakes.append((place, kind))
    return stakes


def place_stakes(
    runs: Sequence[Run], pieces: Sequence[Sequence[float]], thickness: Sequence[float]
) -> tuple[StakePlace, ...]:
    """Return every stake of the job; thickness: of each run's slab [m]."""
    placed = []
    for number, (run, boards, thick) in enumerate(zip(runs, pieces, thickness, strict=True)):
        if run.curve is not None and run.curve.cut == "tube":
            continue  # a tube is weighted or wired to the steel, not staked
        spacing = stake_spacing(thick, run.form.radius)
        for along, kind in stakes_along(run.form.length, boards, spacing):
            x, y = run.at(along)
            placed.append(StakePlace(run.form.slab, number, x, y, along, kind))
    return tuple(placed)
