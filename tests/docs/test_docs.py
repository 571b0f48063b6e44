"""The docs are complete: generated parts current, links lead somewhere, the README keeps its shape."""

from __future__ import annotations

import re
import runpy
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted(DOCS.rglob("*.md"))]
CODE = re.compile(r"^```.*?^```$|`[^`\n]+`", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\((?!https?:)([^)\s]+)\)")


def anchors(page: Path) -> set[str]:
    """Return what a link into a page can name: its headings as a reader of Markdown makes them, and ids."""
    text = page.read_text(encoding="utf-8")
    counted: Counter[str] = Counter()
    found = set(re.findall(r'id="([^"]+)"', text))
    for heading in re.findall(r"^#{1,6} (.+)$", CODE.sub(_kept, text), re.MULTILINE):
        plain = re.sub(r"<[^>]+>", "", heading).strip()
        slug = re.sub(r"[^\w\- ]", "", plain.lower()).replace(" ", "-")
        found.add(f"{slug}-{counted[slug]}" if counted[slug] else slug)
        counted[slug] += 1
    return found


def _kept(code: re.Match[str]) -> str:
    """Drop blocks of code, whose remarks look like headings; keep the words between single marks."""
    return "" if code[0].startswith("```") else code[0]


def dead_links(page: Path) -> Iterator[str]:
    """Yield the links of a page that name no file, or no place in their page."""
    for link in LINK.findall(CODE.sub("", page.read_text(encoding="utf-8"))):
        name, _, place = link.partition("#")
        target = page.parent / name if name else page
        if not target.exists() or (place and target.suffix == ".md" and place not in anchors(target)):
            yield link


def test_generated_parts_are_current() -> None:
    """Job file, findings, commands, names, sources, sheets, settings, addresses: each from the code's own.

    What the code has and docs/told.toml does not tell of (or the other way round) ends here too.
    """
    stale = [path.name for path, _ in runpy.run_path(str(DOCS / "make.py"))["stale"]()]
    assert stale == [], "run: make docs"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    assert list(dead_links(page)) == []


def test_a_dead_link_is_seen(tmp_path: Path) -> None:
    (tmp_path / "there.md").write_text("# One `two`: three\n\n## Same\n\n## Same\n", encoding="utf-8")
    page = tmp_path / "page.md"
    good = "[a](there.md#one-two-three) [b](there.md#same-1) [c](#own)\n\n# Own\n"
    page.write_text(good, encoding="utf-8")
    assert list(dead_links(page)) == []
    page.write_text("[a](gone.md) [b](there.md#other) [c](#own) `[no](link.md)`\n", encoding="utf-8")
    assert list(dead_links(page)) == ["gone.md", "there.md#other", "#own"]


def test_the_readme_begins_with_job_file_command_and_picture() -> None:
    first = "\n".join((ROOT / "README.md").read_text(encoding="utf-8").splitlines()[:60])
    assert "```yaml" in first
    assert "make demo" in first
    assert re.search(r"!\[[^\]]+\]\(docs/pictures/[^)]+\)", first)


def test_nothing_committed_names_a_registry_or_this_machine() -> None:
    bad = re.compile(r"p[y]pi[.]org|python[h]osted|npm[j]s[.]|deb[.]debian")
    texts = [*ROOT.glob("constraints*.txt"), *PAGES, ROOT / "Makefile", ROOT / "pyproject.toml"]
    assert [p.name for p in texts if bad.search(p.read_text(encoding="utf-8"))] == []


def test_the_page_of_outside_checks_is_of_the_checks_as_they_stand():
    """`make docs` runs them and writes the page anew; each file of checks has its part there."""
    right = runpy.run_path(str(ROOT / "docs" / "right.py"))
    page = right["PAGE"].read_text(encoding="utf-8")
    assert right["digest"]() in page, "run make docs"
    missing = [p.name for p in sorted((ROOT / "tests" / "outside").glob("test_*.py")) if p.name not in page]
    assert missing == []


def test_every_page_is_in_the_index() -> None:
    """docs/README.md leads to every page, itself or by the list of a folder."""
    for folder in (DOCS, DOCS / "methods", DOCS / "decisions"):
        index = (folder / "README.md").read_text(encoding="utf-8")
        listed = {folder / link.partition("#")[0] for link in LINK.findall(index)}
        wanted = {*folder.glob("*.md"), *(path / "README.md" for path in folder.iterdir() if path.is_dir())}
        wanted = {path for path in wanted if path.is_file()} - {folder / "README.md"}
        assert {path.relative_to(DOCS) for path in wanted - listed} == set()


def test_the_index_has_the_three_kinds() -> None:
    text = (DOCS / "README.md").read_text(encoding="utf-8")
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == ["Guides", "Methods", "Reference"]
