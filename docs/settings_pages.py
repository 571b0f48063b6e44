"""The reference of settings and of the API's addresses, read from the code that has them."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from sheet_pages import told  # beside this file, not in the package

SRC = Path(__file__).parents[1] / "src" / "slabwright"
OFFICE = SRC / "office"
PREFIX = "/api/v1"
# Read by the libraries that we stand on, for everybody's sake: a terminal's habits, the user's folders.
COMMON = {"NO_COLOR", "COLUMNS", "XDG_DATA_HOME"}
UNSAID = {"SLABWRIGHT_COMPLETE"}  # between the shell and the completion script, not for people


def named() -> set[str]:
    """Return every setting of the environment that the code reads."""
    texts = (path.read_text(encoding="utf-8") for path in SRC.rglob("*.py"))
    return {name for text in texts for name in re.findall(r"SLABWRIGHT_[A-Z]+", text)} - UNSAID | COMMON


def environment() -> str:
    """Return the settings of the environment."""
    lines = ["| setting | for | what it does | without it |", "|---|---|---|---|"]
    for name, (whom, what, without) in told("environment", named()).items():
        lines.append(f"| `{name}` | {whom} | {what} | {without} |")
    return "\n".join(lines) + "\n"


def _constant(path: Path, name: str) -> tuple[str, ...]:
    """Return a tuple of texts that a module holds."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == name:
            return tuple(ast.literal_eval(node.value))
    raise LookupError(f"{path.name} has no {name} any more: mend docs/settings_pages.py")


def office_words() -> dict[str, dict[str, str]]:
    """Return every word of the office by key, then by language."""
    made: dict[str, dict[str, str]] = {}
    for path in sorted((OFFICE / "words").glob("*.toml")):
        made |= tomllib.loads(path.read_text(encoding="utf-8"))
    return made


def shop() -> str:
    """Return the fields of the shop's page: its own data, then the kit that new jobs begin with."""
    words, page = office_words(), OFFICE / "actions" / "shop.py"
    fields = _constant(page, "FIELDS")
    rows = told("shop", set(fields))
    lines = ["| field | Spanish | what it does |", "|---|---|---|"]
    for key in fields:
        said = words[f"own-{key}"]
        lines.append(f"| {said['en']} | {said['es']} | {rows[key]} |")
    for key in (*_constant(page, "SINGLE"), "stock", "boards"):
        said = words[f"kit-{key}"]
        what = f"[`kit: {key}`](job-file.md#kit) of new jobs"
        lines.append(f"| {said['en']} | {said['es']} | {what} |")
    return "\n".join(lines) + "\n"


def _operations() -> Iterator[tuple[str, str, str]]:
    """Yield method, path and what is said of each operation of the API."""
    for path in sorted((OFFICE / "api").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.FunctionDef):
                continue
            for made in node.decorator_list:
                if isinstance(made, ast.Call) and isinstance(made.func, ast.Attribute):
                    method, first = made.func.attr, made.args[0] if made.args else None
                    if method in {"get", "post", "put", "patch", "delete"} and isinstance(
                        first, ast.Constant
                    ):
                        said = " ".join((ast.get_docstring(node) or "").split())
                        yield method.upper(), f"{PREFIX}{first.value}", said


def api() -> str:
    """Return the addresses of the API with what each does."""
    return "\n".join(f"### `{method} {path}`\n\n{said}\n" for method, path, said in _operations())


def errors() -> str:
    """Return the API's errors by their code, with what each says and what to do."""
    words = office_words()
    codes = [key[4:-5] for key in words if key.startswith("api-") and key.endswith("-what")]
    lines = ["| `error` | what | do |", "|---|---|---|"]
    lines += [
        f"| `{code}` | {words[f'api-{code}-what']['en']} | {words[f'api-{code}-do']['en']} |"
        for code in sorted(codes)
    ]
    return "\n".join(lines) + "\n"
