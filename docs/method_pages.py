"""The generated parts of the methods: the sources that a page's code leans on, the checks that hold it."""

from __future__ import annotations

import ast
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from slabwright.sources import Mark, all_sources

ROOT = Path(__file__).resolve().parents[1]
SRC = ROOT / "src" / "slabwright"
OUTSIDE = ROOT / "tests" / "outside"
METHODS = ROOT / "docs" / "methods"
SYMBOLS = ROOT / "docs" / "symbols.toml"
# The code of each page: folders and modules under src/slabwright, the longest name that fits counts.
CODE: dict[str, tuple[str, ...]] = {
    "measure.md": ("measure",),
    "notes.md": ("notes",),
    "survey.md": ("survey",),
    "ground-and-water.md": ("ground", "slab/drainage"),
    "joints.md": ("slab/outline", "slab/joints", "slab/panels", "slab"),
    "heights.md": ("slab/heights", "slab/datum", "solving"),
    "forms-steel-set-out.md": (
        *(f"build/{n}" for n in ("cutting", "cut_problem", "master", "patterns", "runs", "boards", "stakes")),
        *(f"build/{n}" for n in ("forms", "form_tables", "steel", "splices", "ties", "strings", "set_out")),
        *(f"build/{n}" for n in ("swing", "kit", "making", "ring")),
        *(f"slab/{n}" for n in ("steel", "thick_edges", "thickness", "wheels")),
    ),
    "as-built.md": ("build/as_built",),
    "dig-and-order.md": ("build",),
    "sprinklers-access.md": ("build/sprinklers", "build/access", "build/model_yard", "build/yard"),
    "pour-day.md": ("pourday",),
    "money.md": ("money", "priced"),
    "sheets.md": ("sheets",),
}
# What works nothing out: it hands on, tells, or shows what the rooms above worked out.
NO_METHOD = {
    "files": "reads and writes files of the person who runs the program",
    "findings": "words of findings, filled in",
    "sources": "the list of sources",
    "tables": "the reader of constants",
    "result": "the record of a whole plan",
    "plan": "calls the rooms in their order",
    "office": "the site; see docs/office.md",
    "cli": "the command line; see docs/commands.md",
    "__main__": "starts the command line",
}
# Files of tests/outside/ that lean on several pages' code alike, with the page that they hold.
HOLDS = {
    "common_practice": "dig-and-order.md",
    "irc_drainage": "heights.md",
    "irmca_joints": "joints.md",
    "tie_geometry": "forms-steel-set-out.md",
}
# Sources that no code of a method names, with the reason for which they stand in the list.
NOT_IN_A_METHOD = {
    "apwa-colours": "the colours are told in the caution to call before digging",
    "cutting-stock-article": "an example that cutting is checked against",
    "demo-book": "the invented price book",
    "gama-1d": "a printed net that the survey is checked against",
    "mills-1966": "a formula that the newer hydration model has in it",
    "tarboton-1997": "printed cells that the routing of water is checked against",
    "wcag-2.1": "contrast of inks and pages, checked in tests",
}


NAMES = {"westergaard", "tetens"}  # keys of one word that is no other word


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        if path.suffix in {".py", ".toml"} and path.name not in {"findings.toml", "sources.toml"}:
            yield path


@cache
def page_of(path: Path) -> str | None:
    """Return the page that tells of a file of the code; None where there is nothing to tell."""
    name = path.relative_to(SRC).with_suffix("").as_posix()
    best = max(
        ((len(part), page) for page, parts in CODE.items() for part in parts if _under(name, part)),
        default=None,
    )
    return best[1] if best else None


def _under(name: str, part: str) -> bool:
    return name == part or name.startswith(f"{part}/")


def _named(text: str) -> set[str]:
    """Return the sources that a text names: quoted, or bare where the key cannot be a common word."""
    bare = {word.rstrip(".") for word in re.findall(r"[\w.-]+", text)}
    quoted = set(re.findall(r'"([\w.-]+)"', text))
    plain = {key for key in all_sources() if "-" in key or any(c.isdigit() for c in key)} | NAMES
    return (bare & plain) | (quoted & all_sources().keys())


@cache
def _finding_sources() -> dict[str, str]:
    """Return the source of each finding by its code; a code belongs to one room."""
    found = {}
    for path in SRC.glob("*/findings.toml"):
        rows = tomllib.loads(path.read_text(encoding="utf-8"))
        found |= {f"{path.parent.name}.{code}": row["source"] for code, row in rows.items()}
    return found


