"""The order of placing: far end first, and never a panel or a person shut in behind fresh concrete."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.build.access.site import Site, SlabNet, net_for
from slabwright.ground.model import XY
from slabwright.slab.model import Slab

GREEDY_MOST = 60  # panels of one slab that are ordered one by one
SLABS_MOST = 12  # slabs for which it is looked whether one shuts another in


def slab_order(slabs: Sequence[Slab], site: Site, stand: XY) -> list[Slab]:
    """Return slabs in placing order: farthest first, unless that would close the way to another.

    Slabs that nothing reaches come last; of very many slabs the farthest comes first without more ado.
    stand: (x, y) [m].
    """
    if len(slabs) == 1:
        return list(slabs)
    left = list(slabs)
    far = {slab.spec.name: _nearest(net_for(slab, (), site, stand), ()) for slab in slabs}
    lost = [slab for slab in left if math.isinf(far[slab.spec.name])]
    left = [slab for slab in left if slab not in lost]
    done: list[Slab] = []
    if len(left) > SLABS_MOST:
        return [*sorted(left, key=lambda s: (-far[s.spec.name], s.spec.name)), *lost]
    while left:
        ranked = sorted(left, key=lambda s: (-far[s.spec.name], s.spec.name))
        pick = next((s for s in ranked if _leaves_open(s, left, done, site, stand)), ranked[0])
        done.append(pick)
        left.remove(pick)
    return [*done, *lost]


def _nearest(net: SlabNet, placed: Sequence[int]) -> float:
    return min(net.all_ways(placed), default=math.inf)


def _leaves_open(slab: Slab, left: Sequence[Slab], done: Sequence[Slab], site: Site, stand: XY) -> bool:
    """Tell whether every other slab can still be reached once this one is fresh."""
    fresh = [*done, slab]
    return all(
        math.isfinite(_nearest(net_for(other, fresh, site, stand), ())) for other in left if other is not slab
    )


def panel_order(net: SlabNet) -> tuple[list[int], int | None]:
    """Return the order of a slab's panels (indices) and the first that no order reaches, if any.

    Tried: the panels as numbered and from the other end, the one that begins farther off first; then one
    by one, the farthest that leaves all others open. A panel out of reach is left at the end.
    """
    count = len(net.spots)
    away = net.all_ways(())
    forward = list(range(count))
    both = [forward, forward[::-1]]
    if count and away[-1] > away[0]:
        both.reverse()
    for order in both:
        if all(math.isfinite(net.all_ways(order[:n])[k]) for n, k in enumerate(order)):
            return order, None
    return _one_by_one(net, away) if count <= GREEDY_MOST else (both[0], _first_shut(net, both[0]))


def _first_shut(net: SlabNet, order: Sequence[int]) -> int | None:
    return next((k for n, k in enumerate(order) if math.isinf(net.all_ways(order[:n])[k])), None)


def _one_by_one(net: SlabNet, away: Sequence[float]) -> tuple[list[int], int | None]:
    left, done = list(range(len(away))), list[int]()
    while left:
        now = net.all_ways(done)
        ranked = sorted((k for k in left if math.isfinite(now[k])), key=lambda k: (-away[k], k))
        if not ranked:
            return [*done, *left], left[0]
        pick = None
        for k in ranked:
            after = net.all_ways([*done, k])
            if all(math.isfinite(after[m]) for m in left if m != k):
                pick = k
                break
        done.append(ranked[0] if pick is None else pick)
        left.remove(done[-1])
    return done, None
