"""Every Spanish text of the program, with where it stands."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

SOURCE = Path(__file__).resolve().parents[2] / "src" / "slabwright"
# Tables of pairs [English, Spanish]; elsewhere a list of two texts is something else.
PAIRS = {"money/words.toml", "build/says.toml"}
# Calls whose last English text is followed by its Spanish one.
SPOKEN = {"Both": 1, "Column": 2}


def _of_table(node: Any, spanish: bool, pairs: bool) -> Iterator[str]:
    if isinstance(node, str):
        if spanish:
            yield node
    elif isinstance(node, dict):
        for key, value in node.items():
            yield from _of_table(value, spanish or key == "es", pairs)
    elif isinstance(node, list):
        if pairs and len(node) == 2:
            yield from _of_table(node[1], True, False)
            return
        for value in node:
            yield from _of_table(value, spanish, pairs)


def _of_code(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SPOKEN:
            said = node.args[SPOKEN[node.func.id] : SPOKEN[node.func.id] + 1]
        elif isinstance(node, ast.Dict):
            pairs = zip(node.keys, node.values, strict=True)
            said = [value for key, value in pairs if isinstance(key, ast.Constant) and key.value == "es"]
        else:
            continue
        for one in said:
            for part in ast.walk(one):
                if isinstance(part, ast.Constant) and isinstance(part.value, str):
                    yield part.value


@cache
def spanish_texts() -> tuple[tuple[str, str], ...]:
    """Return (file, text) of every Spanish text under src."""
    found: list[tuple[str, str]] = []
    for path in sorted(SOURCE.rglob("*.toml")):
        name = path.relative_to(SOURCE).as_posix()
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        if path.stem.endswith("_es"):
            found += [(name, text) for text in _of_table(table, True, False)]
        else:
            found += [(name, text) for text in _of_table(table, False, name in PAIRS)]
    for path in sorted(SOURCE.rglob("*.py")):
        name = path.relative_to(SOURCE).as_posix()
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [(name, text) for text in _of_code(tree)]
    return tuple(found)
