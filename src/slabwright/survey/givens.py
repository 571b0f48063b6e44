"""Given heights that do not agree: one of them is looked at as a reading of its own.

A given height is held fixed, so a wrong one has no residual and would put the blame on the rods that
stand on it. When a net of two or more given heights fails, it is solved again with all of them as
readings of a small sd; what is then named may be a given height, a rod, or both.
"""

from __future__ import annotations

from dataclasses import replace

from slabwright.survey.levels import level_net
from slabwright.survey.net import KnownHeight, Net
from slabwright.survey.result import Slip
from slabwright.survey.searching import search
from slabwright.survey.slips import linear_without
from slabwright.survey.solve import solve

GIVEN = 0.001  # [m] sd of a given height in this trial; common practice: a benchmark is good to 1 mm


def wrong_givens(net: Net) -> tuple[Slip, ...]:
    """Return the given height that looks wrong; empty when none does.

    It is alone and `set_aside` where nothing else fits as well: the net is then to be solved without
    it (`without_given`). Otherwise all that fit equally follow each other, after any slips that had to
    be found first, and nothing is set aside.
    """
    held = [known for known in net.known_heights if known.sd is None]
    if len(held) < 2:
        return ()
    loose = tuple(k if k.sd is not None else replace(k, sd=GIVEN) for k in net.known_heights)
    made = level_net(replace(net, known_heights=loose))
    if made is None:
        return ()
    found = search(made.tags, made.problem, solve(made.problem), linear_without)
    at = next((slip.group for slip in found.slips if slip.part == "height"), 0)
    fit = [slip for slip in found.slips if slip.group == at]
    if len(fit) == 1:
        return (replace(fit[0], group=1),)
    return tuple(replace(slip, set_aside=False) for slip in found.slips if slip.group <= at)


def without_given(net: Net, slip: Slip) -> Net:
    """Return the net without the given height that this slip names."""

    def named(known: KnownHeight) -> bool:
        return known.name == slip.reading and known.height == slip.written

    return replace(net, known_heights=tuple(known for known in net.known_heights if not named(known)))
