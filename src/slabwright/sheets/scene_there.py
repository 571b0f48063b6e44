"""What is there before the work: house, doors, existing slabs, trees, buried lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from slabwright.ground.model import DoorAt, ExistingSlab, Ground, Wall
from slabwright.measure import Quantity, System, write
from slabwright.sheets.drawing import Area, Item, Line, Marker, Polyline, Text
from slabwright.sheets.scene import halfway, middle
from slabwright.sheets.window import Window
from slabwright.sheets.words import word

XY = tuple[float, float]

ON_WALL = 0.05  # m; a jamb nearer to a wall than this is in it
REVEAL = 0.1  # m, how deep a door is drawn into its wall
BAND = 1.0  # m of a slab that is known by its edge alone
HOUSE_ROOM = 3.0  # m, how far the word 'house' may move


def there(
    ground: Ground,
    view: Window,
    *,
    system: System,
    lang: str = "en",
    new: Sequence[Sequence[XY]] = (),
    below: bool = True,
) -> Iterator[Item]:
    """Yield the house, existing slabs, trees and buried lines, as far as the window shows them.

    new: rings of the new slabs, so that a slab known by its edge alone is drawn on its other side;
    below: also trees, sprinklers and buried lines.
    """
    for n, ring in enumerate(view.ring(ground.house_ring) if ground.house_ring else ()):
        yield Area("house", (ring,), hatch="house")
        if n == 0:
            yield Text("house", middle(ring), word("house", lang), room=HOUSE_ROOM, rank=8)
    for wall in ground.walls:
        for p, q in _solid(wall, ground.doors):
            for part in view.line((p, q)):
                yield Line("house", part[0], part[-1])
    for door in ground.doors:
        yield from _door(door, view)
    for slab in ground.existing:
        yield from _existing(slab, view, new)
    if below:
        yield from _trees(ground, view)
        yield from _buried(ground, view, system=system, lang=lang)


def _solid(wall: Wall, doors: tuple[DoorAt, ...]) -> Iterator[tuple[XY, XY]]:
    """Yield the parts of a wall between its doors."""
    run = math.dist(wall.p, wall.q)
    if run == 0.0:
        return
    ux, uy = (wall.q[0] - wall.p[0]) / run, (wall.q[1] - wall.p[1]) / run
    gaps = []
    for door in doors:
        if door.wall == wall.name:
            ends = sorted((x - wall.p[0]) * ux + (y - wall.p[1]) * uy for x, y in (door.p, door.q))
            gaps.append((max(0.0, ends[0]), min(run, ends[1])))
    at = 0.0
    for low, high in (*sorted(gaps), (run, run)):
        if low > at:
            yield (
                (wall.p[0] + at * ux, wall.p[1] + at * uy),
                (wall.p[0] + low * ux, wall.p[1] + low * uy),
            )
        at = max(at, high)


def _door(door: DoorAt, view: Window) -> Iterator[Item]:
    """Yield a door as an opening: both jambs, its sill, and its name."""
    run = math.dist(door.p, door.q)
    if run == 0.0:
        return
    vx, vy = -(door.q[1] - door.p[1]) / run * REVEAL, (door.q[0] - door.p[0]) / run * REVEAL
    for part in view.line((door.p, door.q)):
        yield Line("house", part[0], part[-1], "edge")
        yield Text("house", halfway(part), door.name, mode="beside", weight=600)
    for x, y in (door.p, door.q):
        for part in view.line(((x, y), (x + vx, y + vy))):
            yield Line("house", part[0], part[-1], "edge")


def _existing(slab: ExistingSlab, view: Window, new: Sequence[Sequence[XY]]) -> Iterator[Item]:
    if slab.ring:
        for n, ring in enumerate(view.ring(slab.ring)):
            yield Area("existing", (ring,), fill="cured", hatch="cured", outline="existing")
            if n == 0:
                yield Text("existing", middle(ring), slab.name, room=0.5)
        return
    band = _band(slab.edge, new) if len(slab.edge) > 1 else ()
    for n, ring in enumerate(view.ring(band) if band else ()):
        # only its edge was measured: the far side is left open
        yield Area("existing", (ring,), fill="cured", hatch="cured")
        if n == 0:
            yield Text("existing", middle(ring), slab.name, room=0.3)
    for part in view.line(slab.edge) if len(slab.edge) > 1 else ():
        yield Polyline("existing", part, style="existing")


def _band(edge: Sequence[XY], new: Sequence[Sequence[XY]]) -> tuple[XY, ...]:
    """Return a strip along an edge on the side away from the new slabs."""
    from slabwright.ground.untyped import shapely

    slabs = shapely.union_all([shapely.make_valid(shapely.Polygon(ring)) for ring in new if len(ring) > 2])
    line = shapely.LineString(edge)
    strips = [line.buffer(side * BAND, single_sided=True) for side in (1.0, -1.0)]
    free = min(strips, key=lambda strip: strip.intersection(slabs).area)
    return tuple((x, y) for x, y in free.exterior.coords[:-1]) if free.geom_type == "Polygon" else ()


def _trees(ground: Ground, view: Window) -> Iterator[Item]:
    for tree in ground.trees:
        if view.holds(tree.at):
            yield Marker("ground", tree.at, "tree", tree.name)
        for part in view.circle(tree.at, tree.root_zone):
            yield Polyline("ground", part, style="hidden")


def _buried(ground: Ground, view: Window, *, system: System, lang: str) -> Iterator[Item]:
    for line in ground.buried:
        name = line.name or word(line.kind, lang)
        if line.depth is not None:
            deep = write(Quantity("inches", line.depth), system=system, lang=lang)
            name = word("buried-deep", lang, name=name, depth=deep)
        for n, part in enumerate(view.line(line.line)):
            yield Polyline("services", part)
            if n == 0:
                yield Text("services", halfway(part), name, mode="beside", weight=600)
    for name, place, throw in ground.heads:
        if view.holds(place):
            yield Marker("services", place, "head", name)
            for part in view.circle(place, throw):
                yield Polyline("services", part, style="hidden")
