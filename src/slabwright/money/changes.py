"""Changes that an option makes to the notes: the plan is then made again, so that nothing is forgotten."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, get_args

from slabwright.findings import Finding, find
from slabwright.money.model import Change
from slabwright.notes.defaults import specify
from slabwright.notes.models import Finish, Notes, SlabNotes, SteelChoice, SteelNotes, TrenchDrain


class ChangeError(ValueError):
    """A change that these notes cannot take: the finding's code and its values."""

    def __init__(self, code: str, **values: str) -> None:
        super().__init__(code)
        self.code, self.values = code, values

    def finding(self, where: str = "") -> Finding:
        """Return it as a finding at a place."""
        return find("money", self.code, where=where, line=None, **self.values)


def changed(notes: Notes, changes: Iterable[Change]) -> Notes:
    """Return notes with changes made one after another; ChangeError for one that they cannot take."""
    for change in changes:
        notes = _WAYS[change.what](notes, change)
    return notes


def _slabs(notes: Notes, change: Change, to: Callable[[SlabNotes], dict[str, Any]]) -> Notes:
    """Return notes with every slab that the change means updated; all of them where it names none."""
    names = [slab.name for slab in notes.slabs]
    if change.slab is not None and change.slab not in names:
        raise ChangeError("option-no-slab", item=change.slab, known=", ".join(names))
    slabs = tuple(
        slab.model_copy(update=to(slab)) if change.slab in (None, slab.name) else slab for slab in notes.slabs
    )
    return notes.model_copy(update={"slabs": slabs})


def _finish(notes: Notes, change: Change) -> Notes:
    known = get_args(Finish)
    if change.to not in known:
        raise ChangeError("option-choice", item=change.to or "-", known=", ".join(known))
    return _slabs(notes, change, lambda _: {"finish": change.to})


def _thicker(notes: Notes, change: Change) -> Notes:
    now = {spec.name: spec.thickness for spec in specify(notes)}
    return _slabs(notes, change, lambda slab: {"thickness": now[slab.name] + change.more})


def _steel(notes: Notes, change: Change) -> Notes:
    known = get_args(SteelChoice)
    if change.to not in known:
        raise ChangeError("option-choice", item=change.to or "-", known=", ".join(known))

    def to(slab: SlabNotes) -> dict[str, Any]:
        steel = slab.steel or SteelNotes()
        return {"steel": steel.model_copy(update={"choice": change.to})}

    return _slabs(notes, change, to)


def _wider(notes: Notes, change: Change) -> Notes:
    def to(slab: SlabNotes) -> dict[str, Any]:
        if slab.width is None:
            raise ChangeError("option-no-width", item=slab.name)
        return {"width": slab.width + change.more}

    return _slabs(notes, change, to)


def _take_out(notes: Notes, change: Change) -> Notes:
    names = [old.name for old in notes.existing]
    if change.to not in names:
        raise ChangeError("option-no-slab", item=change.to or "-", known=", ".join(names) or "-")
    out = {"keeps": "nothing"}
    existing = tuple(old.model_copy(update=out) if old.name == change.to else old for old in notes.existing)
    slabs = tuple(
        slab.model_copy(update={"meets": tuple(m for m in slab.meets if m.existing != change.to)})
        for slab in notes.slabs
    )
    return notes.model_copy(update={"existing": existing, "slabs": slabs})


def _drain(notes: Notes, change: Change) -> Notes:
    if len(change.points) < 2:
        raise ChangeError("option-choice", item="-", known="drain: two points or more")
    drain = TrenchDrain(name=change.to or "trench drain", along=change.points)
    water = notes.water.model_copy(update={"trench_drains": (*notes.water.trench_drains, drain)})
    notes = notes.model_copy(update={"water": water})
    return _slabs(
        notes, change, lambda slab: {"fall": slab.fall.model_copy(update={"from_house": change.more})}
    )


_WAYS: dict[str, Callable[[Notes, Change], Notes]] = {
    "finish": _finish,
    "thicker": _thicker,
    "steel": _steel,
    "wider": _wider,
    "take-out": _take_out,
    "drain": _drain,
}
