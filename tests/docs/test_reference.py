"""The reference leaves nothing out: what the code has and the docs do not tell of ends with what to do."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
sys.path.insert(0, str(DOCS))  # the scripts of the docs lie beside each other, in no package

import reference  # noqa: E402
import settings_pages  # noqa: E402
import sheet_pages  # noqa: E402


def test_a_new_sheet_setting_or_table_without_an_entry_says_what_to_do() -> None:
    known = set(sheet_pages.tables())
    with pytest.raises(LookupError, match=r"told\.toml says nothing of new-table.*run: make docs"):
        sheet_pages.told("tables", known | {"new-table"})
    with pytest.raises(LookupError, match="there is no slabs any more"):
        sheet_pages.told("tables", known - {"slabs"})


def test_every_table_of_the_code_is_found() -> None:
    """Counted another way: by the words that begin one."""
    code = "".join(path.read_text(encoding="utf-8") for path in sheet_pages.SHEETS.glob("*.py"))
    assert set(re.findall(r'\bTable\(\s*"([\w-]+)"', code)) == set(sheet_pages.tables())
    stakes = sheet_pages.tables()["stakes"]
    assert ("Rod on form", "length") in {(en, kind) for en, _, kind in stakes.columns}
    assert any(en.startswith("From level at") for en, _, _ in stakes.columns)


def test_every_setting_that_is_read_is_told_of() -> None:
    page = (DOCS / "settings.md").read_text(encoding="utf-8")
    assert {name for name in settings_pages.named() if f"`{name}`" not in page} == set()
    assert "SLABWRIGHT_HOME" in settings_pages.named()


def test_every_command_is_told_of_with_those_of_its_group() -> None:
    made = reference.commands()
    for name in ("plan", "pour", "office", "office backup", "office restore", "office password"):
        assert f"## slabwright {name}\n" in made


def test_every_finding_has_its_place() -> None:
    made = reference.findings()
    for path in (ROOT / "src" / "slabwright").glob("*/findings.toml"):
        codes = re.findall(r"^\[([\w-]+)\]", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert codes
        assert [code for code in codes if f"### {path.parent.name}.{code}\n" not in made] == []
