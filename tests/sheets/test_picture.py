from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import System
from slabwright.sheets import key
from slabwright.sheets.drawing import (
    Arc,
    Area,
    Arrow,
    Dimension,
    Drawing,
    Line,
    Marker,
    Polyline,
    Text,
    drawing,
    only,
)
from slabwright.sheets.furniture import compose
from slabwright.sheets.hatch import hatch_lines
from slabwright.sheets.lettering import plain
from slabwright.sheets.picture import Curve, Picture, Stroke, overlaps
from slabwright.sheets.styles import HatchLines, hatch, hatch_names, line_styles
from slabwright.sheets.svg import svg

FT = 0.3048
FRAMES = [(260.0, 160.0), (198.0, 240.0), (400.0, 250.0), (130.0, 95.0)]


@pytest.mark.parametrize(("wide", "high"), FRAMES)
@pytest.mark.parametrize("turn", [0.0, 0.4, math.pi / 2, math.pi])
def test_no_label_of_the_sample_overlaps_another(
    walk: Drawing, wide: float, high: float, turn: float
) -> None:
    paper = compose(walk, width=wide, height=high, turn=turn)
    assert overlaps(paper) == []
    assert (paper.width, paper.height) == (wide, high)
    assert len(paper.letters) + len(paper.left_out) >= 35


def test_every_label_of_the_sample_finds_a_place_on_letter_paper(walk: Drawing) -> None:
    assert compose(walk, width=260.0, height=160.0).left_out == ()


site = st.tuples(st.floats(0, 12), st.floats(0, 8))
words = st.sampled_from(["S1", 'S12\n- 4 3/8"', "P3", "15'-6 1/2\"", "back patio", "1/4 in per ft"])
items = st.one_of(
    st.builds(Marker, st.just("stakes"), site, st.sampled_from(["stake", "shot", "head", "fixed"]), words),
    st.builds(
        Dimension, st.just("dimensions"), site, site, words, st.sampled_from([-16.0, -8.0, 0.0, 8.0, 16.0])
    ),
    st.builds(Text, st.just("notes"), site, words),
    st.builds(Line, st.just("house"), site, site),
    st.builds(Arrow, st.just("water"), site, site, words),
)


@given(st.lists(items, min_size=1, max_size=40))
@settings(max_examples=40, deadline=None)
def test_no_label_overlaps_another_whatever_the_layout(listed: list[Line | Marker]) -> None:
    paper = compose(drawing("any", listed), width=260.0, height=180.0)
    for n, one in enumerate(paper.letters):
        for other in paper.letters[n + 1 :]:
            assert not shapely.Polygon(one.box.corners()).intersects(shapely.Polygon(other.box.corners()))
    assert overlaps(paper) == []
    asked = sum(1 for item in listed if getattr(item, "text", ""))
    flat = [a for a in listed if isinstance(a, Arrow) and math.dist(a.a, a.b) < 1e-6]
    furniture = 6
    assert len(paper.letters) + len(paper.left_out) >= asked - len(flat) + furniture
    ET.fromstring(svg(paper))


def test_overlaps_are_found_when_there_are_any(walk: Drawing) -> None:
    paper = compose(walk, width=260.0, height=160.0)
    one, two = paper.letters[0], paper.letters[1]
    moved = replace(two, box=replace(two.box, x=one.box.x, y=one.box.y))
    assert overlaps(replace(paper, letters=(one, moved))) == [(one.text, two.text)] or overlaps(
        replace(paper, letters=(one, moved))
    ) == [(two.text, one.text)]


def _one(item: Dimension, turn: float = 0.0) -> tuple[Picture, Stroke]:
    paper = compose(drawing("one", [item]), width=200.0, height=150.0, system=System.METRIC, turn=turn)
    lines = [
        s
        for s in paper.strokes
        if isinstance(s, Stroke) and s.layer == "dimensions" and s.style.name == "thin"
    ]
    return paper, lines[-1]


@pytest.mark.parametrize("angle", range(0, 360, 30))
def test_dimension_text_reads_from_bottom_or_right_on_the_upper_side(angle: int) -> None:
    turn = math.radians(angle)
    item = Dimension("dimensions", (0.0, 0.0), (3.0 * math.cos(turn), 3.0 * math.sin(turn)), "3.000 m")
    paper, line = _one(item)
    (a, b) = line.points
    text = next(one for one in paper.letters if one.text == "3.000 m")
    assert -90.0 < text.box.angle <= 90.0
    along = math.degrees(math.atan2(-(b[1] - a[1]), b[0] - a[0]))
    assert math.isclose((along - text.box.angle + 90.0) % 180.0, 90.0, abs_tol=1e-6)
    # From the middle of the line to the letters is the letters' own 'up'.
    c, s = text.box.axes()
    dx, dy = text.box.x - (a[0] + b[0]) / 2.0, text.box.y - (a[1] + b[1]) / 2.0
    assert dx * s + dy * -c > text.box.half_h
    assert text.leader is None


