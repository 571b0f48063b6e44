"""The generated pages of the reference: findings, commands, quantities, sources."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import click
import method_pages  # beside this file, not in the package

from slabwright.cli import main as command
from slabwright.sources import Mark, all_sources

WIDE = 98  # letters to a line of help, whatever the terminal
ROOM_NAMES = {
    "survey": "Measuring",
    "ground": "The ground and what stands on it",
    "slab": "Shape, joints, heights, water, steel",
    "build": "Making",
    "pourday": "Pour day",
    "money": "Money",
}


def findings() -> str:
    """Return a heading for every finding, by room, with its words and source; LookupError for a new room."""
    parts = []
    home = Path(str(files("slabwright")))
    paths = {path.parent.name: path for path in home.glob("*/findings.toml")}
    if unnamed := paths.keys() - ROOM_NAMES.keys():
        raise LookupError(
            f"docs/reference.py, ROOM_NAMES: what is {', '.join(unnamed)} called? Then: make docs"
        )
    for room, name in ROOM_NAMES.items():
        if room not in paths:
            continue
        rows = tomllib.loads(paths[room].read_text(encoding="utf-8"))
        parts.append(f"## {name}\n")
        for code, row in sorted(rows.items()):
            parts.append(
                f"### {room}.{code}\n\n**{row['level']}.** {row['what']}\n\n"
                f"- Why: {row['why']}\n- Do: {row['do']}\n- Source: {all_sources()[row['source']].cite()}\n"
            )
    return "\n".join(parts)


def commands() -> str:
    """Return the help of every command as it is printed, those of a group behind it."""
    settings = {**command.context_settings, "terminal_width": WIDE}  # as when it is really called
    context = click.Context(command, info_name="slabwright", **settings)
    return "\n".join([f"```\n{command.get_help(context)}\n```\n", *_helps(command, context)])


def _helps(group: click.Group, context: click.Context) -> Iterator[str]:
    for name in sorted(group.commands):
        one = group.commands[name]
        own = click.Context(one, info_name=name, parent=context, terminal_width=WIDE)
        yield f"## {own.command_path}\n\n```\n{one.get_help(own)}\n```\n"
        if isinstance(one, click.Group):
            yield from _helps(one, own)


def quantities() -> str:
    """Return the nomenclature as a table."""
    text = files("slabwright").joinpath("nomenclature.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)
    lines = ["| name | unit | meaning |", "|---|---|---|"]
    lines += [f"| `{name}` | {row['unit']} | {row['meaning']} |" for name, row in sorted(rows.items())]
    return "\n".join(lines) + "\n"


def sources() -> str:
    """Return every source by its mark."""
    return "\n".join(_sources()) + "\n"


def _sources() -> Iterator[str]:
    says = {
        Mark.SEEN: "The value was read in the document or in a stored copy of it.",
        Mark.RECALLED: "The value is recalled from the named document and was not read again: verify it.",
        Mark.COMPUTED: "The value follows from a stated formula.",
        Mark.PRACTICE: "A custom of the trade with no governing document.",
    }
    for mark in Mark:
        rows = [s for s in all_sources().values() if s.mark is mark]
        yield f"## {mark.value.capitalize()} ({len(rows)})\n\n{says[mark]}\n"
        yield "| key | source | place | used in |\n|---|---|---|---|"
        for source in sorted(rows, key=lambda s: s.key):
            places = [page for page, keys in method_pages.used().items() if source.key in keys]
            links = ", ".join(f"[{page.removesuffix('.md')}](methods/{page})" for page in places)
            links = links or method_pages.NOT_IN_A_METHOD.get(source.key, "")
            yield f'| <a id="{source.key}"></a>`{source.key}` | {source.title} | {source.where} | {links} |'
        yield ""
