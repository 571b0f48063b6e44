"""The docs are complete: generated parts current, links lead somewhere, the README keeps its shape."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted(DOCS.rglob("*.md"))]


def test_generated_parts_are_current() -> None:
    stale = [path.name for path, _ in runpy.run_path(str(DOCS / "make.py"))["stale"]()]
    assert stale == [], "run: make docs"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


def test_the_readme_begins_with_job_file_command_and_picture() -> None:
    first = "\n".join((ROOT / "README.md").read_text(encoding="utf-8").splitlines()[:60])
    assert "```yaml" in first
    assert "make demo" in first
    assert re.search(r"!\[[^\]]+\]\(docs/pictures/[^)]+\)", first)


def test_nothing_committed_names_a_registry_or_this_machine() -> None:
    bad = re.compile(r"p[y]pi[.]org|python[h]osted|npm[j]s[.]|deb[.]debian")
    texts = [*ROOT.glob("constraints*.txt"), *PAGES, ROOT / "Makefile", ROOT / "pyproject.toml"]
    assert [p.name for p in texts if bad.search(p.read_text(encoding="utf-8"))] == []


def test_every_setting_of_the_environment_is_described():
    names = set()
    for path in (ROOT / "src").rglob("*.py"):
        names |= set(re.findall(r"SLABWRIGHT_[A-Z]+", path.read_text(encoding="utf-8")))
    said = (ROOT / "docs" / "office.md").read_text(encoding="utf-8")
    names.remove("SLABWRIGHT_COMPLETE")  # between the shell and the completion script, not for people
    assert names
    assert {name for name in names if name not in said} == set()


def test_the_page_of_outside_checks_is_of_the_checks_as_they_stand():
    """`make docs` runs them and writes the page anew; each file of checks has its part there."""
    right = runpy.run_path(str(ROOT / "docs" / "right.py"))
    page = right["PAGE"].read_text(encoding="utf-8")
    assert right["digest"]() in page, "run make docs"
    missing = [p.name for p in sorted((ROOT / "tests" / "outside").glob("test_*.py")) if p.name not in page]
    assert missing == []