def test_words_along_a_line_stand_over_their_point() -> None:
    listed = [Line("joints", (0.0, 0.0), (4.0, 0.0)), Text("joints", (2.0, 0.0), "saw 1 in deep", "along")]
    paper = compose(drawing("along", listed), width=200.0, height=120.0)
    text = next(one for one in paper.letters if one.text == "saw 1 in deep")
    x, y = paper.view.to_paper((2.0, 0.0))
    assert text.box.x == pytest.approx(x)
    assert text.box.y < y - text.box.half_h


def test_a_dimension_line_is_as_long_as_what_it_measures_and_off_by_its_offset() -> None:
    item = Dimension("dimensions", (0.0, 0.0), (3.0, 0.0), "3.000 m", offset=-12.0)
    paper, line = _one(item)
    beyond = 2.0 * 1.4
    assert math.dist(*line.points) - beyond == pytest.approx(3.0 * paper.view.scale.mm_per_m, rel=1e-9)
    assert line.points[0][1] - paper.view.to_paper((0.0, 0.0))[1] == pytest.approx(12.0)


def test_a_level_dimension_of_a_slanted_line_measures_level() -> None:
    item = Dimension("dimensions", (0.0, 0.0), (3.0, 1.0), "3.000 m", offset=9.0, along=0.0)
    paper, line = _one(item)
    (a, b) = line.points
    assert a[1] == pytest.approx(b[1])
    assert abs(b[0] - a[0]) - 2.8 == pytest.approx(3.0 * paper.view.scale.mm_per_m)
    assert a[1] == pytest.approx(paper.view.to_paper((3.0, 1.0))[1] - 9.0)


def test_layers_choose_what_is_shown_and_in_which_order(walk: Drawing) -> None:
    few = only(walk, "steel", "house", name="Steel")
    assert {item.layer for item in few.shown()} == {"steel", "house"}
    assert [item.layer for item in few.shown()] == sorted(
        (i.layer for i in few.shown()), key=["house", "steel"].index
    )
    with pytest.raises(ValueError, match="'stell' is not in"):
        only(walk, "stell")
    with pytest.raises(ValueError, match="'formz' is not in"):
        drawing("bad", [Line("formz", (0, 0), (1, 1))])


def test_nothing_shown_is_refused(walk: Drawing) -> None:
    with pytest.raises(ValueError, match="nothing to draw"):
        compose(only(walk, "order"), width=200.0, height=150.0)


def test_an_arrow_with_a_paper_length_has_it_at_any_scale() -> None:
    for far in (5.0, 40.0):
        one = drawing(
            "flow",
            [Arrow("water", (0.0, 0.0), (1.0, 0.0), length=12.0), Marker("ground", (far, far), "shot")],
        )
        paper = compose(one, width=200.0, height=150.0)
        tip = max(
            x for shape in paper.shapes if shape.layer == "water" for ring in shape.rings for x, _ in ring
        )
        assert tip - paper.view.to_paper((0.0, 0.0))[0] == pytest.approx(12.0)


@pytest.mark.parametrize("name", hatch_names())
def test_hatches_fill_their_area_and_stay_inside(name: str) -> None:
    outer = ((10.0, 10.0), (70.0, 14.0), (64.0, 60.0), (30.0, 30.0), (12.0, 52.0))
    hole = ((40.0, 20.0), (50.0, 20.0), (50.0, 28.0), (40.0, 28.0))
    area = shapely.Polygon(outer, [hole])
    for family in hatch(name):
        lines = hatch_lines((outer, hole), family)
        total = sum(math.dist(a, b) for a, b in lines)
        # Parallel lines a distance apart sample the area: length x spacing is nearly the area.
        assert total * family.spacing == pytest.approx(area.area, rel=0.12)
        for a, b in lines:
            assert shapely.LineString([a, b]).within(area.buffer(1e-6))


def test_a_hatch_of_a_huge_area_is_thinned_and_of_nothing_is_nothing() -> None:
    family = HatchLines(45.0, 2.0, 0.2)
    huge = ((0.0, 0.0), (1e5, 0.0), (1e5, 1e5), (0.0, 1e5))
    assert 100 < len(hatch_lines((huge,), family)) <= 1600
    assert hatch_lines((), family) == []
    assert hatch_lines((((0.0, 0.0), (1.0, 1.0)),), family) == []


def _texts(root: ET.Element) -> list[str]:
    return [plain("".join(e.itertext())) for e in root.iter("{http://www.w3.org/2000/svg}text")]


def test_svg_is_well_formed_says_its_size_and_holds_the_texts(walk: Drawing) -> None:
    paper = compose(walk, width=260.0, height=160.0)
    root = ET.fromstring(svg(paper))
    assert root.get("width") == "260.00mm"
    assert root.get("viewBox") == "0 0 260.00 160.00"
    texts = _texts(root)
    for wanted in ("32'-0\"", "4'-6 7/8\"", "S10", "HOUSE", '- 4 3/8"'):
        assert wanted in texts
    assert root.find("{http://www.w3.org/2000/svg}desc").text == walk.alt  # type: ignore[union-attr]


