"""The long sheet as a page shows it: every field with what was written, how it was read, what would do."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from slabwright.measure import System
from slabwright.notes.emit import flow
from slabwright.notes.layout import canonical, published
from slabwright.notes.mistakes import Mistake, dotted
from slabwright.notes.spelled import names_in, spelled, wanted_by
from slabwright.office.sheet import words
from slabwright.office.sheet.asread import as_read
from slabwright.office.sheet.model import FieldView, GroupView, RowView, Sheet
from slabwright.office.sheet.sections import Group, Section
from slabwright.office.sheet.shape import KeyPath, PlaceError, Spot, row_at, spot
from slabwright.office.words import word

YES = frozenset({"yes", "y", "true", "t", "on", "1"})
DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
NO = frozenset({"no", "n", "false", "f", "off", "0"})


def sheet_of(
    tree: Mapping[str, Any],
    *,
    system: System,
    lang: str,
    mistakes: Collection[Mistake] = (),
    first: Mapping[str, Any] | None = None,
) -> Sheet:
    """Return a sheet over the plain tree of a job file; `first` is the tree that a starter began as."""
    return Sheet(tree, first, system, lang, {m.field: m for m in mistakes}, names_in(tree))


def group_view(sheet: Sheet, group: Group, base: KeyPath = ()) -> GroupView:
    """Return a group with the values that stand under `base`."""
    path = (*base, *group.at)
    title, lead = words.heading(group.key, sheet.lang), words.lead(group.key, sheet.lang)
    here = _value(sheet.tree, path)
    if group.kind == "fields":
        fields = tuple(field_view(sheet, (*base, *one)) for one in group.fields)
        return _counted(GroupView(group, path, title, lead, fields))
    rows, text = tuple(_rows(sheet, group, path, here)), ""
    if here is not None and not isinstance(here, Mapping if group.kind == "named" else list):
        text = flow(here)
    new = tuple(_new_fields(sheet, group, path)) if group.made and not text else ()
    return _counted(GroupView(group, path, title, lead, rows=rows, new=new, text=text))


def _counted(view: GroupView) -> GroupView:
    every = list(fields_of(view))
    wrong = sum(bool(one.why) for one in every)
    filled = any(one.value for one in every) or bool(view.rows) or bool(view.text)
    shut = view.group.fold and not filled and not wrong
    examples = sum(row.example_only for row in view.rows) + sum(f.example_only for f in view.fields)
    examples += sum(inner.examples for row in view.rows for inner in row.groups)
    return GroupView(
        view.group, view.path, view.title, view.lead, view.fields, view.rows, view.new, shut, view.text,
        examples, wrong,
    )  # fmt: skip


def fields_of(view: GroupView) -> Iterator[FieldView]:
    """Yield every field of a group, those of its rows and their groups too."""
    yield from view.fields
    for row in view.rows:
        yield from (*row.fields, *row.more)
        for inner in row.groups:
            yield from fields_of(inner)


def section_view(sheet: Sheet, section: Section) -> tuple[GroupView, ...]:
    """Return the groups of a section."""
    return tuple(group_view(sheet, group) for group in section.groups)


def _rows(sheet: Sheet, group: Group, path: KeyPath, here: Any) -> Iterator[RowView]:
    if group.kind == "named" and isinstance(here, Mapping):
        for name in here:
            one = field_view(sheet, (*path, name), label=name)
            yield RowView((*path, name), name, (one,), example_only=group.example and one.example_only)
    elif group.kind == "lists" and isinstance(here, list):
        for n in range(len(here)):
            one = field_view(sheet, (*path, n), label=f"{words.heading(group.key, sheet.lang)} {n + 1}")
            yield RowView((*path, n), one.label, (one,), example_only=one.example_only)
    elif isinstance(here, list):
        for n, record in enumerate(here):
            yield _row(sheet, group, (*path, n), record)


def _row(sheet: Sheet, group: Group, path: KeyPath, record: Any) -> RowView:
    keys = spelled(row_at(path[:-1]), record, sheet.known)
    title = words.row_title(group.key, path[-1], keys, sheet.lang)
    if keys is None:
        return RowView(path, title, text=flow(record))
    fields = tuple(field_view(sheet, (*path, *one)) for one in group.fields)
    more = tuple(field_view(sheet, (*path, *one)) for one in group.more)
    groups = tuple(group_view(sheet, inner, path) for inner in group.inner)
    shown = {one[0] for one in (*group.fields, *group.more)} | {i.at[0] for i in group.inner}
    rest = {key: value for key, (_, value) in keys.items() if key not in shown}
    text = flow(rest) if rest and group.kind == "rows" else ""
    return RowView(path, title, fields, more, groups, text, group.example and _is_example(sheet, path))


def _is_example(sheet: Sheet, path: KeyPath) -> bool:
    """Whether what stands here is what the starter began with: for records, whichever line they stood on."""
    if sheet.first is None:
        return False
    now = _value(sheet.tree, path)
    if now is None:
        return False
    if isinstance(path[-1], int):
        began = _value(sheet.first, path[:-1])
        return isinstance(began, list) and now in began
    return bool(now == _value(sheet.first, path))


def _value(tree: Any, path: KeyPath, known: Collection[str] = ()) -> Any:
    """Return what stands at a path as the model spells it, short forms taken apart; None for nothing."""
    here = tree
    for n, part in enumerate(path):
        if isinstance(part, int):
            here = here[part] if isinstance(here, list) and 0 <= part < len(here) else None
        elif isinstance(here, Mapping | str) and n:
            row = _record_at(path[:n])
            keys = spelled(row, here, known) if row is not None else None
            if keys is not None:
                here = keys[canonical(part)][1] if canonical(part) in keys else None
            else:
                here = here.get(part) if isinstance(here, Mapping) else None
        elif isinstance(here, Mapping):
            here = next((v for k, v in here.items() if canonical(k) == canonical(part)), None)
        else:
            return None
        if here is None:
            return None
    return here


def _record_at(path: KeyPath) -> Any:
    from slabwright.notes.layout import branches, row_of

    return next((r for r in map(row_of, branches(spot(path).type)) if r is not None), None)


def field_view(sheet: Sheet, path: KeyPath, *, label: str = "") -> FieldView:
    """Return one field: what was written there, how it is read, what is wrong with it."""
    here = spot(path)
    raw = _value(sheet.tree, path, sheet.known)
    wrong = sheet.mistakes.get(dotted(path))
    read = as_read(here, raw, system=sheet.system, lang=sheet.lang)
    why, example = read.why, read.example
    if wrong is not None:
        why, example = wrong.why, wrong.example or example
    return FieldView(
        path=path,
        label=label or words.label(here, sheet.lang),
        help=words.help_of(here, sheet.lang),
        example=_example(here, example),
        wants=here.wants,
        value=shown(here, raw),
        seen=json.dumps(raw, ensure_ascii=False),
        read=read.text if read.good else "",
        why=why,
        needed=here.key.name in wanted_by(here.row) and not here.named,
        example_only=here.wants in ("measured", "pair") and _is_example(sheet, path),
        choices=_choices(here, raw, sheet.lang),
        day=_is_day(here, raw),
    )


def _is_day(here: Spot, raw: Any) -> bool:
    says = published(here.type)
    if says is None or says["description"] != "day":
        return False
    return raw is None or (isinstance(raw, str) and DAY.fullmatch(raw) is not None)


def _example(here: Spot, given: str) -> str:
    text = given.removeprefix(f"{here.key.name}: ").strip()
    return here.example if not text or text.startswith("- ") else text


def spot_of(field: str) -> Spot | None:
    """Return the place that a mistake names ('slabs.1.width', 'tape.+.reads'), None for no field's."""
    try:
        return spot(tuple(map(_part, field.split("."))))
    except PlaceError:
        return None


