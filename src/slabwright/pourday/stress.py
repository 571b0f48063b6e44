"""The latest saw cut: when the stress of cooling and drying reaches a share of the young tensile strength.

From final set on, the slab's mean shortening is held back by friction with the base and its warping by its
own weight; creep lets go of part. This is the weakest part of the room: it ranks days and panels, it is
no clock (own-setting).
"""

from __future__ import annotations

import numpy as np

from slabwright.measure import HOUR
from slabwright.pourday.kernel import Trace
from slabwright.pourday.mix import Hydration, strength_at
from slabwright.pourday.model import Floats
from slabwright.pourday.tables import rule

UNCUT = 18.3  # [m] 60 ft between the ends that friction reaches from: a strip before it is cut
MONTH = 28.0 * 24.0  # [h]


def cracks_at(trace: Trace, mix: Hydration, *, uncut: float = UNCUT) -> Floats:
    """Return when stress over strength reaches the rule's share [s after placing]; inf where it does not.

    :param uncut: length between free ends before any cut [m].
    """
    mega = strength_at(mix, trace.te_top) / 1e6
    root = np.sqrt(np.maximum(mega, 1e-6))
    stiff, tensile = rule("modulus") * root, rule("tension") * root
    live = trace.te_mean >= mix.te_final
    age = trace.dt / HOUR * np.arange(trace.mean.shape[0])
    most = rule("friction") * rule("density") * rule("gravity") * uncut / 2.0 / 1e6
    keep = np.exp(-trace.dt / HOUR / (rule("relax_0") + rule("relax_age") * age))
    axial = np.zeros(trace.mean.shape[1:])
    warp = np.zeros_like(axial)
    found = np.full(axial.shape, np.inf)
    drying = rule("shrinkage") * trace.dt / HOUR / MONTH
    curl = rule("expansion") / 2.0 / (1.0 - rule("poisson"))
    for k in range(1, trace.mean.shape[0]):
        fall = trace.mean[k - 1] - trace.mean[k]
        on = live[k] & live[k - 1]
        axial = np.where(on, axial * keep[k] + stiff[k] * (rule("expansion") * fall + drying), 0.0)
        np.clip(axial, -most, most, out=axial)
        bend = stiff[k] * curl * (trace.tilt[k - 1] - trace.tilt[k])
        warp = np.where(on, warp * keep[k] + bend, 0.0)
        over = on & (axial + warp >= rule("crack_ratio") * tensile[k]) & np.isinf(found)
        found[over] = trace.dt * k
    return found
