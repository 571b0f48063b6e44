"""What the notes name, and where it was measured: the ground on which the checks stand."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from slabwright import measure
from slabwright.notes.layout import branches, item_of, keys_of, named_of, row_of
from slabwright.notes.mistakes import did_you_mean
from slabwright.notes.models import Row
from slabwright.notes.names import tell_apart
from slabwright.notes.tidy import Path, Tidier
from slabwright.notes.values import Listed, Mapped, Written


class Index:
    """Names of a tidied tree. `placed`: points with a place in plan; `shot`: points with a height."""

    def __init__(self, tree: Mapped, tidier: Tidier) -> None:
        """Gather the names; `tidier` takes the mistakes."""
        self.tree = tree
        self.tidier = tidier
        self.placed = set(self._placed())
        self.shot = set(self._shot())
        # where readings could not be told apart, names that seem unmeasured may be among them
        self.blind_places = self._lost("tape", "square-off", "points")
        self.blind_heights = self._lost("levels", "string-lines", "water-levels", "heights")
        self.corners = list(strings(_inner(tree.get("house"), "walls")))
        self.walls = self._walls()
        self.existing = set(_each(tree.get("existing"), "name"))
        self.slabs = set(_each(tree.get("slabs"), "name"))
        self.met = {
            name for slab in _rows(tree.get("slabs")) for name in _each(slab.get("meets"), "existing")
        }
        self.doors: dict[Path, Written] = {
            ("house", "doors", i, "name"): door["name"]
            for i, door in enumerate(_listed(_inner(tree.get("house"), "doors")))
            if isinstance(door, Mapped) and isinstance(door.get("name"), Written)
        }

    def _lost(self, *tops: str) -> bool:
        """Return whether names of readings were lost: a record or list of them that was not understood."""
        bad = {
            path[:1] for path in self.tidier.bad if path and (len(path) < 3 or path[-1] in ("rod", "down"))
        }
        return any((top,) in bad | self.tidier.meant for top in tops)

    def _placed(self) -> Iterator[str]:
        for pull in _rows(self.tree.get("tape")):
            yield from strings([pull.get("from"), pull.get("to")])
        yield from _each(self.tree.get("square-off"), "point")
        points = self.tree.get("points")
        yield from points if isinstance(points, Mapped) else ()

    def _shot(self) -> Iterator[str]:
        for key, inner in (("levels", "rod"), ("string-lines", "down")):
            for row in _rows(self.tree.get(key)):
                readings = row.get(inner)
                yield from readings if isinstance(readings, Mapped) else ()
        for pair in _rows(self.tree.get("water-levels")):
            yield from strings([pair.get("from"), pair.get("to")])
        known = self.tree.get("heights")
        yield from known if isinstance(known, Mapped) else ()
        # a reading that was written without a value has been said already
        yield from (str(path[3]) for path in self.tidier.bad if path[:1] == ("levels",) and len(path) == 4)

    def _walls(self) -> list[tuple[str, str]]:
        pairs = list(zip(self.corners, self.corners[1:], strict=False))
        closed = _inner(self.tree.get("house"), "closed")
        if len(self.corners) > 2 and isinstance(closed, str) and closed.casefold() in ("yes", "true", "on"):
            pairs.append((self.corners[-1], self.corners[0]))
        base = list(strings(self.tree.get("baseline")))
        return [*pairs, (base[0], base[1])] if len(base) == 2 else pairs

    def say(self, path: Path, at: Any, why: str, example: str | None, *, written: str | None = None) -> None:
        """Keep a mistake, unless one at or above this place was said already."""
        if not any(path[: len(bad)] == bad for bad in self.tidier.bad):
            self.tidier.say(path, at, why, example, written=written)

    def unknown(self, path: Path, name: str, why: str, known: Collection[str]) -> None:
        """Say that a name is not among those known, with the nearest that is."""
        self.say(path, name, why + did_you_mean(name, known), None, written=name)

    def placed_name(self, path: Path, name: str) -> None:
        """Say so when a point has no place in plan."""
        if name not in self.placed and not self.blind_places:
            why = "was never measured: no tape pull, square-off or coordinate gives its place"
            self.unknown(path, name, why, self.placed)

    def shot_name(self, path: Path, name: str) -> None:
        """Say so when a point has no height."""
        if name not in self.shot and self.shot and not self.blind_heights:
            self.unknown(
                path, name, "was never shot: no rod reading or known height gives its height", self.shot
            )

    def wall(self, text: Written, path: Path, *, house_only: bool = False) -> tuple[str, str] | None:
        """Return the two ends that 'A-B' names, a wall or any two known points; None after saying why not."""
        known = self.placed | set(self.corners)
        cut = tell_apart(text, {p for pair in self.walls for p in pair} if house_only else known)
        names = ", ".join(f"{p}-{q}" for p, q in self.walls[:6])
        example = f"{path[-1]}: {'-'.join(self.walls[0])}" if self.walls else None
        if isinstance(cut, str):
            self.say(path, text, cut, example, written=text)
            return None
        if house_only and len(self.corners) < 2:
            return None  # a house without walls has been said already
        if cut in self.walls or (not house_only and known.issuperset(cut)):
            return cut
        if cut[::-1] in self.walls:
            why = f"runs the wrong way: corners are named left to right, so this wall is {cut[1]}-{cut[0]}"
        elif names:
            why = f"is not a wall; the walls are {names}"
        else:
            why = "is not a wall: the notes name no house"
        self.say(path, text, why, example, written=text)
        return None

    def pulled(self, p: str, q: str) -> float | None:
        """Return the first tape pull between two points [m], None when there is none that can be read."""
        for pull in _rows(self.tree.get("tape")):
            if {pull.get("from"), pull.get("to")} == {p, q}:
                return self.length(pull, "reads")
        return None

    def length(self, node: Mapped, key: str, bare: str | None = None) -> float | None:
        """Return a length of a record [m], None when it is not there or cannot be read."""
        text = node.get(key)
        return self.quantity("length", text, bare) if isinstance(text, str) else None

    @staticmethod
    def quantity(kind: str, text: str, bare: str | None = None) -> float | None:
        """Return a value in SI, None when it cannot be read (the models say why)."""
        try:
            return measure.read(kind, text, bare=bare)
        except measure.MeasureError:
            return None


def rows_of(model: type[Row], node: Any, path: Path = ()) -> Iterator[tuple[type[Row], Mapped, Path]]:
    """Yield every record in a tidied tree with its class and its path, outer ones first."""
    if not isinstance(node, Mapped):
        return
    yield model, node, path
    for name, value in node.items():
        key = keys_of(model).get(name)
        if key is None:
            continue
        for kind in branches(key.type):
            yield from _inside(kind, value, (*path, name))


def _inside(kind: Any, value: Any, path: Path) -> Iterator[tuple[type[Row], Mapped, Path]]:
    model, item, named = row_of(kind), item_of(kind), named_of(kind)
    if model is not None:
        yield from rows_of(model, value, path)
    elif item is not None and isinstance(value, Listed):
        for i, entry in enumerate(value):
            for branch in branches(item):
                yield from _inside(branch, entry, (*path, i))
    elif named is not None and isinstance(value, Mapped):
        for name, entry in value.items():
            yield from _inside(named, entry, (*path, name))


def strings(node: Any) -> Iterator[str]:
    """Yield the texts of a list, whatever else stands in it left out."""
    if isinstance(node, list):
        yield from (item for item in node if isinstance(item, str))


def texts(node: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Yield the texts of a list with their paths; a corner written as a record gives its point."""
    for i, item in enumerate(_listed(node)):
        if isinstance(item, str):
            yield (*path, i), item
        elif isinstance(item, Mapped) and isinstance(item.get("point"), str):
            yield (*path, i, "point"), item["point"]


def _listed(node: Any) -> Listed:
    return node if isinstance(node, Listed) else Listed()


def _rows(node: Any) -> Iterator[Mapped]:
    yield from (row for row in _listed(node) if isinstance(row, Mapped))


def _each(node: Any, key: str) -> Iterator[str]:
    yield from (row[key] for row in _rows(node) if isinstance(row.get(key), str))


def _inner(node: Any, key: str) -> Any:
    return node.get(key) if isinstance(node, Mapped) else None
