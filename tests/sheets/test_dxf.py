from __future__ import annotations

import hashlib
import io
import math
import subprocess
import sys
from pathlib import Path

import ezdxf
import pytest

from slabwright.measure import System
from slabwright.sheets.drawing import Arc, Area, Drawing, Line, Marker, Text, drawing, only
from slabwright.sheets.dxf import dxf_text
from slabwright.sheets.furniture import compose
from slabwright.sheets.styles import layers
from slabwright.sheets.svg import svg

FT = 0.3048


def read(text: str) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(text))


@pytest.mark.parametrize(("system", "code", "unit"), [(System.IMPERIAL, 2, FT), (System.METRIC, 6, 1.0)])
@pytest.mark.parametrize("turn", [0.0, 0.8])
def test_read_back_clean_in_units_with_lines_where_they_are(
    walk: Drawing, system: System, code: int, unit: float, turn: float
) -> None:
    doc = read(dxf_text(compose(walk, width=260.0, height=160.0, system=system, turn=turn)))
    audit = doc.audit()
    assert not audit.errors
    assert not audit.fixes
    assert doc.header["$INSUNITS"] == code
    assert {name.upper() for name in layers()} <= {layer.dxf.name for layer in doc.layers}
    forms = [line for line in doc.modelspace().query("LINE") if line.dxf.layer == "FORMS"]
    assert len(forms) == 5
    first = forms[0]
    assert tuple(first.dxf.start)[:2] == pytest.approx((0.0, -FT / unit), abs=1e-6)
    assert tuple(first.dxf.end)[:2] == pytest.approx((32 * FT / unit, -FT / unit), abs=1e-6)


def test_arcs_keep_centre_radius_and_ends_when_the_sheet_is_turned() -> None:
    arc = Arc("forms", (1.0, 2.0), 3.0, 0.3, 2.1)
    rim = Arc("forms", (1.0, 2.0), 1.0)
    paper = compose(drawing("a", [arc, rim]), width=200.0, height=150.0, system=System.METRIC, turn=1.1)
    space = read(dxf_text(paper)).modelspace()
    (one,) = space.query("ARC")
    assert tuple(one.dxf.center)[:2] == pytest.approx((1.0, 2.0), abs=1e-6)
    assert one.dxf.radius == pytest.approx(3.0, abs=1e-6)
    assert math.radians(one.dxf.start_angle) % (2 * math.pi) == pytest.approx(0.3, abs=1e-6)
    assert math.radians(one.dxf.end_angle) % (2 * math.pi) == pytest.approx(2.1, abs=1e-6)
    assert len(space.query("CIRCLE")) == 1


def test_texts_are_plain_letters_at_paper_height(walk: Drawing) -> None:
    paper = compose(walk, width=260.0, height=160.0)
    texts = list(read(dxf_text(paper)).modelspace().query("TEXT"))
    assert "32'-0\"" in {t.dxf.text for t in texts}
    assert "4'-6 7/8\"" in {t.dxf.text for t in texts}
    figure = next(t for t in texts if t.dxf.text == "32'-0\"")
    letters = next(one for one in paper.letters if one.text == "32'-0\"")
    on_paper = figure.dxf.height * FT * paper.view.scale.mm_per_m
    assert on_paper == pytest.approx(0.66 * letters.size, rel=1e-4)


def test_solids_hatches_and_weights_are_there(walk: Drawing) -> None:
    doc = read(dxf_text(compose(walk, width=260.0, height=160.0)))
    hatches = list(doc.modelspace().query("HATCH"))
    assert any(h.dxf.solid_fill for h in hatches)
    pattern = [h for h in hatches if not h.dxf.solid_fill]
    assert {h.dxf.pattern_name for h in pattern} == {"HOUSE", "CURED", "CONCRETE"}
    assert all(len(h.pattern.lines) >= 1 for h in pattern)
    assert doc.layers.get("HOUSE").dxf.lineweight == 70
    assert doc.layers.get("FORMS").dxf.lineweight == 50
    assert doc.layers.get("STEEL").dxf.linetype == "STEEL"


def test_format_codes_and_strange_letters_in_texts_do_no_harm() -> None:
    texts = ["%%c 50%", "^J caret", "{\\fArial;x}", "日本 🙂 ñ", "\x00\ud800", "$HANDSEED\n  0\nEOF"]
    listed = [Text("notes", (float(n), 0.0), text) for n, text in enumerate(texts)]
    text = dxf_text(compose(drawing("odd", listed), width=260.0, height=160.0))
    doc = read(text)
    assert not doc.audit().errors
    found = {t.dxf.text for t in doc.modelspace().query("TEXT")}
    assert "% %c 50%" in found
    assert "日本 🙂 ñ" in found
    assert "EOF" in found


def test_rings_of_nothing_are_left_out() -> None:
    listed = [
        Area("slab", ((), ((0.0, 0.0),)), "fresh"),
        Arc("forms", (0.0, 0.0), 0.0),
        Line("forms", (0, 0), (1, 0)),
    ]
    doc = read(dxf_text(compose(drawing("none", listed), width=200.0, height=120.0)))
    assert not doc.audit().errors
    assert len(doc.modelspace().query("HATCH[layer=='SLAB']")) == 0


def test_the_order_of_a_set_does_not_reach_the_file(walk: Drawing, monkeypatch: pytest.MonkeyPatch) -> None:
    paper = compose(walk, width=260.0, height=160.0)
    once = dxf_text(paper)
    assert dxf_text(paper) == once
    types = ezdxf.entitydb.EntityDB.dxf_types_in_use
    monkeypatch.setattr(
        ezdxf.entitydb.EntityDB,
        "dxf_types_in_use",
        lambda self: dict.fromkeys(sorted(types(self), reverse=True)),
    )
    assert dxf_text(paper) == once


_AGAIN = """
import sys, hashlib
sys.path.insert(0, {here!r})
from sample import walk
from slabwright.sheets.furniture import compose
from slabwright.sheets.dxf import dxf_text
from slabwright.sheets.svg import svg
paper = compose(walk(), width=260.0, height=160.0)
print(hashlib.sha256((dxf_text(paper) + svg(paper)).encode()).hexdigest())
"""


def test_same_bytes_in_another_process(walk: Drawing) -> None:
    paper = compose(walk, width=260.0, height=160.0)
    here = hashlib.sha256((dxf_text(paper) + svg(paper)).encode()).hexdigest()
    code = _AGAIN.format(here=str(Path(__file__).parent))
    there = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert there.stdout.strip() == here


def test_only_the_shown_layers_are_written(walk: Drawing) -> None:
    paper = compose(only(walk, "forms", "stakes"), width=260.0, height=160.0)
    used = {e.dxf.layer for e in read(dxf_text(paper)).modelspace()}
    assert used == {"FORMS", "STAKES", "NOTES"}


def test_markers_stand_on_their_points() -> None:
    one = drawing("m", [Marker("stakes", (2.0, 1.0), "stake"), Marker("stakes", (5.0, 3.0), "stake")])
    paper = compose(one, width=200.0, height=120.0, system=System.METRIC)
    hatches = read(dxf_text(paper)).modelspace().query("HATCH[layer=='STAKES']")
    centres = []
    for h in hatches:
        corners = [v[:2] for v in h.paths[0].vertices][:4]
        centres.append((sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4))
    assert sorted(centres) == [pytest.approx((2.0, 1.0), abs=1e-5), pytest.approx((5.0, 3.0), abs=1e-5)]
