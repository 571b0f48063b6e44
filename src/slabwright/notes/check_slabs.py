"""Whether each slab says enough: an outline, what it meets, heights, falls and openings."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from slabwright.notes.index import Index, texts
from slabwright.notes.tidy import Path
from slabwright.notes.values import Listed, Mapped

_RING = "corners: [P1, P2, P3, P4]"
_RIBBON = "along: [P1, P2, P3]"
_UNKNOWN = {
    "existing": "is not the name of anything under existing",
    "door": "is not the name of a door of the house",
    "slab": "is not the name of another slab of this job",
}


def check_slab(index: Index, node: Mapped, path: Path) -> None:
    """Add what is wrong with one slab beyond values that cannot be read."""
    _outline(index, node, path)
    for i, meets in enumerate(_listed(node.get("meets"))):
        if isinstance(meets, Mapped):
            _meets(index, meets, (*path, "meets", i), node)
    for i, fix in enumerate(_listed(node.get("heights"))):
        if isinstance(fix, Mapped):
            _fix(index, fix, (*path, "heights", i))
    fall = node.get("fall")
    if isinstance(fall, Mapped):
        _fall(index, fall, (*path, "fall"), ribbon="along" in node)
    for i, opening in enumerate(_listed(node.get("openings"))):
        if isinstance(opening, Mapped):
            _opening(index, opening, (*path, "openings", i))


def _outline(index: Index, node: Mapped, path: Path) -> None:
    corners, along = node.get("corners"), node.get("along")
    if "corners" in node and "along" in node:
        why = "has corners and along: write corners for a ring, along with width for a walk"
        index.say((*path, "along"), along, why, None)
    elif "corners" not in node and "along" not in node:
        if not any(index.tidier.told((*path, key)) for key in ("corners", "along")):
            why = "has neither corners nor along, so nothing says where it lies"
            index.say(path, node, why, f"{_RIBBON} with width: 3', or {_RING}")
    elif isinstance(corners, Listed) and len(corners) < 3:
        index.say(
            (*path, "corners"), corners, f"holds {len(corners)}: a ring takes at least three corners", _RING
        )
    elif isinstance(along, Listed) and len(along) < 2:
        index.say((*path, "along"), along, f"holds {len(along)}: a walk takes at least two points", _RIBBON)
    if "along" in node and "corners" not in node and "width" not in node:
        if not index.tidier.told((*path, "width")):
            index.say((*path, "width"), node, "is missing: a walk written by along has a width", "width: 3'")
    elif "width" in node and "corners" in node and "along" not in node:
        why = "goes with along; a ring of corners says its width itself"
        index.say((*path, "width"), node["width"], why, None, written=str(node["width"]))
    for key in ("corners", "along"):
        _vertices(index, node.get(key), (*path, key), ring=key == "corners")


def _vertices(index: Index, node: Any, path: Path, *, ring: bool) -> None:
    seen: dict[str, int] = {}
    for at, name in texts(node, path):
        index.placed_name(at, name)
        number = len(seen)
        closes = (
            ring and number >= 3 and at[: len(path) + 1] == (*path, len(node) - 1) and seen.get(name) == 0
        )
        if name in seen and not closes and (ring or seen[name] == number - 1):
            why = f"comes twice{'' if ring else ' in a row'}: each corner is named once"
            index.say(at, name, why, None, written=name)
        seen[name] = number
    for i, vertex in enumerate(_listed(node)):
        if isinstance(vertex, Mapped):
            _arc(index, vertex, (*path, i))


def _arc(index: Index, vertex: Mapped, path: Path) -> None:
    through, radius, turn = (vertex.get(key) for key in ("arc-through", "arc-radius", "arc-turn"))
    if isinstance(through, str):
        index.placed_name((*path, "arc-through"), through)
        if through == vertex.get("point"):
            index.say((*path, "arc-through"), through, "is the arc's own end", None, written=through)
    if through is not None and radius is not None:
        why = "has arc-through and arc-radius: one of them says which arc it is"
        index.say((*path, "arc-radius"), radius, why, None)
    elif radius is not None and turn is None:
        why = "is missing: an arc by radius turns left or right as one walks to its end"
        index.say((*path, "arc-turn"), vertex, why, "arc-turn: left")
    elif turn is not None and radius is None:
        why = "goes with arc-radius"
        index.say((*path, "arc-turn"), turn, why, "arc-radius: 12'", written=str(turn))


def _meets(index: Index, meets: Mapped, path: Path, slab: Mapped) -> None:
    kinds = [key for key in ("existing", "door", "slab") if key in meets]
    if len(kinds) != 1:
        said = " and ".join(kinds) if kinds else "nothing"
        index.say(
            path, meets, f"meets {said}: name one thing, existing, door or slab", "{existing: old patio}"
        )
        return
    kind, name = kinds[0], meets[kinds[0]]
    names = {
        "existing": index.existing,
        "door": {str(door) for door in index.doors.values()},
        "slab": index.slabs,
    }
    known = names[kind]
    if isinstance(name, str):
        if name not in known:
            index.unknown((*path, kind), name, _UNKNOWN[kind], known)
        elif kind == "slab" and name == slab.get("name"):
            index.say((*path, kind), name, "is this slab itself", None, written=name)
        elif kind == "door":
            _sill(index, name, (*path, kind))
    for key, with_ in (("down", "door"), ("lip", "existing")):
        if key in meets and kind != with_ and not (key == "lip" and kind == "slab"):
            index.say((*path, key), meets[key], f"goes with {with_}", None, written=str(meets[key]))


def _sill(index: Index, name: str, path: Path) -> None:
    for i, door in enumerate(_listed(index.tree["house"].get("doors"))):
        if isinstance(door, Mapped) and door.get("name") == name and "sill" not in door:
            why = f"is met by a slab, so its sill must be shot and named (house.doors.{i + 1}.sill)"
            index.say(path, name, why, "sill: back sill", written=name)


def _fix(index: Index, fix: Mapped, path: Path) -> None:
    if isinstance(fix.get("at"), str):
        index.placed_name((*path, "at"), fix["at"])
    ends = [key for key in ("below", "above") if key in fix]
    if len(ends) != 1:
        why = "says both below and above: name the one point that it is measured from"
        if not ends:
            why = "says neither below nor above: name the one point that it is measured from"
        index.say(path, fix, why, "{at: P4, below: sill, by: 4}")
    for key in ends:
        if isinstance(fix[key], str):
            index.shot_name((*path, key), fix[key])


def _fall(index: Index, fall: Mapped, path: Path, *, ribbon: bool) -> None:
    toward = fall.get("toward")
    if isinstance(toward, str):
        if toward in ("left", "right"):
            if not ribbon:
                why = "is for a walk written by along; a ring of corners names the point that water runs to"
                index.say((*path, "toward"), toward, why, "toward: P3", written=toward)
        elif toward not in index.placed:
            why = "is neither left nor right nor a point that was measured"
            index.unknown((*path, "toward"), toward, why, index.placed | {"left", "right"})
    order = ("across-least", "across", "across-most")
    values = [(key, index.quantity("slope", fall[key])) for key in order if isinstance(fall.get(key), str)]
    read = [(key, value) for key, value in values if value is not None]
    for (low, a), (high, b) in pairwise(read):
        if a > b:
            index.say(
                (*path, low), fall[low], f"is more than {high}, {fall[high]}", None, written=str(fall[low])
            )


def _opening(index: Index, opening: Mapped, path: Path) -> None:
    round_, corners = "at" in opening or "across" in opening, opening.get("corners")
    if isinstance(opening.get("at"), str):
        index.placed_name((*path, "at"), opening["at"])
    for at, name in texts(corners, (*path, "corners")):
        index.placed_name(at, name)
    if round_ and corners:
        index.say(path, opening, "is round (at, across) and has corners: write one of them", None)
    elif round_ and not ("at" in opening and "across" in opening):
        key = "across" if "at" in opening else "at"
        if not index.tidier.told((*path, key)):
            why = "is missing: a round opening has a middle and a width"
            index.say((*path, key), opening, why, "at: O1" if key == "at" else "across: 8")
    elif not round_ and (not isinstance(corners, Listed) or len(corners) < 3):
        why = "has no shape: write at and across, or three corners or more"
        index.say(path, opening, why, "{name: post 1, at: O1, across: 8}")


def _listed(node: Any) -> Listed:
    return node if isinstance(node, Listed) else Listed()
