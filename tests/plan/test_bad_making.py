"""Jobs that cannot be made as they are written: a clear finding each, and every sheet all the same."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from slabwright.findings import Finding
from slabwright.notes.reader import parse_notes
from slabwright.plan import make, sheets_of
from slabwright.result import Plan

TEXT = (Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml").read_text()
YARD = "stock: [8', 10', 12', 16']"
WANTED = {"packet.pdf", "plan.json"}


def ground_up(text: str) -> str:
    """Every ground shot a foot higher: its rod reads a foot less."""
    changed, count = re.subn(r"(N\d+: )(\d)'( \d+ \d/\d)", lambda m: f"{m[1]}{int(m[2]) - 1}'{m[3]}", text)
    assert count == 12
    return changed


def put(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


SHORT_PILE = re.sub(r"(size: 2x4, length: )\d+'", r"\g<1>1'", TEXT)
JOBS = {
    "ground above": (ground_up(TEXT), {"dig-sunk-slab": "caution"}),
    "short pile": (SHORT_PILE, {"pile-unused": "note"}),
    "short boards everywhere": (put(SHORT_PILE, (YARD, "stock: [9 in]")), {"boards-short": "caution"}),
    "short bars": (put(TEXT, (YARD, f"{YARD}\n  bar-stock: 18 in")), {"bar-stock-short": "stop"}),
    "no mix": (
        put(
            TEXT,
            ("frost: moderate", "frost: severe"),
            (
                "    use: walk\n",
                "    use: walk\n    strength: 2000 psi\n    aggregate: 2 1/2\n    slump: 9\n",
            ),
        ),
        {"mix-weak": "stop", "mix-stone": "stop", "mix-slump": "caution"},
    ),
    "edge no thicker": (
        put(TEXT, ("    finish: broom", "    thickened: {depth: 3 in, width: 12 in}\n    finish: broom")),
        {"thick-edge-thin": "caution"},
    ),
    "nothing to dowel into": (
        put(TEXT, ("made: tooled}", "made: tooled, dowels: existing}"), ("keeps: height", "keeps: nothing"))
        .replace("keeps: height", "keeps: nothing")
        .replace("    meets: [{existing: old patio}, {existing: gate walk}]\n", ""),
        {"dowel-nowhere": "caution"},
    ),
}


@cache
def planned(name: str) -> Plan:
    return make(parse_notes(JOBS[name][0]), name="job")


def found(name: str) -> dict[str, Finding]:
    return {finding.code: finding for finding in planned(name).findings}


@pytest.mark.parametrize("name", JOBS)
def test_it_is_said(name: str) -> None:
    for code, level in JOBS[name][1].items():
        assert found(name)[code].level == level
        for lang in ("en", "es"):
            text = found(name)[code].text(lang=lang)
            assert all((text.what, text.why, text.do))


@pytest.mark.parametrize("name", JOBS)
def test_the_sheets_are_made_all_the_same(name: str) -> None:
    files = dict(sheets_of(planned(name), date="2026-05-04"))
    assert set(files) >= WANTED
    assert files["packet.pdf"].startswith(b"%PDF")


@pytest.mark.parametrize("name", JOBS)
def test_the_rest_is_worked_out(name: str) -> None:
    built = planned(name).built
    assert built.dig is not None
    assert built.dig.cut > 0
    assert built.forms.stakes > 0
    assert built.order.order > 0
    assert built.materials


def test_the_plain_job_has_none_of_them() -> None:
    codes = {finding.code for finding in make(parse_notes(TEXT)).findings}
    assert codes.isdisjoint(code for _, said in JOBS.values() for code in said)


def test_ground_above_is_dug_and_nothing_filled() -> None:
    plain, high = make(parse_notes(TEXT)).built.dig, planned("ground above").built.dig
    assert plain is not None
    assert high is not None
    assert high.fill == pytest.approx(0.0, abs=1e-9)
    assert high.cut > plain.cut


def test_bars_too_short_are_not_called_proved() -> None:
    (lot,) = planned("short bars").built.steel
    assert lot.stock == ()
    assert not lot.proved


def test_boards_of_nine_inches_are_still_cut() -> None:
    forms = planned("short boards everywhere").built.forms
    runs = sum(run.length for run in forms.runs)
    assert sum(piece for board in forms.boards for piece in board.pieces) == pytest.approx(runs, rel=0.05)
