"""Tape pulls and rod readings to points and heights, with their uncertainty.

The door: `adjust(net) -> Survey`. The input records are in `survey.net`, the result's in
`survey.result`. Importing this package imports no numerics; calling `adjust` does.
"""

from __future__ import annotations

from slabwright.survey.net import Net
from slabwright.survey.result import Survey, ellipse

__all__ = ["Net", "Survey", "adjust", "ellipse"]


def adjust(net: Net, *, look_for_slips: bool = True) -> Survey:
    """Return points [m], heights [m], uncertainty, slips and findings of a net of readings.

    See `survey.adjusting.adjust`.
    """
    from slabwright.survey.adjusting import adjust as stage

    return stage(net, look_for_slips=look_for_slips)
