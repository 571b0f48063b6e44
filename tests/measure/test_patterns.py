"""No pattern asks for what an early Python 3.11 gets wrong.

Possessive repeats and atomic groups are new in Python 3.11, and a group within one can come out cut short:
with 3.11.2, as Debian 12 has it, `12 in` was read as 2 in without a word; with 3.11.7 it was not (both seen).
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from slabwright.measure import read

SOURCE = Path(__file__).parents[2] / "src" / "slabwright"
ASKED = {"compile", "match", "fullmatch", "search", "sub", "subn", "split", "findall", "finditer"}
GREEDY = re.compile(r"(?<!\\)[+*?}]\+|\(\?>")


def patterns(text: str) -> list[tuple[int, str]]:
    """Return the texts that a module gives to the library of patterns, with their lines."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        of = node.func.value
        if node.func.attr in ASKED and isinstance(of, ast.Name) and of.id == "re" and node.args:
            parts = [one.value for one in ast.walk(node.args[0]) if isinstance(one, ast.Constant)]
            found.append((node.lineno, "".join(one for one in parts if isinstance(one, str))))
    return found


def test_no_pattern_is_possessive_or_atomic() -> None:
    seen, wrong = 0, []
    for path in sorted(SOURCE.rglob("*.py")):
        for line, pattern in patterns(path.read_text(encoding="utf-8")):
            seen += 1
            if GREEDY.search(pattern):
                wrong.append(f"{path.relative_to(SOURCE)}:{line}: {pattern[:60]}")
    assert seen > 80
    assert wrong == [], "write the repeat without its +, or the group without ?>"


@pytest.mark.parametrize("pattern", ["a++", "(?:a)*+", "(a)?+", "a{1,3}+", "(?>a)"])
def test_the_guard_sees_one(pattern: str) -> None:
    ((_, seen),) = patterns(f"import re\nre.compile({pattern!r})")
    assert GREEDY.search(seen)


@pytest.mark.parametrize("inches", range(1, 100))
def test_every_whole_inch_is_read_whole(inches: int) -> None:
    assert read("length", f"{inches} in") == pytest.approx(inches * 0.0254)
    assert read("length", f"3' {inches % 12} 1/2") == pytest.approx((36.5 + inches % 12) * 0.0254)
