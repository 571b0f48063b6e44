"""Where on the long sheet a reading or a slab stands that a finding names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

from slabwright.office.sheet.model import FieldView, RowView, Sheet
from slabwright.office.sheet.sections import Group, sections
from slabwright.office.sheet.view import group_view

NAMED_BY = ("tape", "square-off", "levels", "existing", "slabs")  # groups whose rows findings name


def places_of(sheet: Sheet) -> dict[str, str]:
    """Return the id of the field of each reading and slab, by what findings call it ('tape A-P1').

    Of two readings between the same points the first is found.
    """
    found: dict[str, str] = {}
    for group in _groups():
        for row in group_view(sheet, group).rows:
            for name, field in _named(group.key, row):
                found.setdefault(name, field.id)
    return found


def _groups() -> Iterator[Group]:
    for section in sections():
        yield from (group for group in section.groups if group.key in NAMED_BY)


def _named(key: str, row: RowView) -> Iterator[tuple[str, FieldView]]:
    fields = {str(one.path[-1]): one for one in row.fields}
    if key == "tape" and {"from", "to", "reads"} <= set(fields):
        yield f"tape {fields['from'].value}-{fields['to'].value}", fields["reads"]
    elif key == "square-off" and {"point", "along"} <= set(fields):
        yield f"square-off {fields['point'].value}", fields["along"]
    elif key == "levels" and "set-up" in fields:
        for inner in row.groups:
            for rod in inner.rows:
                yield f"rod {rod.title} from {fields['set-up'].value}", rod.fields[0]
    elif key in ("existing", "slabs") and "name" in fields:
        yield fields["name"].value, fields["name"]


def linked(where: str, places: Mapping[str, str]) -> str:
    """Return what a finding names ('tape A-B, square-off P2') as HTML, linked to where it stands."""
    out = []
    for name in where.split(", "):
        at = places.get(name)
        out.append(f'<a href="#{escape(at)}">{escape(name)}</a>' if at else escape(name))
    return ", ".join(out)
