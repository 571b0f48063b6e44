"""Rooms stay small: no module of 500 lines, no function whose body takes 60, the docstring not counted."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

SRC = Path(__file__).parents[2] / "src"
MODULES = [
    path for path in sorted(SRC.rglob("*.py")) if "migrations" not in path.parts
]  # Django writes those
LINES, BODY = 500, 60


def bodies(text: str) -> Iterator[tuple[str, int, int]]:
    """Yield name, first line and number of lines of every function's body after its docstring."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) is not None else node.body
            if body:
                yield node.name, node.lineno, (body[-1].end_lineno or 0) - body[0].lineno + 1


def test_no_module_is_long() -> None:
    sizes = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    long = [f"{path.relative_to(SRC)}: {size} lines" for path, size in sizes.items() if size > LINES]
    assert len(sizes) > 300
    assert long == [], "take a part that stands by itself into a module of its own"


def test_no_function_is_long() -> None:
    long = [
        f"{path.relative_to(SRC)}:{line}: {name} has {size} lines"
        for path in MODULES
        for name, line, size in bodies(path.read_text(encoding="utf-8"))
        if size >= BODY
    ]
    assert long == [], "give a step of it a name and a function of its own"


def test_the_body_is_counted_without_its_docstring() -> None:
    text = 'def f():\n    """One.\n\n    Two.\n    """\n    a = 1\n    return a\n\n\ndef g(): ...\n'
    assert list(bodies(text)) == [("f", 1, 2), ("g", 10, 1)]
