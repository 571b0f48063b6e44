"""Options that a customer took, as edits of the job's notes: which the notes hold, which are missing.

What was agreed is found as it was priced: the notes of the quote's revision with the changes of the options
(`money.changes`). Each value that differs is then looked for in the newest notes. No database.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from slabwright.measure import INCH, System, write_length
from slabwright.money.changes import ChangeError, changed
from slabwright.money.model import Option
from slabwright.money.offering import chosen_notes
from slabwright.money.wanted import WantedError, option_of
from slabwright.notes import Notes, specify
from slabwright.office.actions.edits import UNSEEN, Edit, at
from slabwright.office.actions.places import resolved

SAME: Final = 1e-6  # [m] or of a slope: two values that a tape cannot tell apart
_FINEST: Final = Fraction(1, 64)  # [in] that is written; anything finer is written in mm

Place = tuple[str, ...]  # ("slabs", its name, key ...): rows by their names, for their numbers may move


@dataclass(frozen=True, slots=True)
class Taken:
    """Options that the notes do not hold yet (keys, as offered), the edits that put them in, and the rest.

    by_hand: of those missing, options that no edit can put in: what they change is not in the notes any more,
    or was written otherwise since the quote.
    """

    missing: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()
    by_hand: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Piece:
    """One value that options change: as it was quoted, as it was agreed, and by which options."""

    was: Any
    agreed: Any
    keys: tuple[str, ...]


def options_taken(shown: Mapping[str, Any], keys: Sequence[str]) -> tuple[Option, ...]:
    """Return the options `keys` of a frozen offer with their changes; WantedError for one unreadable."""
    units, listed = System(shown["units"]), {one["key"]: one for one in shown["options"]}
    return tuple(replace(option_of(key, units), on_top_of=tuple(listed[key]["under"])) for key in keys)


def taken(quoted: Notes, now: Notes, tree: Any, options: Sequence[Option]) -> Taken:
    """Return what of the options is missing in the notes `now`, and the edits of their text that put it in.

    quoted: the notes that the quote was made from. tree: the text of `now` as plain lists and records.
    """
    every = tuple(option.key for option in options)
    try:
        pieces = _pieces(quoted, options)
    except (ChangeError, WantedError, ValueError, KeyError):
        return Taken(every, (), every)
    here = _values(now)
    lost, hand = set[str](), set[str]()
    for place, piece in pieces.items():
        value = here.get(place)
        if _held(place, value, piece):
            continue
        lost |= set(piece.keys)
        if not _same(value, piece.was) or (value is None and not _row_there(place, now)):
            hand |= set(piece.keys)
    todo = {p: one for p, one in pieces.items() if lost & set(one.keys) and not hand & set(one.keys)}
    edits = _seen(tree, _edits(todo, here, now))
    return Taken(tuple(k for k in every if k in lost), edits, tuple(k for k in every if k in hand))


def _pieces(quoted: Notes, options: Sequence[Option]) -> dict[Place, _Piece]:
    """Return each value that the options change, taken one after another as they were priced."""
    known = {option.key: option for option in options}
    _, order = chosen_notes(quoted, tuple(known), options)
    pieces: dict[Place, _Piece] = {}
    notes, before = quoted, _values(quoted)
    for key in order:
        notes = changed(notes, known[key].changes)
        after = _values(notes)
        for place in (*before, *(p for p in after if p not in before)):
            was, agreed = before.get(place), after.get(place)
            if was != agreed:
                first = pieces.get(place, _Piece(was, agreed, ()))
                pieces[place] = _Piece(first.was, agreed, (*first.keys, key))
        before = after
    return pieces


def _values(notes: Notes) -> dict[Place, Any]:
    """Return every value of notes that an option may change, by its place."""
    found: dict[Place, Any] = {}
    thick = {spec.name: spec.thickness for spec in specify(notes)}
    for slab in notes.slabs:
        at_slab = ("slabs", slab.name)
        found[(*at_slab, "finish")] = slab.finish
        found[(*at_slab, "thickness")] = thick[slab.name]
        found[(*at_slab, "width")] = slab.width
        found[(*at_slab, "steel", "choice")] = slab.steel.choice if slab.steel else None
        found[(*at_slab, "fall", "from-house")] = slab.fall.from_house
        found |= {(*at_slab, "meets", m.existing): True for m in slab.meets if m.existing}
    found |= {("existing", old.name, "keeps"): old.keeps for old in notes.existing}
    for drain in notes.water.trench_drains:
        found[("water", "trench-drains", drain.name, *drain.along)] = True
    return found


def _held(place: Place, value: Any, piece: _Piece) -> bool:
    """Whether notes hold what was agreed. A width that was measured again counts by what it is nearer to."""
    if _same(value, piece.agreed):
        return True
    if place[-1] != "width" or value is None:
        return False
    return bool(abs(value - piece.agreed) < abs(value - piece.was))


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= SAME
    return bool(one == other)


def _row_there(place: Place, now: Notes) -> bool:
    """Whether the record is there that a value is written into."""
    rows: Mapping[str, Iterable[Any]] = {"slabs": now.slabs, "existing": now.existing}
    return place[0] not in rows or any(row.name == place[1] for row in rows[place[0]])


def _edits(todo: Mapping[Place, _Piece], here: Mapping[Place, Any], now: Notes) -> Iterator[Edit]:
    """Yield the edits; rows that are taken away go last and from the end, so that no number moves."""
    gone: list[tuple[str | int, ...]] = []
    for place, piece in todo.items():
        if _held(place, here.get(place), piece):
            continue
        head, *rest = place
        if head == "water":
            yield Edit("append", ("water", "trench-drains"), {"name": rest[1], "along": rest[2:]})
            continue
        rows: Sequence[Any] = now.slabs if head == "slabs" else now.existing
        number = next(n for n, row in enumerate(rows) if row.name == rest[0])
        if rest[1] == "meets":
            met = now.slabs[number].meets
            gone += [("slabs", number, "meets", m) for m, one in enumerate(met) if one.existing == rest[2]]
        else:
            yield Edit("set", (head, number, *rest[1:]), _written(place, piece.agreed, now.units))
    for path in sorted(gone, key=lambda path: (path[1], path[3]), reverse=True):
        yield Edit("delete", path)


def _seen(tree: Any, edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Return edits at the places that the text has, with what stands there: others may be quicker."""
    found = []
    for edit in edits:
        one = resolved(tree, edit)
        one = one if isinstance(one, Edit) else edit
        unseen = one.kind != "append" and one.seen is UNSEEN
        found.append(replace(one, seen=at(tree, one.path)) if unseen else one)
    return tuple(found)


def _written(place: Place, value: Any, units: System) -> str:
    """Return a value as the notes hold it: sizes [m] so that they are read back as they are."""
    if not isinstance(value, float):
        return str(value)
    if place[-1] == "from-house":
        return f"{_number(100.0 * value)}%"
    parts = value / (INCH * _FINEST)
    if units is System.METRIC or abs(parts - round(parts)) > SAME:
        return f"{_number(1000.0 * value)} mm"
    style = "feet-inches" if place[-1] == "width" else "inches"
    feet, mark, inches = write_length(value, to=_FINEST, style=style).removesuffix('"').rpartition("'-")
    if not mark:
        return f"{inches} in"
    return f"{feet}'" if inches == "0" else f"{feet}' {inches.removeprefix('0 ')}"


def _number(value: float) -> str:
    """Return a number as text; three places behind the point could be thousands too, so there are four."""
    text = f"{value:.10g}"
    return f"{text}0" if len(text.partition(".")[2]) == len("000") else text
