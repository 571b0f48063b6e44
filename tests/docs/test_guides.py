"""The guides are walked: every command runs, every edit can be made, and what is shown is what comes out."""

from __future__ import annotations

import io
import re
import runpy
import sys
from pathlib import Path

import pytest
from PIL import Image
from tests.docs.walked import ROOT, Block, blocks, edit, shows, walk

DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))  # its scripts import each other as they lie beside each other
WALKED = ("first-job.md", "plan-to-pour.md", "plan-to-bill.md")


@pytest.mark.parametrize("guide", WALKED)
def test_a_guide_can_be_walked(guide: str, tmp_path: Path) -> None:
    """Where what comes out has changed for good, put what the message shows into the guide."""
    page = DOCS / guide
    kinds = [block.kind for block in blocks(page.read_text(encoding="utf-8"))]
    assert set(kinds) <= {"sh", "text", "diff"}, "a block of another kind would not be walked"
    assert walk(page, tmp_path) == kinds.count("sh") > 0


def test_walking_sees_what_is_not_so(tmp_path: Path) -> None:
    assert shows("a\n...\nd\n", "a\nb\nc\nd\n")
    assert shows("a\n...\nd\n", "a\nd\n")
    assert not shows("a\n...\nd\n", "a\nb\n")
    assert not shows("a\n", "a\nb\n")
    target = tmp_path / "job.yaml"
    target.write_text("one\ntwo\n", encoding="utf-8")
    edit(Block("diff", " one\n-two\n+three\n", 1), target)
    assert target.read_text(encoding="utf-8") == "one\nthree\n"
    with pytest.raises(AssertionError, match="not in job"):
        edit(Block("diff", "-two\n+three\n", 1), target)


def test_the_office_is_told_in_its_own_words() -> None:
    """What stands in bold stands so on the office's pages; a word that was changed there changes here."""
    office = {row["en"] for row in runpy.run_path(str(DOCS / "settings_pages.py"))["office_words"]().values()}
    bold = re.findall(r"\*\*([^*]+)\*\*", (DOCS / "office-crew.md").read_text(encoding="utf-8"))
    assert len(bold) > 20
    assert [words for words in bold if words not in office] == []


@pytest.mark.parametrize("page", sorted(DOCS.rglob("*.md")), ids=lambda p: str(p.relative_to(DOCS)))
def test_pictures_that_are_shown_are_there(page: Path) -> None:
    for name in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", page.read_text(encoding="utf-8")):
        png = (page.parent / name).read_bytes()
        assert png.startswith(b"\x89PNG\r\n\x1a\n"), name
        assert len(png) < 150_000, f"{name} is too heavy for a phone in the yard: make pictures"
        wide, high = _size_by_reading(png)
        assert 300 < wide < 2000
        assert 300 < high < 2000


def _size_by_reading(png: bytes) -> tuple[int, int]:
    """Return width and height of a picture that can be read to its last row."""
    with Image.open(io.BytesIO(png)) as picture:
        picture.load()
        return picture.size


def test_every_picture_is_shown_and_made() -> None:
    """No picture lies about that no page shows, or that `make pictures` would not make anew."""
    pages = [ROOT / "README.md", *DOCS.rglob("*.md")]
    shown = {Path(n).name for p in pages for n in re.findall(r"\]\(([^)]+\.png)\)", p.read_text("utf-8"))}
    lying = {path.name for path in (DOCS / "pictures").iterdir()}
    script = (DOCS / "pictures.py").read_text(encoding="utf-8")
    made = {f"{name}.png" for name in re.findall(r'"((?:sheet|office)-[\w-]+)"', script)}
    assert shown == lying == made


def test_the_way_to_the_pictures_is_by_words_that_the_office_has() -> None:
    """`make pictures` presses what stands on the pages; a word that was changed there changes there too."""
    office = {row["en"] for row in runpy.run_path(str(DOCS / "settings_pages.py"))["office_words"]().values()}
    script = (DOCS / "pictures.py").read_text(encoding="utf-8")
    pressed = re.findall(r'(?:get_by_label|get_by_text)\("([^"]+)"|name="([^"]+)"', script)
    words = {label or name for label, name in pressed} | set(re.findall(r'^ +\("([^"]+)", ', script, re.M))
    title = "Juniper Court 7 - side walk"
    assert len(words) > 10
    assert words - office == {title}