def test_svg_is_the_same_every_time(walk: Drawing) -> None:
    assert svg(compose(walk, width=260.0, height=160.0)) == svg(compose(walk, width=260.0, height=160.0))


HOSTILE = "<script>alert(1)</script>&amp; \"'>\x00\ud800\u202e]]> #panic() $x$ 日本 🙂"


def test_hostile_names_and_texts_stay_text() -> None:
    one = drawing(HOSTILE, [Text("notes", (0.0, 0.0), HOSTILE)], alt=HOSTILE)
    text = svg(compose(one, width=260.0, height=160.0))
    root = ET.fromstring(text)
    text.encode()
    assert not list(root.iter("script"))
    assert not list(root.iter("{http://www.w3.org/2000/svg}script"))
    assert any("<script>alert(1)</script>&amp;" in t for t in _texts(root))


def test_fitted_svg_holds_every_text_to_its_length(walk: Drawing) -> None:
    root = ET.fromstring(svg(compose(walk, width=260.0, height=160.0), fitted=True))
    for one in root.iter("{http://www.w3.org/2000/svg}text"):
        assert float(one.get("textLength", "0")) > 0.0


def test_a_label_on_a_hatch_gets_a_plate_below_the_lines() -> None:
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0))
    one = drawing("slab", [Area("slab", (ring,), hatch="concrete"), Text("notes", (2.0, 1.0), "P1")])
    bare = drawing("slab", [Area("slab", (ring,), fill="fresh"), Text("notes", (2.0, 1.0), "P1")])
    assert 'class="plates"' in svg(compose(one, width=200.0, height=120.0))
    assert 'class="plates"' not in svg(compose(bare, width=200.0, height=120.0))


@pytest.mark.parametrize("turn", [0.0, 1.0])
def test_arcs_start_and_end_where_the_site_says(turn: float) -> None:
    arc = Arc("forms", (1.0, 2.0), 3.0, 0.3, 2.1)
    paper = compose(drawing("arc", [arc]), width=200.0, height=150.0, turn=turn)
    curve = next(s for s in paper.strokes if isinstance(s, Curve))
    for angle, mine in ((arc.start, curve.start), (arc.end, curve.end)):
        site_end = (1.0 + 3.0 * math.cos(angle), 2.0 + 3.0 * math.sin(angle))
        x = curve.centre[0] + curve.radius * math.cos(mine)
        y = curve.centre[1] - curve.radius * math.sin(mine)
        assert paper.view.to_paper(site_end) == pytest.approx((x, y))


def test_degenerate_items_are_survived() -> None:
    p = (1.0, 1.0)
    listed = [
        Line("forms", p, p),
        Polyline("forms", (p, p), True),
        Area("slab", ((p, p),), "fresh", hatch="cured"),
        Area("slab", ((),), "fresh"),
        Arc("forms", p, 0.0),
        Dimension("dimensions", p, p, '0"'),
        Arrow("water", p, p, "2 %"),
        Marker("stakes", p, "stake", ""),
        Text("notes", p, " "),
        Text("notes", p, "\n\n"),
    ]
    paper = compose(drawing("degenerate", listed), width=200.0, height=120.0)
    ET.fromstring(svg(paper))
    assert overlaps(paper) == []


def test_the_key_explains_each_line_hatch_and_sign_once(walk: Drawing) -> None:
    found = [(e.kind, e.name) for e in key.entries(walk)]
    assert len(found) == len(set(found))
    for wanted in (
        ("sign", "stake"),
        ("line", "form"),
        ("line", "steel"),
        ("arrow", "water"),
        ("hatch", "concrete"),
    ):
        assert wanted in found
    # the wall says where the house is, the hatch says what stays
    assert ("hatch", "house") not in found
    assert ("line", "existing") not in found
    assert key.entries(only(walk, "dimensions")) == ()


@pytest.mark.parametrize("lang", ["en", "es"])
@pytest.mark.parametrize("width", [70.0, 130.0, 260.0])
def test_the_key_keeps_to_its_width_and_overlaps_nothing(walk: Drawing, lang: str, width: float) -> None:
    rows = key.lay_out(walk, width=width, lang=lang)
    _, _, letters = key.drawn(rows, 0.0)
    assert len(letters) == len(key.entries(walk))
    for one in letters:
        left, top, right, bottom = one.box.bounds()
        assert left > 0.0
        assert right <= width + 1e-9
        assert top >= 0.0
        assert bottom <= key.height(rows)
    assert overlaps(replace(compose(walk, width=260.0, height=160.0), letters=tuple(letters))) == []


def test_everything_that_can_be_drawn_with_meaning_has_words() -> None:
    from slabwright.sheets.markers import SIGNS
    from slabwright.sheets.words import words as table

    for name in SIGNS:
        assert f"key-sign-{name}" in table()
    # bands of depth are told by each drawing: what they mean hangs on the dig
    for name in hatch_names():
        assert name.startswith("depth-") or f"key-hatch-{name}" in table()
    silent = {"edge", "thin", "tick"}
    for name in set(line_styles()) - silent:
        assert f"key-line-{name}" in table() or f"key-arrow-{name}" in table()
