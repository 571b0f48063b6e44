"""The table of every key for docs/job-file.md, read off the models, keys.toml and defaults.toml."""

from __future__ import annotations

from typing import Any, get_args

from slabwright.notes.defaults import table
from slabwright.notes.layout import (
    Key,
    all_rows,
    bare,
    branches,
    choices_of,
    is_name,
    item_of,
    items_of,
    keys_of,
    named_of,
    published,
    row_of,
)
from slabwright.notes.models import Notes, Row, Use


def reference() -> str:
    """Return Markdown: a heading and a table for each record, in the order of the job file."""
    return "\n".join(_section(row) for row in all_rows())


def defaults_reference() -> str:
    """Return Markdown: what each use takes where the notes say nothing, with the sources."""
    values = table()
    uses = get_args(Use)
    words = ("made", "bar", "both-ways")
    rows = dict.fromkeys(name for use in uses for name in values[use] if name not in words)
    lines = ["| | " + " | ".join(uses) + " |", "|---|" + "---|" * len(uses)]
    for name in sorted(rows, key=lambda name: name not in values[uses[0]]):
        cells = [_default(values[use].get(name)) for use in uses]
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    lines += [f"| {name} | " + " | ".join(str(values[use][name]) for use in uses) + " |" for name in words]
    lines += ["", "For every use:", ""]
    lines += [f"- {name}: {_default(cell)}" for name, cell in values["all"].items()]
    lines += [f"- strength, frost {frost}: {_default(cell)}" for frost, cell in values["strength"].items()]
    return "\n".join(lines) + "\n"


def _default(cell: list[str] | None) -> str:
    if cell is None:
        return ""
    imperial, metric, key = cell
    value = imperial if imperial == metric else f"{imperial} ({metric})"
    return f"{value} `{key}`"


def _section(row: type[Row]) -> str:
    title = "The file itself" if row is Notes else _places(row)
    about = (row.__doc__ or "").strip().split("\n")[0]
    lines = [
        f'### {title} <a id="{row.__name__.lower()}"></a>',
        "",
        about,
        "",
        "| key | what | holds | example |",
        "|---|---|---|---|",
    ]
    lines += [_line(key) for key in keys_of(row).values()]
    return "\n".join(lines) + "\n"


def _line(key: Key) -> str:
    name = f"`{key.name}`" + (" (needed)" if key.required else "")
    return f"| {name} | {_cell(key.says)} | {_holds(key.type)} | `{_cell(key.example)}` |"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _places(row: type[Row]) -> str:
    """Return where a record stands: 'slabs: fall'."""
    for outer in all_rows():
        for key in keys_of(outer).values():
            if row in _rows_in(key.type):
                return key.name if outer is Notes else f"{_places(outer)}: {key.name}"
    raise LookupError(row.__name__)


def _rows_in(annotation: Any) -> list[type[Row]]:
    found = []
    for branch in branches(annotation):
        for kind in branches(item_of(branch) or named_of(branch) or branch):
            row = row_of(kind)
            if row is not None:
                found.append(row)
    return found


def _holds(annotation: Any) -> str:
    """Return in words what a value may be."""
    options = branches(annotation)
    if len(options) > 1:
        return " or ".join(_holds(option) for option in options)
    row, item, items, named = (
        row_of(annotation),
        item_of(annotation),
        items_of(annotation),
        named_of(annotation),
    )
    if row is not None:
        return f"[record](#{row.__name__.lower()})"
    if item is not None:
        return f"list of {_holds(item)}"
    if items is not None:
        return " and ".join(_holds(kind) for kind in items)
    if named is not None:
        return f"{_holds(named)} by name"
    choices = choices_of(annotation)
    if choices:
        return ", ".join(choices)
    return "name" if is_name(annotation) else _single(annotation)


def _single(annotation: Any) -> str:
    carried = published(annotation)
    if carried is not None:
        return str(carried["description"])
    return {bool: "yes or no", int: "whole number", float: "number"}.get(bare(annotation), "text")
