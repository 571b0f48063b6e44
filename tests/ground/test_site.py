"""From the job file, points and heights to everything that is there."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.findings import catalogue, find
from slabwright.ground import ground_height, survey_ground
from slabwright.ground.rules import rules
from slabwright.ground.site import best_plane
from slabwright.measure import Quantity
from slabwright.notes.models import Notes
from slabwright.sources import source

FT = 0.3048
POINTS = {
    "A": (0.0, 0.0), "B": (40 * FT, 0.0), "C": (40 * FT, 28 * FT), "D": (0.0, 28 * FT),
    "Q1": (0.0, -12 * FT), "Q2": (12 * FT, -12 * FT), "Q3": (12 * FT, 0.0), "Q4": (0.0, 0.0),
    "P1": (14 * FT, -4 * FT), "P2": (30 * FT, -4 * FT), "P3": (14 * FT, -16 * FT), "P4": (30 * FT, -16 * FT),
    "P5": (40 * FT, -10 * FT), "P6": (22 * FT, -10 * FT), "inside": (6 * FT, -6 * FT), "cellar": (9.0, 4.0),
    "bench": (20 * FT, -20 * FT),
}  # fmt: skip
HEIGHTS = {
    "Q1": -0.06, "Q2": -0.06, "Q3": 0.0, "Q4": 0.0, "P1": -0.2, "P2": -0.22, "P3": -0.35, "P4": -0.36,
    "P5": -0.3, "P6": -0.28, "inside": -0.03, "cellar": 0.1, "bench": 5.0, "back sill": 0.15, "siding": 0.1,
}  # fmt: skip


def job(**more):
    raw = {
        "title": "Quince Lane 3",
        "slabs": [{"name": "pad", "use": "pad", "corners": ["P1", "P2", "P4", "P3"]}],
        "ground": {"organic": "4 in"},
        **more,
    }
    return Notes.model_validate(raw)


HOUSE = {
    "walls": ["A", "B", "C", "D"],
    "closed": True,
    "siding": "wood",
    "siding-bottom": "siding",
    "doors": [{"name": "back door", "on": "A-B", "from": "8 ft", "width": "3 ft", "sill": "back sill"}],
}
PATIO = {"name": "old patio", "corners": ["Q1", "Q2", "Q3", "Q4"]}


def codes(ground):
    return [f.code for f in ground.findings]


class TestHouse:
    def test_walls_run_between_corners_and_close(self):
        ground = survey_ground(job(house=HOUSE), POINTS, HEIGHTS)
        assert [w.name for w in ground.walls] == ["A-B", "B-C", "C-D", "D-A"]
        assert ground.house_ring == tuple(POINTS[c] for c in "ABCD")
        assert ground.siding_bottom == 0.1

    def test_an_open_house_has_no_ring(self):
        ground = survey_ground(job(house={"walls": ["A", "B", "C"]}), POINTS, HEIGHTS)
        assert [w.name for w in ground.walls] == ["A-B", "B-C"]
        assert ground.house_ring == ()

    def test_a_corner_without_a_place_takes_its_walls_out_with_a_finding(self):
        points = {k: v for k, v in POINTS.items() if k != "C"}
        ground = survey_ground(job(house=HOUSE), points, HEIGHTS)
        assert [w.name for w in ground.walls] == ["A-B", "D-A"]
        assert ground.house_ring == ()
        left_out = [f for f in ground.findings if f.code == "not-placed"]
        assert [(f.where, f.values["point"]) for f in left_out] == [("B-C", "C"), ("C-D", "C")]

    def test_a_door_stands_on_its_wall(self):
        (door,) = survey_ground(job(house=HOUSE), POINTS, HEIGHTS).doors
        assert door.p == pytest.approx((8 * FT, 0))
        assert door.q == pytest.approx((11 * FT, 0))
        assert (door.wall, door.sill, door.sill_name) == ("A-B", 0.15, "back sill")

    def test_a_door_may_be_measured_from_the_other_end(self):
        house = {**HOUSE, "doors": [{"name": "side", "on": "B-A", "from": "8 ft", "width": "3 ft"}]}
        (door,) = survey_ground(job(house=house), POINTS, HEIGHTS).doors
        assert door.p == pytest.approx((32 * FT, 0))
        assert door.q == pytest.approx((29 * FT, 0))
        assert door.sill is None

    def test_a_door_past_the_end_of_its_wall(self):
        house = {**HOUSE, "doors": [{"name": "side", "on": "A-B", "from": "38 ft", "width": "3 ft"}]}
        ground = survey_ground(job(house=house), POINTS, HEIGHTS)
        (finding,) = [f for f in ground.findings if f.code == "door-past-wall"]
        assert finding.values["over"].si == pytest.approx(1 * FT)
        assert finding.values["wall"].si == pytest.approx(40 * FT)

    def test_a_door_on_no_wall(self):
        house = {**HOUSE, "doors": [{"name": "side", "on": "A-X", "from": "1 ft", "width": "3 ft"}]}
        ground = survey_ground(job(house=house), POINTS, HEIGHTS)
        assert ground.doors == ()
        assert "not-placed" in codes(ground)


class TestExisting:
    def test_a_slab_in_one_plane(self):
        ground = survey_ground(job(existing=[PATIO]), POINTS, HEIGHTS)
        (slab,) = ground.existing
        assert slab.plane == pytest.approx((0.0, 0.06 / (12 * FT), 0.0), abs=1e-12)
        assert slab.names == ("Q1", "Q2", "Q3", "Q4", "Q1")
        assert slab.edge[0] == slab.edge[-1] == POINTS["Q1"]
        assert slab.height_on_edge(12 * FT, -6 * FT) == pytest.approx(-0.03)
        assert "slab-not-plane" not in codes(ground)

    def test_its_ring_turns_left_however_it_was_named(self):
        back = {**PATIO, "corners": PATIO["corners"][::-1]}
        (slab,) = survey_ground(job(existing=[back]), POINTS, HEIGHTS).existing
        assert set(slab.ring) == {POINTS[q] for q in PATIO["corners"]}
        x, y = np.array(slab.ring).T
        assert (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0
        assert slab.names == ("Q4", "Q3", "Q2", "Q1", "Q4")

    def test_a_twisted_slab(self):
        heights = {**HEIGHTS, "Q2": -0.06 - 0.04}
        ground = survey_ground(job(existing=[PATIO]), POINTS, heights)
        (finding,) = [f for f in ground.findings if f.code == "slab-not-plane"]
        # one corner of a square out by d leaves d/4 at every corner
        assert finding.values["off"].si == pytest.approx(0.01)
        assert ground.existing[0].heights[1] == pytest.approx(-0.10)

    def test_a_quarter_inch_lip_is_where_it_begins_to_count(self):
        for off, found in [(0.0063, False), (0.0064, True)]:
            heights = {**HEIGHTS, "Q2": -0.06 - 4 * off}
            ground = survey_ground(job(existing=[PATIO]), POINTS, heights)
            assert ("slab-not-plane" in codes(ground)) is found

    def test_a_corner_that_was_not_shot_comes_from_the_plane(self):
        heights = {k: v for k, v in HEIGHTS.items() if k != "Q2"}
        ground = survey_ground(job(existing=[PATIO]), POINTS, heights)
        (finding,) = [f for f in ground.findings if f.code == "corner-from-plane"]
        assert finding.values["corner"] == "Q2"
        assert ground.existing[0].heights[1] == pytest.approx(-0.06)

    def test_an_edge_alone(self):
        walk = {"name": "gate walk", "edge": ["P5", "P4"], "keeps": "height"}
        (slab,) = survey_ground(job(existing=[walk]), POINTS, HEIGHTS).existing
        assert slab.ring == ()
        assert slab.edge == (POINTS["P5"], POINTS["P4"])
        assert slab.heights == (-0.3, -0.36)
        assert slab.plane is None

    def test_a_slab_whose_height_nobody_read(self):
        heights = {k: v for k, v in HEIGHTS.items() if not k.startswith("Q")}
        ground = survey_ground(job(existing=[PATIO]), POINTS, heights)
        assert "slab-without-height" in codes(ground)
        gone = {**PATIO, "keeps": "nothing"}
        assert "slab-without-height" not in codes(survey_ground(job(existing=[gone]), POINTS, heights))


class TestGroundShots:
    def names(self, **more):
        ground = survey_ground(job(**more), POINTS, HEIGHTS)
        return set(ground.surface.names), ground

    def test_all_means_what_stands_on_soil(self):
        names, ground = self.names(house=HOUSE, existing=[PATIO], heights={"bench": "5 m"})
        assert names == {"P1", "P2", "P3", "P4", "P5", "P6"}
        (finding,) = [f for f in ground.findings if f.code == "shots-on-slab"]
        assert finding.values["shots"] == "inside, cellar"

    def test_not_ground_is_left_out(self):
        names, _ = self.names(
            existing=[PATIO], ground={"not-ground": ["P6", "bench", "cellar"], "organic": "4 in"}
        )
        assert names == {"P1", "P2", "P3", "P4", "P5"}

    def test_named_shots_only(self):
        names, ground = self.names(ground={"shots": ["P1", "P2", "P3", "A", "back sill"], "organic": "4 in"})
        assert names == {"P1", "P2", "P3"}
        assert codes(ground) == ["shot-without-height", "shot-without-place"]

    def test_no_shots_at_all(self):
        ground = survey_ground(job(), POINTS, {})
        assert ground.surface is None
        assert codes(ground) == ["no-shots"]

    def test_break_lines_reach_the_surface(self):
        shots = ["P1", "P2", "P3", "P4"]
        heights = {"P1": 0.0, "P4": 0.0, "P2": 1.0, "P3": 1.0}
        middle = [(22 * FT, -10 * FT)]
        for line, height in [(["P1", "P4"], 0.0), (["P2", "P3"], 1.0)]:
            rows = {"shots": shots, "break-lines": [line], "organic": "4 in"}
            ground = survey_ground(job(ground=rows), POINTS, heights)
            assert ground_height(ground.surface, middle) == pytest.approx([height])


def test_trees_lines_and_heads():
    ground = survey_ground(
        job(
            trees=[
                {"name": "oak", "at": "P5", "trunk": "16 in"},
                {"name": "elm", "at": "lost", "trunk": "9 in"},
            ],
            buried=[
                {"kind": "gas", "along": ["P1", "P2"], "depth": "18 in"},
                {"kind": "water", "along": ["P1", "lost"], "name": "hose line"},
            ],
            sprinklers=[
                {"head": "H1", "at": "P6", "throw": "15 ft"},
                {"head": "H2", "at": "lost", "throw": "9 ft"},
            ],
        ),
        POINTS,
        HEIGHTS,
    )
    (oak,) = ground.trees
    assert oak.root_zone == pytest.approx(16 * FT)
    assert [(b.name, b.kind, b.line) for b in ground.buried] == [("gas", "gas", (POINTS["P1"], POINTS["P2"]))]
    assert ground.buried[0].depth == pytest.approx(18 / 12 * FT)
    assert ground.heads == (("H1", POINTS["P6"], pytest.approx(15 * FT)),)
    assert [f.where for f in ground.findings if f.code == "not-placed"] == ["elm", "hose line", "H2"]


def test_sod_is_assumed_only_when_it_was_not_written():
    assert codes(survey_ground(job(ground={}), POINTS, HEIGHTS)).count("organic-assumed") == 1
    ground = survey_ground(job(ground={"organic": "5 in"}), POINTS, HEIGHTS)
    assert ground.organic == pytest.approx(0.127)
    assert "organic-assumed" not in codes(ground)


@settings(max_examples=40, deadline=None)
@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.floats(-3, 3), st.floats(-500, 500), st.integers(3, 9))
def test_the_best_plane_of_a_plane(a, b, c, far, count):
    xy = np.random.default_rng(count).uniform(0, 5, (count, 2)) + far
    plane, off = best_plane(np.column_stack([xy, xy @ (a, b) + c]))
    assert off < 1e-9
    assert xy @ plane[:2] + plane[2] == pytest.approx(xy @ (a, b) + c, abs=1e-9)


def test_no_plane_through_a_line_or_two_points():
    assert best_plane(np.array([(0, 0, 1), (1, 1, 2), (3, 3, 1)], dtype=float))[0] is None
    assert best_plane(np.array([(0, 0, 1), (1, 1, 2)], dtype=float))[0] is None


def test_every_rule_has_a_source():
    table = tomllib.loads(files("slabwright").joinpath("ground", "rules.toml").read_text(encoding="utf-8"))
    assert set(table) == set(rules())
    for row in table.values():
        assert source(row["source"]).title


SAMPLE = {name: Quantity("length", 0.3) for name in ("apart", "off", "depth", "over", "wall", "far")} | {
    "shot": "P1",
    "shots": "P1, P2",
    "corner": "Q1",
    "point": "P1",
}


@pytest.mark.parametrize("lang", ["en", "es"])
@pytest.mark.parametrize("code", list(catalogue("ground")))
def test_every_finding_can_be_said(code, lang):
    text = find("ground", code, where="old patio", **SAMPLE).text(lang=lang)
    assert all((text.what, text.why, text.do, text.source))
    assert "{" not in text.what + text.why + text.do