def _part(said: str) -> str | int:
    return 0 if said == "+" else max(int(said) - 1, 0) if said.isdecimal() else said


def typed_example(field: str, given: str | None) -> str:
    """Return a mistake's example as it can be typed into its field: '45 %' of 'humidity: 45 %'.

    '' where none was given; what belongs to no field stays as a job file holds it.
    """
    at = spot_of(field) if given else None
    if given is None or at is None or at.wants == "record":
        return given or ""
    return _example(at, given)


def shown(here: Spot, raw: Any) -> str:
    """Return a raw value as it stands in its field: lists of names with commas, records in braces."""
    if raw is None:
        return ""
    if isinstance(raw, str):
        if here.wants == "yesno":
            return "yes" if raw.casefold() in YES else "no" if raw.casefold() in NO else raw
        if here.wants == "choice":
            return next((c for c in here.choices if canonical(c) == canonical(raw)), raw)
        return raw
    if isinstance(raw, list) and all(isinstance(one, str) and flow(one) == one for one in raw):
        return ", ".join(raw)
    text = flow(raw)
    return text[1:-1] if isinstance(raw, list) and not text.startswith("[[") else text


def _choices(here: Spot, raw: Any, lang: str) -> tuple[tuple[str, str], ...]:
    if here.wants == "yesno":
        found = tuple((one, words.choice(one, lang)) for one in ("yes", "no"))
    else:
        found = tuple((one, words.choice(one, lang, here.key.name)) for one in here.choices)
    own = shown(here, raw)
    if found and own and own not in {value for value, _ in found}:
        found = (*found, (own, own))  # what was written, though it is none of them
    return found


def _new_fields(sheet: Sheet, group: Group, path: KeyPath) -> Iterator[FieldView]:
    """Yield the fields of a record to add, empty."""
    if group.kind == "named":
        at = spot((*path, "*"))
        yield FieldView(
            (*path, "+name"), word("new-name", sheet.lang), "", "N5", "text", "", "null", needed=True
        )
        yield FieldView(
            (*path, "+value"), words.label(at, sheet.lang), "", at.example, at.wants, "", "null", needed=True
        )
        return
    if group.kind == "lists":
        at = spot((*path, 0))
        yield FieldView(
            (*path, "+value"),
            word("new-names", sheet.lang),
            "",
            "A, P1, P2",
            "list",
            "",
            "null",
            needed=True,
        )
        return
    shown_now = group.fields if group.kind == "cards" else (*group.fields, *group.more)
    needed = wanted_by(row_at(path))
    for one in shown_now:
        if len(one) > 1 or (group.kind == "cards" and one[0] not in needed and group.key != "slabs"):
            continue
        at = spot((*path, 0, *one))
        yield FieldView(
            path=(*path, "+", *one),
            label=words.label(at, sheet.lang),
            help=words.help_of(at, sheet.lang),
            example=at.example,
            wants=at.wants,
            value="",
            seen="null",
            needed=one[0] in needed,
            choices=_choices(at, None, sheet.lang),
        )
