"""Every sentence that the readers of job files and readings can say, read off their source, with {}."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from importlib.resources import files

# Which argument of a call is a sentence for the person who wrote the job file.
CALLS = {"say": 2, "unknown": 2, "stop": 3, "Mistake": 5, "_between": 2, "fail": 0, "WriteError": 0}
MORE = {"measure": {"MeasureError": 3}, "ground": {"add": 3, "stop": 3}}
# Functions whose texts returned are such sentences.
RETURNS = {"twice", "did_you_mean", "tell_apart", "control_words", "in_words", "_unknown"}
NAMES = {"why", "reason", "_UNKNOWN"}  # names that hold them
PAIRS = {"_TYPES", "_MEANINGS"}  # tables of rows with them in the second column
# ValueErrors are sentences where the models turn them into mistakes, slips of the program elsewhere.
TURNED = {("notes", "values.py"), ("notes", "models.py"), ("notes", "models_weather.py")}
HOLE = "{}"


def sentences() -> dict[str, str]:
    """Return every sentence as its template, with the file and line that says it."""
    found: dict[str, str] = {}
    for room in ("measure", "notes", "ground"):
        for file in files(f"slabwright.{room}").iterdir():
            if file.name.endswith(".py"):
                calls = CALLS | MORE.get(room, {})
                if (room, file.name) in TURNED:
                    calls["ValueError"] = 0
                tree = ast.parse(file.read_text(encoding="utf-8"))
                for node, line in _said(tree, calls):
                    for text in _forms(node):
                        if any(c.isalpha() for c in text.replace(HOLE, "")):
                            found.setdefault(text, f"{room}/{file.name}:{line}")
    return found


def _said(tree: ast.Module, calls: dict[str, int]) -> Iterator[tuple[ast.expr, int]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            at = calls.get(name)
            if at is not None and len(node.args) > at:
                yield node.args[at], node.lineno
        elif isinstance(node, ast.Assign):
            yield from ((value, node.lineno) for value in _assigned(node.targets[0], node.value))
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            yield from ((value, node.lineno) for value in _assigned(node.target, node.value))
        elif isinstance(node, ast.FunctionDef) and node.name in RETURNS:
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and inner.value is not None:
                    value = inner.value
                    yield value.elts[0] if isinstance(value, ast.Tuple) else value, inner.lineno


def _assigned(target: ast.expr, value: ast.expr) -> Iterator[ast.expr]:
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, part in zip(target.elts, value.elts, strict=True):
            yield from _assigned(one, part)
    elif isinstance(target, ast.Name) and target.id in NAMES:
        yield from value.values if isinstance(value, ast.Dict) else (value,)
    elif isinstance(target, ast.Name) and target.id in PAIRS and isinstance(value, ast.Tuple):
        yield from (row.elts[1] for row in value.elts if isinstance(row, ast.Tuple))


def _forms(node: ast.expr | None) -> list[str]:
    """Return every form that a text can take; what is only known when it runs is a hole."""
    if isinstance(node, ast.Constant):
        return [holes(node.value)] if isinstance(node.value, str) else []
    if isinstance(node, ast.JoinedStr):
        forms = [""]
        for part in node.values:
            ends = _part(part.value if isinstance(part, ast.FormattedValue) else part)
            forms = [form + end for form in forms for end in ends]
        return forms
    if isinstance(node, ast.IfExp):
        return _forms(node.body) + _forms(node.orelse)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add) and not _counts(node):
        return [a + b for a in _part(node.left) for b in _part(node.right)]
    return []


def _counts(node: ast.BinOp) -> bool:
    return any(
        isinstance(end, ast.Constant) and isinstance(end.value, int) for end in (node.left, node.right)
    )


def _part(inner: ast.expr) -> list[str]:
    if isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "did_you_mean":
        return [""]  # what it adds is a sentence of its own, matched before the rest
    return _forms(inner) or [HOLE]


def holes(text: str) -> str:
    """Return the text of a table with its named places as holes."""
    out, inside = "", False
    for c in text:
        inside = (inside or c == "{") and c != "}"
        out += HOLE if c == "{" else "" if inside or c == "}" else c
    return out
