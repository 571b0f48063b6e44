"""The reference of sheets, drawings and tables, read from the code that makes them."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from slabwright.measure import System, unit_of
from slabwright.sheets.words import word, words

HERE = Path(__file__).parent
SHEETS = HERE.parent / "src" / "slabwright" / "sheets"
TOLD = HERE / "told.toml"
PAGE = "page-"
GAP = "…"  # where a heading names something of the job
# Kinds of cells that have no unit of length, area and so on.
PLAIN = {"text": "words", "count": "number", "ratio": "number", "money": "money", "percent": "%"}


def told(part: str, wanted: set[str]) -> Mapping[str, Any]:
    """Return what told.toml says of a part; LookupError where it says too little or too much."""
    rows: dict[str, Any] = tomllib.loads(TOLD.read_text(encoding="utf-8"))[part]
    if lacking := wanted - rows.keys():
        names = ", ".join(sorted(lacking))
        raise LookupError(
            f"docs/told.toml says nothing of {names} under [{part}]: write it, then run: make docs"
        )
    if gone := rows.keys() - wanted:
        names = ", ".join(sorted(gone))
        raise LookupError(
            f"docs/told.toml, [{part}]: there is no {names} any more: delete it, then: make docs"
        )
    return rows


@dataclass(frozen=True, slots=True)
class Shown:
    """A table as the code has it: key, title and columns (heading in English, in Spanish, kind of cells)."""

    key: str
    title: tuple[str, str]
    columns: tuple[tuple[str, str, str], ...]


class _Module:
    """One module of tables: what its names stand for, as far as tables need it."""

    def __init__(self, path: Path) -> None:
        self.name = path.name
        self.tree = ast.parse(path.read_text(encoding="utf-8"))
        self.functions = {n.name: n for n in ast.walk(self.tree) if isinstance(n, ast.FunctionDef)}

    def tables(self) -> Iterator[Shown]:
        """Yield every table that the module makes under a key of its own; the last of a key counts."""
        for function in self.functions.values():
            for node in ast.walk(function):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Table":
                    key, title, columns = node.args[:3]
                    if isinstance(key, ast.Constant):
                        told = self._both(self._meant(title, function))
                        yield Shown(str(key.value), told, tuple(self._columns(columns, function)))

    def _meant(self, node: ast.expr, function: ast.FunctionDef) -> ast.expr:
        """Return what a name stands for in a function or in the module; other expressions as they are."""
        if not isinstance(node, ast.Name):
            return node
        for one in (*ast.walk(function), *self.tree.body):
            if isinstance(one, ast.Assign) and any(ast.unparse(t) == node.id for t in one.targets):
                return one.value
            if isinstance(one, ast.AnnAssign) and ast.unparse(one.target) == node.id and one.value:
                return one.value
            if isinstance(one, ast.ImportFrom) and any(node.id == (n.asname or n.name) for n in one.names):
                there = _Module(SHEETS / f"{(one.module or '').rpartition('.')[2]}.py")
                return there._meant(node, function)
        raise LookupError(f"{self.name}: what is {node.id}?")

    def _columns(self, node: ast.expr, function: ast.FunctionDef) -> Iterator[tuple[str, str, str]]:
        node = self._meant(node, function)
        if isinstance(node, ast.Tuple):
            for one in node.elts:
                yield from self._columns(one.value if isinstance(one, ast.Starred) else one, function)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Column":
            _, en, es, *kind = (_text(arg) for arg in node.args)
            yield en, es, kind[0] if kind else "text"
        elif isinstance(node, ast.IfExp):  # columns that only some jobs have
            yield from self._columns(node.body, function)
            yield from self._columns(node.orelse, function)
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in self.functions:
            inner = self.functions[ast.unparse(node.func)]
            (made,) = (n.value for n in ast.walk(inner) if isinstance(n, ast.Return) and n.value)
            yield from self._columns(made, inner)
        else:
            raise LookupError(f"{self.name}: columns that the docs cannot read: {ast.unparse(node)}")

    def _both(self, node: ast.expr) -> tuple[str, str]:
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "Both":
            en, es = (_text(arg) for arg in node.args)
            return en, es
        if isinstance(node, ast.IfExp):
            yes, no = self._both(node.body), self._both(node.orelse)
            return f"{yes[0]}, or: {no[0]}", f"{yes[1]}, o: {no[1]}"
        raise LookupError(f"{self.name}: a title that the docs cannot read: {ast.unparse(node)}")


def _text(node: ast.expr) -> str:
    """Return a text of the code; what it fills in from the job is a gap."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(_text(n) if isinstance(n, ast.Constant) else GAP for n in node.values)
    raise LookupError(f"a heading that the docs cannot read: {ast.unparse(node)}")


