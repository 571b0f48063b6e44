"""Where an edit goes: from the place that a page shows to the place in the text, short forms and all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from slabwright.notes.layout import branches, canonical, keys_of, row_of
from slabwright.notes.models import Notes, Row
from slabwright.notes.spelled import names_in, put_together, spelled
from slabwright.office.actions.edits import UNSEEN, Clash, Edit, KeyPath
from slabwright.office.sheet.shape import PlaceError, row_at, spot


def resolved(tree: Any, edit: Edit) -> Edit | Clash:
    """Return the edit as the text needs it: ("tape", 0, "reads") may stand at ("tape", 0, "A-B").

    A name that is part of a key (the A of `A-B: 42'`) is changed by writing its record anew. A Clash where
    somebody changed just that name. Paths that the job file's model does not know stay as they are.
    """
    if edit.kind == "append":
        return _added(tree, edit)
    node, raw = tree, list[str | int]()
    for n, part in enumerate(edit.path):
        row = _record(edit.path[:n])
        if row is not None and isinstance(part, str):
            keys = spelled(row, node, names_in(tree)) if _is_short(node, row) else None
            if keys is not None and not (isinstance(node, Mapping) and part in node):
                return _in_record(row, node, keys, edit, n, raw, tree)
            part = _as_written(node, part)
        raw.append(part)
        node = _inside(node, part)
    return replace(edit, path=tuple(raw))


def _added(tree: Any, edit: Edit) -> Edit:
    if not isinstance(edit.value, Mapping):
        return edit
    try:
        row = row_at(edit.path)
    except PlaceError:
        return edit
    return replace(edit, value=put_together(row, edit.value, names_in(tree)))


def _record(path: KeyPath) -> type[Row] | None:
    """Return the record class of what stands at a path, None for lists, names and single values."""
    if not path:
        return Notes
    try:
        kind = spot(path).type
    except PlaceError:
        return None
    return next((r for r in map(row_of, branches(kind)) if r is not None), None)


def _is_short(node: Any, row: type[Row]) -> bool:
    """Whether a node is written in a short form: as a text, or with keys that are not the model's."""
    if isinstance(node, str):
        return True
    return isinstance(node, Mapping) and any(canonical(str(key)) not in keys_of(row) for key in node)


def _in_record(
    row: type[Row],
    node: Any,
    keys: dict[str, tuple[KeyPath, Any]],
    edit: Edit,
    n: int,
    raw: list[str | int],
    tree: Any,
) -> Edit | Clash:
    part, rest = canonical(str(edit.path[n])), edit.path[n + 1 :]
    place, now = keys.get(part, ((), None))
    if place or rest:
        return replace(edit, path=(*raw, *place, *rest))
    if edit.seen is not UNSEEN and now not in (edit.seen, edit.value):
        return Clash(edit.path, edit.seen, now, edit.value)
    values = {key: value for key, (_, value) in keys.items()}
    values[part] = edit.value if edit.kind == "set" else None
    return Edit("set", tuple(raw), put_together(row, values, names_in(tree)), node)


def _as_written(node: Any, key: str) -> str:
    if not isinstance(node, Mapping) or key in node:
        return key
    return next((k for k in node if canonical(k) == canonical(key)), key)


def _inside(node: Any, part: str | int) -> Any:
    if isinstance(node, Mapping) and isinstance(part, str):
        return node.get(part)
    if isinstance(node, list) and isinstance(part, int) and 0 <= part < len(node):
        return node[part]
    return None