@cache
def used() -> dict[str, set[str]]:
    """Return by page the sources that its code names, its findings cite, or its outside checks are of."""
    made: dict[str, set[str]] = {page: set() for page in CODE}
    for path in _files(SRC):
        page = page_of(path)
        if page is None:
            continue
        text = path.read_text(encoding="utf-8")
        room = path.relative_to(SRC).parts[0]
        made[page] |= _named(text)
        made[page] |= {
            source
            for code, source in _finding_sources().items()
            if code.startswith(f"{room}.") and f'"{code.partition(".")[2]}"' in text
        }
    for page, names in checks().items():
        for name in names:
            text = (OUTSIDE / f"test_{name}.py").read_text(encoding="utf-8")
            own = name.replace("_", "-")
            made[page] |= _named(text) | ({own} & all_sources().keys())
    return made


def _imported(path: Path) -> Iterator[Path]:
    """Yield the modules of the package that a test imports from, once for each import."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("slabwright."):
            place = SRC.joinpath(*str(node.module).split(".")[1:])
            inner = (place / f"{alias.name}.py" for alias in node.names)
            yield from (p for p in (place.with_suffix(".py"), place / "__init__.py", *inner) if p.is_file())


@cache
def checks() -> dict[str, tuple[str, ...]]:
    """Return by page the names of the outside checks that hold it: those of its own code."""
    made: dict[str, list[str]] = {page: [] for page in CODE}
    for path in sorted(OUTSIDE.glob("test_*.py")):
        name = path.stem.removeprefix("test_")
        pages = Counter(page for page in map(page_of, _imported(path)) if page)
        # Values are read and written everywhere; that alone does not make a check one of measure's.
        ranked = sorted(pages, key=lambda page: (page == "measure.md", -pages[page]))
        page = HOLDS.get(name) or (ranked[0] if ranked else None)
        if page is None:
            raise LookupError(
                f"docs/method_pages.py, HOLDS: which page does {path.name} hold? Then: make docs"
            )
        made[page].append(name)
    return {page: tuple(names) for page, names in made.items()}


def checks_of(page: str) -> str:
    """Return the code of a page, and the outside checks that hold it, each with its figures."""
    code = ", ".join(f"`src/slabwright/{part}`" for part in CODE[page])
    lines = [f"Code: {code}.\n"]
    if checks()[page]:
        lines.append("Against what is not ours, figure by figure:\n")
    for name in checks()[page]:
        anchor, title = name.replace("_", "-"), name.replace("_", " ")
        said = says(f"test_{name}.py").rstrip(".")
        lines.append(f"- [{title}](../is-it-right.md#{anchor}): {said} (`tests/outside/test_{name}.py`)")
    return "\n".join(lines) + "\n"


def sources_of(page: str) -> str:
    """Return the sources of a page, each with a link, how far it can be trusted, and what it says."""
    lines = ["| source | what it gives |", "|---|---|"]
    for key in sorted(used()[page]):
        source = all_sources()[key]
        mark = "" if source.mark is Mark.SEEN else f" ({source.mark.value})"
        said = f"{source.title}: {source.where}" if source.where else source.title
        lines.append(f"| [`{key}`](../sources.md#{key}) | {said}{mark} |")
    return "\n".join(lines) + "\n"


def symbols() -> str:
    """Return the symbols of every page as tables, in the order of its formulas' list."""
    rows = tomllib.loads(SYMBOLS.read_text(encoding="utf-8"))
    parts = []
    for page in CODE:
        title = (METHODS / page).read_text(encoding="utf-8").partition("\n")[0].removeprefix("# ")
        lines = [f"### {title}\n", f"[Formulas](methods/{page}#formulas)\n"]
        lines += ["| symbol | unit | meaning |", "|---|---|---|"]
        lines += [f"| `{name}` | {unit} | {meaning} |" for name, (unit, meaning) in rows[page].items()]
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def says(name: str) -> str:
    """Return the first line of what a file of outside checks says of itself."""
    tree = ast.parse((OUTSIDE / name).read_text(encoding="utf-8"))
    return " ".join((ast.get_docstring(tree) or "").strip().split("\n\n")[0].split())


# Words of formulas that are no quantities.
WORDS = {
    *(
        "abs",
        "ceil",
        "chi2",
        "correlation",
        "cos",
        "erf",
        "exp",
        "floor",
        "integral",
        "inverse",
        "least",
        "ln",
    ),
    *("log10", "max", "mean", "min", "pi", "read", "sign", "sin", "sqrt", "sum", "table"),
    *("and", "d", "dt", "dz", "each", "ft", "ft2", "in", "m", "psi"),
}
FORMULA = re.compile(r"^```formula\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SYMBOL = re.compile(r"(?<![A-Za-z_])[A-Za-z][A-Za-z0-9_]*'?")


def symbols_in(page: str) -> set[str]:
    """Return the symbols of a page's formulas: letters outside remarks, without words and functions."""
    text = "".join(FORMULA.findall((METHODS / page).read_text(encoding="utf-8")))
    lines = (re.sub(r"\de-?\d", "", line.partition(";")[0]) for line in text.splitlines())
    return {found.rstrip("'") for line in lines for found in SYMBOL.findall(line)} - WORDS
