"""The guides are walked: every command runs, every edit can be made, and what is shown is what comes out."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.docs.walked import ROOT, Block, blocks, edit, shows, walk

DOCS = ROOT / "docs"
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
    with pytest.raises(AssertionError, match="not in job.yaml"):
        edit(Block("diff", "-two\n+three\n", 1), target)
