"""Whether the notes hang together: names that are used are measured, and each record says enough.

Works on the tidied tree, not on the models, so that these mistakes are told in the same pass as
values that cannot be read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from slabwright import measure
from slabwright.notes import check_slabs
from slabwright.notes.check_weather import check_weather
from slabwright.notes.index import Index, rows_of, strings, texts
from slabwright.notes.models import (
    Access,
    Buried,
    Door,
    Downspout,
    Existing,
    Fence,
    GroundNotes,
    Head,
    House,
    Inlet,
    KeepOff,
    Lawn,
    Notes,
    OrderNotes,
    Pull,
    RightAngle,
    Row,
    SetUp,
    SlabNotes,
    SquareOff,
    StringLine,
    Tree,
    TrenchDrain,
    WaterLevel,
    WeatherNotes,
)
from slabwright.notes.tidy import Path, Tidier
from slabwright.notes.values import Listed, Mapped, Written

_OVER = 0.0254  # [m] a door may seem to run past its wall's end by so much: two readings, one inch


def check_tree(tree: Any, tidier: Tidier) -> None:
    """Add to `tidier` what does not hang together in the whole tree."""
    if not isinstance(tree, Mapped):
        return
    index = Index(tree, tidier)
    for model, node, path in rows_of(Notes, tree):
        check = _CHECKS.get(model)
        if check is not None:
            check(index, node, path)
    _duplicates(index)


def _notes(index: Index, tree: Mapped, path: Path) -> None:
    told = index.tidier.told(("house",)) or index.tidier.told(("baseline",))
    if "house" not in tree and "baseline" not in tree and not told:
        why = "is missing: without a house or a baseline nothing says where points lie"
        index.say((*path, "house"), tree, why, "house: {walls: [A, B]}")
    if "house" in tree and "baseline" in tree:
        why = "is for a job without a house; this job has one, so its first wall is the baseline"
        index.say((*path, "baseline"), tree["baseline"], why, None)
    for at, name in texts(tree.get("baseline"), (*path, "baseline")):
        index.placed_name(at, name)
    for i, line in enumerate(tree.get("straight-lines") or ()):
        here = (*path, "straight-lines", i)
        if isinstance(line, Listed) and len(line) < 3:
            index.say(here, line, "a straight line takes at least three points", "- [A, P1, P2]")
        for at, name in texts(line, here):
            index.placed_name(at, name)
    datum = tree.get("datum")
    if isinstance(datum, str):
        index.shot_name((*path, "datum"), datum)
    if not index.shot and not index.blind_heights:
        why = "is missing: no height was read, and a slab cannot be planned without"
        index.say((*path, "levels"), tree, why, "levels: [{set-up: S1, rod: {sill: 4' 1 3/8, P1: 4' 9}}]")


def _house(index: Index, node: Mapped, path: Path) -> None:
    seen: set[str] = set()
    for at, name in texts(node.get("walls"), (*path, "walls")):
        if name in seen:
            index.say(at, name, "is named twice among the corners", None, written=name)
        elif name not in index.placed and not index.blind_places:
            why = "is in no tape pull, square-off or coordinate, so its walls have no place"
            other = next((c for c in index.corners if c != name), "P1")
            index.say(at, name, why, f"- {other}-{name}: 42' 0 1/4", written=name)
        seen.add(name)
    bottom = node.get("siding-bottom")
    if isinstance(bottom, str):
        index.shot_name((*path, "siding-bottom"), bottom)


def _door(index: Index, node: Mapped, path: Path) -> None:
    wall, sill = node.get("on"), node.get("sill")
    ends = index.wall(wall, (*path, "on"), house_only=True) if isinstance(wall, Written) else None
    if isinstance(wall, Written) and ends is not None:
        _door_fits(index, node, path, ends)
    if isinstance(sill, str):
        index.shot_name((*path, "sill"), sill)


def _door_fits(index: Index, node: Mapped, path: Path, ends: tuple[str, str]) -> None:
    """Say so when a door runs past the end of its wall as the tape has it."""
    wall, start, width = index.pulled(*ends), index.length(node, "from"), index.length(node, "width")
    if wall is None or start is None or width is None or not 0 < wall < start + width - _OVER:
        return
    end, long = (measure.write(measure.Quantity("feet_inches", si)) for si in (start + width, wall))
    why = f"ends {end} along the wall, but the tape says that the wall is {long} long"
    index.say((*path, "width"), node["width"], why, None, written=str(node["width"]))


def _pull(index: Index, node: Mapped, path: Path) -> None:
    if "from" in node and node.get("from") == node.get("to"):
        why = "is pulled from a point to itself"
        index.say(path, node["from"], why, "- A-P1: 16' 2\"", written=f"{node['from']}-{node['to']}")


def _square_off(index: Index, node: Mapped, path: Path) -> None:
    wall = node.get("wall")
    ends = index.wall(wall, (*path, "wall")) if isinstance(wall, Written) else None
    if not isinstance(wall, Written) or ends is None:
        return
    for end in ends:
        if end == node.get("point"):
            why = "is squared off a line that it is an end of"
            index.say((*path, "wall"), wall, why, None, written=str(wall))
        elif end not in index.corners:
            index.placed_name((*path, "wall"), Written(end, wall.line, wall.column))


def _right_angle(index: Index, node: Mapped, path: Path) -> None:
    ends = list(strings(node.get("between")))
    if len({*ends, node.get("at")}) < len(ends) + 1:
        index.say(path, node, "takes three different points", "- {at: B, between: [A, C]}")
    for at, name in [((*path, "at"), node.get("at")), *texts(node.get("between"), (*path, "between"))]:
        if isinstance(name, str):
            index.placed_name(at, name)


def _readings(key: str) -> Callable[[Index, Mapped, Path], None]:
    def check(index: Index, node: Mapped, path: Path) -> None:
        if isinstance(node.get(key), Mapped) and not node[key]:
            example = f"{key}: {{sill: 4' 1 3/8, P1: 4' 9}}"
            index.say((*path, key), node, "holds no reading", example)

    return check


def _water(index: Index, node: Mapped, path: Path) -> None:
    if "from" in node and node.get("from") == node.get("to"):
        index.say(path, node["from"], "reads from a point to itself", None, written=str(node["from"]))


def _existing(index: Index, node: Mapped, path: Path) -> None:
    corners, edge = node.get("corners"), node.get("edge")
    name = str(node.get("name", ""))
    if corners and edge:
        why = "has corners and an edge: write corners when the whole slab was measured, otherwise the edge"
        index.say(path, node, why, None)
    elif not corners and not edge:
        why = "has neither corners nor an edge, so nothing says where it is"
        index.say(path, node, why, "edge: [Q1, Q2]")
    elif isinstance(corners, Listed) and len(corners) < 3:
        index.say((*path, "corners"), corners, "takes at least three corners", "edge: [Q1, Q2]")
    elif isinstance(edge, Listed) and len(edge) < 2:
        index.say((*path, "edge"), edge, "takes at least two points", "edge: [Q1, Q2]")
    points = [*texts(corners, (*path, "corners")), *texts(edge, (*path, "edge"))]
    for at, point in points:
        index.placed_name(at, point)
    for i, joint in enumerate(node.get("joints") or ()):
        for at, point in texts(joint, (*path, "joints", i)):
            index.placed_name(at, point)
    shot = {point for _, point in points if point in index.shot}
    known = index.shot and not index.blind_heights and index.placed.issuperset(p for _, p in points)
    kept = name in index.met and node.get("keeps", "height") == "height"
    if known and kept and len(points) > 1 and len(shot) < 2:
        why = "is met by a new slab, so rod readings on at least two of its points are wanted"
        first = points[0][1]
        index.say((*path, "name"), node.get("name"), why, f"rod: {{{first}: 4' 6 5/8}}", written=name)


def _ground(index: Index, node: Mapped, path: Path) -> None:
    shots = node.get("shots")
    if isinstance(shots, Listed):
        for at, name in texts(shots, (*path, "shots")):
            index.placed_name(at, name)
            index.shot_name(at, name)
    for i, line in enumerate(node.get("break-lines") or ()):
        here = (*path, "break-lines", i)
        if isinstance(line, Listed) and len(line) < 2:
            index.say(here, line, "a break line takes at least two points", "- [N1, N2]")
        for at, name in texts(line, here):
            index.placed_name(at, name)
    for at, name in texts(node.get("not-ground"), (*path, "not-ground")):
        if name not in index.shot and name not in index.placed:
            index.unknown(at, name, "is written nowhere else in the notes", index.shot | index.placed)


def _at(index: Index, node: Mapped, path: Path) -> None:
    if isinstance(node.get("at"), str):
        index.placed_name((*path, "at"), node["at"])


def _buried(index: Index, node: Mapped, path: Path) -> None:
    for at, name in texts(node.get("along"), (*path, "along")):
        index.placed_name(at, name)


def _access(index: Index, node: Mapped, path: Path) -> None:
    if isinstance(node.get("truck-stops-at"), str):
        index.placed_name((*path, "truck-stops-at"), node["truck-stops-at"])
    for at, name in texts(node.get("or-stops-at"), (*path, "or-stops-at")):
        index.placed_name(at, name)


def _corners(index: Index, node: Mapped, path: Path) -> None:
    for at, name in texts(node.get("corners"), (*path, "corners")):
        index.placed_name(at, name)


def _order(index: Index, node: Mapped, path: Path) -> None:
    for key, example in (("least", "1 yd3"), ("step", "1/4 yd3"), ("truck", "9 yd3")):
        text = node.get(key)
        if not isinstance(text, str) or len(text) > 40:
            continue
        try:
            good = measure.read("volume", text) > 0
            why = "must be more than nothing"
        except measure.MeasureError as error:
            good, why = False, f"cannot be read, at character {error.at + 1}: {error.reason.rstrip('.')}"
        if not good:
            index.say((*path, key), text, why, f"{key}: {example}", written=text)


_CHECKS: dict[type[Row], Callable[[Index, Mapped, Path], None]] = {
    Notes: _notes,
    House: _house,
    Door: _door,
    Pull: _pull,
    SquareOff: _square_off,
    RightAngle: _right_angle,
    SetUp: _readings("rod"),
    StringLine: _readings("down"),
    WaterLevel: _water,
    Existing: _existing,
    GroundNotes: _ground,
    Tree: _at,
    Head: _at,
    Buried: _buried,
    Lawn: _corners,
    Fence: _buried,
    KeepOff: _corners,
    TrenchDrain: _buried,
    Downspout: _at,
    Inlet: _at,
    SlabNotes: check_slabs.check_slab,
    Access: _access,
    OrderNotes: _order,
    WeatherNotes: check_weather,
}


def _named(tree: Mapped, *keys: tuple[str, str]) -> Iterator[tuple[Path, Written]]:
    for top, field in keys:
        for i, row in enumerate(tree.get(top) or ()):
            name = row.get(field) if isinstance(row, Mapped) else None
            if isinstance(name, Written):
                yield (top, i, field), name


def _duplicates(index: Index) -> None:
    """Say which names are given twice among things that are told apart by name."""
    tree = index.tree
    groups: tuple[tuple[str, Iterable[tuple[Path, Written]]], ...] = (
        ("slabs (new or there already)", _named(tree, ("existing", "name"), ("slabs", "name"))),
        ("set-ups", _named(tree, ("levels", "set-up"))),
        ("strings", _named(tree, ("string-lines", "string"))),
        ("trees", _named(tree, ("trees", "name"))),
        ("heads", _named(tree, ("sprinklers", "head"))),
        ("doors", index.doors.items()),
    )
    for what, names in groups:
        first: dict[str, Written] = {}
        for path, name in names:
            if name in first:
                why = f"is given to two {what}, the other on line {first[name].line}: name each apart"
                index.say(path, name, why, None, written=name)
            first.setdefault(name, name)
