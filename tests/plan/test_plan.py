"""The whole pipeline: same notes, same bytes; numbers that agree with each other; schemas that hold."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from slabwright.findings import Finding, entry
from slabwright.notes.reader import parse_notes, read_notes
from slabwright.plan import in_order, make, plan_schema, sheets_of
from slabwright.result import Plan
from slabwright.sheets import document
from slabwright.sheets.scene import datum_height, datum_name

EXAMPLES = Path(__file__).parents[2] / "examples"
EIGHTH = 0.0254 / 8  # m, what heights are rounded to in feet and inches
NAMES = sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir())


@cache
def planned(name: str) -> Plan:
    return make(read_notes(EXAMPLES / name / "job.yaml"), name=name)


@cache
def files(name: str, lang: str = "en") -> dict[str, bytes]:
    return dict(sheets_of(planned(name), date="2026-05-04", lang=lang))


@pytest.mark.parametrize("name", NAMES)
def test_same_notes_same_bytes(name: str) -> None:
    again = dict(sheets_of(make(read_notes(EXAMPLES / name / "job.yaml"), name=name), date="2026-05-04"))
    assert {k for k in again if again[k] != files(name)[k]} == set()


def test_the_date_changes_the_pdf_alone() -> None:
    other = dict(sheets_of(planned("side-walk"), date="2027-01-01"))
    assert {k for k in other if other[k] != files("side-walk")[k]} == {"packet.pdf"}


@pytest.mark.parametrize("name", NAMES)
def test_plan_json_holds_its_schema(name: str) -> None:
    schema = plan_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(files(name)["plan.json"]), schema)


def test_every_float_in_the_records_has_a_unit() -> None:
    # plan_schema looks every name up, so a record with an unnamed float cannot be described.
    text = json.dumps(plan_schema())
    assert '"length_m"' in text
    units = {row["unit"] for row in document.nomenclature().values()}
    assert "" not in units


def test_no_number_in_plan_json_is_missing() -> None:
    def walk(node: object, path: str) -> list[str]:
        if isinstance(node, dict):
            return [p for k, v in node.items() for p in walk(v, f"{path}.{k}")]
        if isinstance(node, list):
            return [p for v in node for p in walk(v, path)]
        return [path] if isinstance(node, float) and not math.isfinite(node) else []

    assert walk(json.loads(files("side-walk")["plan.json"]), "") == []


@pytest.mark.parametrize("name", NAMES)
def test_concrete_is_the_area_times_the_thickness(name: str) -> None:
    plan = planned(name)
    drawn = sum(s.outline.area * s.spec.thickness for s in plan.shaped.slabs)
    assert plan.built.order.need == pytest.approx(drawn, rel=0.2)
    assert plan.built.order.order >= plan.built.order.need - 3 * plan.built.order.need_sd
    panels = sum(p.area for s in plan.shaped.slabs for p in s.joint_plan.panels)
    assert panels == pytest.approx(sum(s.outline.area for s in plan.shaped.slabs), rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_fixed_heights_are_met(name: str) -> None:
    plan = planned(name)
    there = {e.name: e for e in plan.ground.existing}
    for slab in plan.shaped.slabs:
        for node in slab.height_plan.nodes:
            if node.fixed in there:
                z = there[node.fixed].height_on_edge(node.x, node.y)
                assert z == pytest.approx(node.z, abs=1e-6)


@pytest.mark.parametrize("lang", ["en", "es"])
@pytest.mark.parametrize("name", NAMES)
def test_every_finding_is_whole(name: str, lang: str) -> None:
    for finding in planned(name).findings:
        text = finding.text(lang=lang)
        assert all((text.level, text.what, text.why, text.do, text.source))
        assert "{" not in text.what + text.why + text.do
        assert lang in ("en",) or "es" in entry(finding.room, finding.code)


def test_findings_come_once_and_gravest_first() -> None:
    plan = planned("corner-patio")
    ranks = [["stop", "caution", "note"].index(f.level) for f in plan.findings]
    assert ranks == sorted(ranks)
    twice: tuple[Finding, ...] = plan.findings + plan.findings
    assert in_order(twice) == plan.findings


def test_units_change_the_writing_and_how_finely_heights_are_rounded() -> None:
    text = (EXAMPLES / "side-walk" / "job.yaml").read_text()
    feet, metres = parse_notes(text), parse_notes(text.replace("units: imperial", "units: metric"))
    a, b = make(feet), make(metres)
    for one, two in zip(a.shaped.slabs, b.shaped.slabs, strict=True):
        heights = [n.z for n in two.height_plan.nodes]
        assert [n.z for n in one.height_plan.nodes] == pytest.approx(heights, abs=EIGHTH + 0.001)
        assert [(n.x, n.y) for n in one.height_plan.nodes] == [(n.x, n.y) for n in two.height_plan.nodes]


def test_cautions_stand_in_every_packet() -> None:
    for name in NAMES:
        codes = {f.code for f in planned(name).findings}
        texts = [f.text() for f in planned(name).findings]
        words = " ".join(f"{t.what} {t.do}" for t in texts).lower()
        assert "used engine oil" in words, codes
        assert "locat" in words or "811" in words, codes
        assert "skin" in words or "gloves" in words, codes


NO_DATUM = """\
title: No datum
house:
  walls: [A, B]
  doors: [{name: back door, on: A-B, from: 1', width: 3', sill: sill}]
tape: [{from: A, to: B, reads: 40'}]
square-off:
  - P1: {wall: A-B, along: 8', out: 6'}
  - P2: {wall: A-B, along: 20', out: 6'}
levels: [{set-up: S1, rod: {P1: 4' 9, P2: 4' 10, sill: 4' 1}}]
slabs:
  - {name: walk, use: walk, along: [P1, P2], width: 3', heights: [{at: P1, below: sill, by: 8 in}]}
"""


def test_heights_in_the_plan_count_from_the_point_that_sheets_name() -> None:
    """Nobody named a datum, and the ground was read first: it is the sill, in the plan as on paper."""
    plan = make(parse_notes(NO_DATUM), name="no-datum", mapped=False)
    assert plan.survey.datum == "sill" == datum_name(plan)
    assert datum_height(plan) == 0.0
    assert plan.survey.heights["P1"].height == pytest.approx(-8 * 0.0254)
