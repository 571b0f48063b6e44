"""Jobs that cannot be built as written: each says so, ends with its code, and still makes its sheets."""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdf
import pytest
from click.testing import CliRunner

from slabwright.cli import main
from slabwright.cli.group import DEBUG
from slabwright.cli.talk import FINE, STOPPED
from slabwright.sheets.words import word

ROOT = Path(__file__).parents[2]
WALK = (ROOT / "examples" / "side-walk" / "job.yaml").read_text(encoding="utf-8")
LAWN = (ROOT / "tests" / "sheets" / "lawn-walk.yaml").read_text(encoding="utf-8")
PILE = (
    ("12', count: 4", "1', count: 4"),
    ("10', count: 2", "1', count: 2"),
    ("8', count: 1", "1', count: 1"),
)
HEDGE = """access:
  truck-stops-at: K1
  by: barrow
  fences:
    - {name: hedge, along: [F1, F2, F3, F4, F1]}
"""
CORNERS = "points:\n  F1: [-3', 1']\n  F2: [43', 1']\n  F3: [43', 38']\n  F4: [-3', 38']\n"


def edited(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


@dataclass(frozen=True)
class Bad:
    """A job as written, what is found, how grave that is, what the text must name, pages that it loses."""

    text: str
    code: str
    level: str
    names: tuple[str, ...]
    lost: tuple[str, ...] = ()


JOBS = {
    "ground above the slab everywhere": Bad(
        # every shot of the ground two feet higher
        re.sub(r"\b(N\d+): (\d)' ", lambda found: f"{found[1]}: {int(found[2]) - 2}' ", WALK),
        "build.dig-sunk-slab",
        "caution",
        ("side walk",),
    ),
    "a pile of boards all too short": Bad(
        edited(WALK, *PILE, ("stock: [8', 10', 12', 16']", "stock: [1']")),
        "build.boards-short",
        "caution",
        (),
    ),
    "a pile too short beside a yard that is not": Bad(edited(WALK, *PILE), "build.pile-unused", "note", ()),
    "stock shorter than a bar's lap": Bad(
        edited(WALK, ("kit:\n", "kit:\n  bar-stock: 1'\n")), "build.bar-stock-short", "stop", ("1'-0\"",)
    ),
    "a mix that no exposure class allows": Bad(
        edited(WALK, ("    finish: broom\n", "    finish: broom\n    strength: 1500 psi\n")),
        "build.mix-weak",
        "stop",
        ("1500 psi",),
    ),
    "a stone too large for the slab": Bad(
        edited(WALK, ("    finish: broom\n", "    finish: broom\n    aggregate: 3\n")),
        "build.mix-stone",
        "stop",
        ('3"',),
    ),
    "a head off the lawn": Bad(
        edited(LAWN, ("H33: [28', 33']", "H33: [60', 60']")), "build.sprinkler-off-lawn", "caution", ()
    ),
    "no way in for a barrow": Bad(
        edited(LAWN, ("access: {truck-stops-at: K1, chute: 16'}\n", HEDGE), ("points:\n", CORNERS)),
        "build.access-no-way",
        "stop",
        (),
        ("access",),
    ),
}
PAGES = ("plan", "set-out", "dig")
DRAWINGS = ("plan", "heights", "set-out", "dig", "joints", "water")


@pytest.fixture(scope="module", params=JOBS)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """One bad job planned by the command line into a folder of its own."""
    bad, folder = JOBS[request.param], tmp_path_factory.mktemp("bad")
    job, out = folder / "job.yaml", folder / "out"
    job.write_text(bad.text, encoding="utf-8")
    result = CliRunner(env={DEBUG: "1"}).invoke(main, ["plan", str(job), "--out", str(out)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return {
        "bad": bad,
        "result": result,
        "out": out,
        "plan": json.loads((out / "plan.json").read_text("utf-8")),
    }


def found(made: dict[str, Any]) -> dict[str, Any]:
    first: dict[str, Any] = next(f for f in made["plan"]["findings"] if f["code"] == made["bad"].code)
    return first


def wording(text: str) -> str:
    """The longest part of a text without a figure: those are in SI in the file, in trade units on paper."""
    return max(re.split(r"\S*\d\S*(?: m{1,2}\b)?", text), key=len)


def test_it_is_said_with_its_reason_and_what_to_do_in_both_languages(made: dict[str, Any]) -> None:
    one = found(made)
    assert one["level"] == made["bad"].level
    for lang in ("en", "es"):
        assert all(one[lang][part] for part in ("what", "why", "do", "source"))
    assert one["en"]["what"] != one["es"]["what"]


def test_it_is_told_on_the_command_line_with_what_was_written(made: dict[str, Any]) -> None:
    bad = made["bad"]
    said = made["result"].output
    if bad.level == "note":
        return  # notes are on the sheet of findings
    assert wording(found(made)["en"]["why"]) in said
    for name in bad.names:
        assert name in said


def test_the_exit_code_says_whether_it_may_be_built(made: dict[str, Any]) -> None:
    stops = any(f["level"] == "stop" for f in made["plan"]["findings"])
    assert made["result"].exit_code == (STOPPED if stops else FINE)
    assert stops or made["bad"].level != "stop"


def test_the_rest_of_the_sheets_is_made(made: dict[str, Any]) -> None:
    out = made["out"]
    pages = pypdf.PdfReader(io.BytesIO((out / "packet.pdf").read_bytes())).pages
    text = "".join(page.extract_text() for page in pages)
    for key in PAGES:
        assert word(f"page-{key}") in text
    drawings = {path.stem for path in (out / "drawings").glob("*.svg")}
    assert set(DRAWINGS) <= drawings
    assert not drawings & set(made["bad"].lost)
    assert (out / "tables" / "order.csv").read_text("utf-8-sig").count("\n") > 5
    assert (out / "tables.xlsx").stat().st_size > 5000


def test_the_finding_is_printed_on_its_sheet(made: dict[str, Any]) -> None:
    pages = pypdf.PdfReader(io.BytesIO((made["out"] / "packet.pdf").read_bytes())).pages
    text = re.sub(r"\s+", "", "".join(page.extract_text() for page in pages))
    assert re.sub(r"\s+", "", wording(found(made)["en"]["why"])) in text
