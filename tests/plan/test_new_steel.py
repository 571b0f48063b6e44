"""A job with dowels, thickened edges, mesh and a record, from the notes to the sheets."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import jsonschema
import pytest

from slabwright.notes.reader import parse_notes
from slabwright.plan import make, plan_schema, sheets_of
from slabwright.result import Plan

TEXT = (Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml").read_text()
IN = 0.0254


def put(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


FULL = put(
    TEXT,
    ("    thickness: 3 1/2     # 2x4 forms", "    thickness: 6\n    thickened: {depth: 9 in, width: 8 in}"),
    ("made: tooled}", "made: tooled, dowels: existing}"),
    ("steel: {choice: bars, bar: 3}", "steel: {choice: mesh}"),
    (
        "order: {least: 1 yd3, step: 1/4 yd3, truck: 9 yd3}",
        "order:\n  left-over-to: pad for the bins\n  past-jobs:\n"
        "    - {name: Alder Street, drawn: 4.1 yd3, ordered: 4 3/4 yd3, left-over: 1/4 yd3}",
    ),
)


@cache
def planned() -> Plan:
    return make(parse_notes(FULL), name="job")


def test_dowels_into_both_old_slabs() -> None:
    (slab,) = planned().shaped.slabs
    assert {row.against for row in slab.steel.dowels} == {"old patio", "gate walk"}
    assert all(row.number == "6" and row.hole == pytest.approx(7 * IN) for row in slab.steel.dowels)
    wanted = sum(len(row.at) for row in slab.steel.dowels)
    (lot,) = (lot for lot in planned().built.steel if lot.kind == "dowel")
    assert lot.stock == ((pytest.approx(14 * IN), wanted),)
    whats = [line.what for line in planned().built.materials]
    assert any(what.startswith("smooth dowel 3/4 in") for what in whats)
    assert f"epoxy anchor gel for {wanted} holes" in whats


def test_thickened_edges_are_ordered_dug_and_formed() -> None:
    (slab,) = planned().shaped.slabs
    plain = make(parse_notes(put(FULL, ("    thickened: {depth: 9 in, width: 8 in}\n", ""))))
    assert slab.thick is not None
    built, before = planned().built, plain.built
    assert built.order.drawn - before.order.drawn == pytest.approx(slab.thick.volume)
    assert built.dig is not None
    assert before.dig is not None
    assert built.dig.cut > before.dig.cut + 0.9 * slab.thick.volume
    assert {run.board for run in built.forms.runs} == {"2x10"}


def test_mesh_is_laid_out() -> None:
    (slab,) = planned().shaped.slabs
    assert slab.steel.sheets
    (lot,) = (lot for lot in planned().built.steel if lot.kind == "mesh")
    assert lot.proved


def test_what_is_said() -> None:
    codes = {f.code for f in planned().findings}
    assert codes >= {"dowel-drilled", "thick-edge", "order-record", "order-left-over-to"}
    for finding in planned().findings:
        for lang in ("en", "es"):
            text = finding.text(lang=lang)
            assert "{" not in text.what + text.why + text.do


@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_packet_is_made(lang: str) -> None:
    files = dict(sheets_of(planned(), date="2026-05-04", lang=lang))
    data = json.loads(files["plan.json"])
    jsonschema.validate(data, plan_schema())
    bands = data["build"]["dig"]["map"]["bands"]
    assert bands
    assert bands[0]["deep_m"] > bands[0]["shallow_m"]
