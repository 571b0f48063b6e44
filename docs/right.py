"""The page 'Is it right?': every check against something from outside, with the printed figure and ours.

    python docs/right.py        runs tests/outside and writes docs/is-it-right.md (about a minute)

It is also the plug-in of that run: pytest hands it every assertion that held, with the values on both sides.
"""

from __future__ import annotations

import ast
import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
OUTSIDE = HERE.parent / "tests" / "outside"
PAGE = HERE / "is-it-right.md"
INTO = "SLABWRIGHT_RIGHT_INTO"
ROWS = 6  # figures of one check that are shown; the rest are counted

HEAD = """# Is it right?

<!-- outside checks {digest}; written by docs/right.py from a run of tests/outside -->

Every check against something that is not ours: published standards, handbook tables, worked examples,
open data and general-purpose libraries. 'Theirs' is the figure as the source prints it (or as the library
gives it), 'ours' what this program gave in the run that wrote this page, 'allowed' how far apart they may
be, mostly half a unit of the last printed digit. A test of the suite fails when one of them is further off.

{sources} sources, {held:,} checks that held, {figures:,} of them figures. How each source came to us (read,
recalled, common practice) stands in [sources](sources.md).
"""

_NUMBER = r"(?:np\.float64\()?(?:Decimal\(')?(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?)'?\)?\)?"
_FIGURES = re.compile(rf"^{_NUMBER} == {_NUMBER}(?: ± ([\d.e+-]+))?(?:\s|$)")


def pytest_assertion_pass(item: Any, lineno: int, orig: str, expl: str) -> None:
    """Write an assertion that held as a line of JSON."""
    held = {"test": item.nodeid, "line": lineno, "said": orig, "held": expl[:400]}
    with Path(os.environ[INTO]).open("a", encoding="utf-8") as out:
        out.write(json.dumps(held) + "\n")


@dataclass(slots=True)
class Check:
    """One test: what it says it checks, its figures (ours, theirs, allowed), and how many more held."""

    says: str
    figures: list[tuple[str, str, str]] = field(default_factory=list)
    more: int = 0
    others: int = 0


def digest() -> str:
    """Return a short hash of all outside checks as they stand."""
    told = hashlib.sha256()
    for path in sorted(OUTSIDE.glob("test_*.py")):
        told.update(path.name.encode() + path.read_bytes())
    return told.hexdigest()[:16]


def run() -> list[dict[str, Any]]:
    """Run the outside checks and return every assertion that held; ends when one fails."""
    with tempfile.TemporaryDirectory() as folder:
        into = Path(folder) / "held.jsonl"
        path = os.pathsep.join(filter(None, (str(HERE), os.environ.get("PYTHONPATH"))))
        env = os.environ | {INTO: str(into), "PYTHONPATH": path, "PYTHONPYCACHEPREFIX": f"{folder}/pyc"}
        call = [sys.executable, "-m", "pytest", "-q", "-p", "right", "-p", "no:cacheprovider"]
        call += ["-o", "enable_assertion_pass_hook=true", str(OUTSIDE)]
        done = subprocess.run(call, cwd=HERE.parent, env=env, capture_output=True, text=True, check=False)
        if done.returncode:
            sys.exit(f"{done.stdout[-3000:]}\n{done.stderr[-1000:]}\na check failed: no page was written")
        return [json.loads(line) for line in into.read_text(encoding="utf-8").splitlines()]


def _first(text: str | None) -> str:
    """Return a docstring's first paragraph as one line."""
    return " ".join((text or "").strip().split("\n\n")[0].split())


def _said(path: Path) -> tuple[str, dict[str, str]]:
    """Return what a file of checks says of its source, and what each of its tests says."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    tests = {
        node.name: _first(ast.get_docstring(node)) or node.name.removeprefix("test_").replace("_", " ")
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }
    return _first(ast.get_docstring(tree)), tests


def _short(number: str) -> str:
    return number if len(number) <= 8 else f"{float(number):.7g}"


def gathered(held: list[dict[str, Any]]) -> dict[str, dict[str, Check]]:
    """Return the checks by file and test."""
    files: dict[str, dict[str, Check]] = {}
    for path in sorted(OUTSIDE.glob("test_*.py")):
        _, tests = _said(path)
        files[path.name] = {name: Check(says) for name, says in tests.items()}
    for one in held:
        place, name = one["test"].split("::", 1)
        check = files[Path(place).name][name.split("[")[0]]
        found = _FIGURES.match(one["held"])
        if found is None:
            check.others += 1
        elif len(check.figures) < ROWS:
            ours, theirs, allowed = found.groups()
            check.figures.append((_short(ours), _short(theirs), _short(allowed) if allowed else "exact"))
        else:
            check.more += 1
    return files


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _section(name: str, checks: dict[str, Check]) -> Iterator[str]:
    says, _ = _said(OUTSIDE / name)
    yield f"## {name.removeprefix('test_').removesuffix('.py').replace('_', ' ')}\n"
    yield f"{says} (`tests/outside/{name}`)\n"
    rows = [(c.says, *figures) for c in checks.values() for figures in c.figures]
    if rows:
        yield "| check | ours | theirs | allowed |\n|---|---:|---:|---:|"
        last = ""
        for says_it, ours, theirs, allowed in rows:
            yield f"| {_cell(says_it) if says_it != last else ''} | {ours} | {theirs} | {allowed} |"
            last = says_it
        yield ""
    more, others = sum(c.more for c in checks.values()), sum(c.others for c in checks.values())
    if more:
        yield f"{more:,} more figures of these checks held as well.\n"
    if others:
        plain = [_cell(c.says) for c in checks.values() if not c.figures]
        listed = f": {'; '.join(plain)}" if plain else ""
        yield f"{others:,} checks that are no single figure (limits, order, choices) held{listed}\n"


def page(held: list[dict[str, Any]]) -> str:
    """Return the whole page."""
    files = gathered(held)
    figures = sum(len(c.figures) + c.more for checks in files.values() for c in checks.values())
    head = HEAD.format(digest=digest(), sources=len(files), held=len(held), figures=figures)
    return "\n".join([head, *(line for name, checks in files.items() for line in _section(name, checks))])


if __name__ == "__main__":
    PAGE.write_text(page(run()).rstrip() + "\n", encoding="utf-8")
    print(f"wrote docs/{PAGE.name}")