def tables() -> dict[str, Shown]:
    """Return every table that sheets and files hold, by key."""
    return {made.key: made for path in sorted(SHEETS.glob("*.py")) for made in _Module(path).tables()}


def drawings() -> list[str]:
    """Return the keys of the drawings: each has words for who cannot see it."""
    return [key.removeprefix("alt-") for key in words() if key.startswith("alt-")]


def _unit(kind: str) -> str:
    """Return what a column's numbers are in, imperial and metric."""
    if kind in PLAIN:
        return PLAIN[kind]
    try:
        imperial, metric = (unit_of(kind, system) for system in (System.IMPERIAL, System.METRIC))
    except KeyError:
        return kind
    return imperial if imperial == metric else f"{imperial} or {metric}"


def sheet_list() -> str:
    """Return the sheets of packet and pour with their titles, in the order of told.toml."""
    keys = [key.removeprefix(PAGE) for key in words() if key.startswith(PAGE)]
    rows = told("sheets", set(keys))
    lines = ["| sheet | Spanish | what it is for |", "|---|---|---|"]
    for key, text in rows.items():
        en, es = (word(PAGE + key, lang).replace("{datum}", GAP) for lang in ("en", "es"))
        lines.append(f"| {en} | {es} | {text} |")
    return "\n".join(lines) + "\n"


def papers() -> set[str]:
    """Return the files of money that the code writes; what it counts is N, what it has one each of is KEY."""
    places = (
        *SHEETS.glob("money_*.py"),
        SHEETS.parent / "priced.py",
        *(SHEETS.parent / "cli").glob("money*.py"),
    )
    code = "".join(path.read_text(encoding="utf-8") for path in places)
    found = re.findall(r'"((?:[\w.-]|{[^}]+})+\.(?:pdf|ics|csv|xlsx|json))"', code)
    return {re.sub(r"{[^}]+}", "N", name.replace("{table.key}", "KEY")) for name in found} - {"demo_book.csv"}


def paper_list() -> str:
    """Return the papers of money."""
    lines = ["| file | what it is |", "|---|---|"]
    lines += [f"| `{name}` | {text} |" for name, text in told("papers", papers()).items()]
    return "\n".join(lines) + "\n"


def drawing_list() -> str:
    """Return the drawings with what they show."""
    lines = ["| drawing | what it shows |", "|---|---|"]
    for key in drawings():
        text = word(f"alt-{key}").format(title="the job", day=GAP)
        lines.append(f"| `{key}` | {text} |")
    return "\n".join(lines) + "\n"


def table_list() -> str:
    """Return every table with its columns."""
    made = tables()
    parts = []
    for key, text in told("tables", set(made)).items():
        one = made[key]
        parts.append(f"### `{key}`\n\n**{one.title[0]}** ({one.title[1]}): {text}.\n")
        rows = [f"| {en} | {es} | {_unit(kind)} |" for en, es, kind in one.columns]
        parts.append("\n".join(["| column | Spanish | holds |", "|---|---|---|", *rows]) + "\n")
    return "\n".join(parts)
