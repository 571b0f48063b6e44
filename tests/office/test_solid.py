"""Slab and ground in space: the shapes are those of the plan, and the words say the same."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from tests.kit import people

from slabwright.ground.surface import ground_height
from slabwright.office.planning import planned
from slabwright.office.solid import solid
from slabwright.office.solid.scene import FACTORS, factor_for
from slabwright.office.solid.told import WAYS, falls, way_of

NAMES = ("side-walk", "corner-patio", "quay-apron")


@pytest.fixture(scope="module", params=NAMES)
def plan(request):
    text = (Path("examples") / request.param / "job.yaml").read_text(encoding="utf-8")
    return planned(text, request.param).plan


@pytest.fixture(scope="module")
def shapes(plan):
    return solid(plan)


def area(corners) -> float:
    (ax, ay), (bx, by), (cx, cy) = (c[:2] for c in corners)
    return abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / 2


def of(shapes, kind):
    return [face["p"] for face in shapes["faces"] if face["of"] == kind]


def test_the_tops_cover_each_slab_once_at_its_heights(plan, shapes):
    tops = of(shapes, "slab")
    assert sum(map(area, tops)) == pytest.approx(sum(s.outline.area for s in plan.shaped.slabs), rel=0.01)
    known = {(round(n.x, 3), round(n.y, 3)): n.z for s in plan.shaped.slabs for n in s.height_plan.nodes}
    seen = 0
    for x, y, z, more in (corner for face in tops for corner in face):
        assert more == 0.0
        if (x, y) in known:
            seen += 1
            assert z == pytest.approx(known[x, y], abs=0.0015)
    assert seen >= len(known)


def test_the_sides_go_down_as_far_as_the_slab_is_thick(plan, shapes):
    thick = {round(-s.spec.thickness, 3) for s in plan.shaped.slabs}
    assert {c[3] for face in of(shapes, "side") for c in face} == thick | {0.0}


def test_the_ground_keeps_clear_of_the_slab_and_lies_where_it_was_shot(plan, shapes):
    import shapely

    slabs = shapely.union_all([shapely.Polygon(s.outline.ring) for s in plan.shaped.slabs])
    pieces = of(shapes, "ground")
    assert pieces
    for corners in pieces:
        triangle = shapely.Polygon([c[:2] for c in corners])
        assert triangle.intersection(slabs).area < 0.01
    places = np.array([c[:2] for p in pieces for c in p])
    heights = np.array([c[2] for p in pieces for c in p])
    assert heights == pytest.approx(ground_height(plan.ground.surface, places), abs=0.02)


def test_arrows_on_the_slab_point_downhill(shapes):
    down = [a["p"][0][2] - a["p"][1][2] for a in shapes["arrows"] if a["on"] == "slab"]
    assert down
    assert sum(drop >= 0 for drop in down) >= 0.95 * len(down)  # a tip may lie just past an edge


def test_every_mark_has_its_height_in_words(plan, shapes):
    nodes = [n for s in plan.shaped.slabs for n in s.height_plan.nodes if not n.shape_only]
    assert len(shapes["marks"]) == len(nodes)
    assert all(mark["text"] and mark["name"] for mark in shapes["marks"])


def test_the_data_are_plain_small_and_finite(shapes):
    text = json.dumps(shapes, allow_nan=False)
    assert len(text) < 120_000
    assert shapes["factor"] in FACTORS


@pytest.mark.parametrize(
    ("rise", "span", "factor"), [(0.1, 10.0, 10), (0.0, 10.0, 30), (5.0, 10.0, 1), (1.2, 10.0, 1)]
)
def test_flat_work_is_drawn_higher(rise, span, factor):
    assert factor_for(rise, span) == factor


@pytest.mark.parametrize(
    ("fall", "way"),
    [((1, 0), "right"), ((-1, 0), "left"), ((0, 1), "house"), ((0, -1), "yard"), ((1, -1), "yard-right")],
)
def test_the_way_of_a_fall(fall, way):
    assert way_of(fall) == way
    assert way in WAYS


@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_table_says_how_each_panel_falls(plan, lang):
    table = falls(plan, lang)
    assert len(table.rows) == sum(len(s.joint_plan.panels) for s in plan.shaped.slabs)
    for *_, fall, to, high, low in table.rows:
        assert 0 <= fall < 0.2
        assert to
        assert high >= low
        assert math.isfinite(high)


@pytest.mark.django_db
@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_page(lang):
    who = people.person("Tomas Ruiz", "crew", language=lang)
    body = people.signed_in(who).get(f"/jobs/{people.job(who).code}/solid/").content.decode()
    assert "<canvas" in body
    assert '<script id="solid-data" type="application/json">' in body
    assert body.count("<table") == 2
    assert "style=" not in body
