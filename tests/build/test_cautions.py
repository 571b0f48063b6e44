"""Cautions: buried lines, roots, dust, bags and trucks; each where the work can hurt, and nowhere else."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slabwright.build.cautions import cautions, dug_area
from slabwright.build.dig import plan_dig
from slabwright.build.forms import plan_forms
from slabwright.build.kit import check_kit
from slabwright.build.order import plan_order
from slabwright.findings import Level, catalogue, entry
from slabwright.ground.model import BuriedLine, ExistingSlab, TreeAt
from slabwright.measure import System
from slabwright.notes import Notes
from slabwright.notes.models import Kit
from slabwright.slab.model import Facet, Joint

FT, IN = 0.3048, 0.0254


def codes(found):
    return [f.code for f in found]


def line(y, kind="gas", depth=24 * IN):
    return BuriedLine(f"{kind} line", kind, ((-5.0, y), (15.0, y)), depth)


def across(kind="gas", depth=24 * IN):
    return BuriedLine(f"{kind} line", kind, ((2.0, -5.0), (2.0, 5.0)), depth)


class TestBuried:
    @pytest.mark.parametrize(
        ("clear", "said"), [(0.01, True), (24 * IN - 0.001, True), (24 * IN + 0.001, False)]
    )
    def test_within_the_zone_of_the_dig(self, make, clear, said):
        """24 in from the dig, which is 6 in wider than the slab."""
        ground = make.ground(buried=(line(-(6 * IN + clear)),))
        found = cautions(make.job(make.walk()), ground)
        assert ("care-line-near" in codes(found)) is said

    def test_under_and_in_the_dig(self, make):
        """The dig is 7 1/2 in deep where the ground is at the slab's top."""
        slab = make.walk()
        slab = replace(slab, height_plan=replace(slab.height_plan, facets=(Facet((0, 1, 2, 3), "1"),)))
        job, ground = make.job(slab), make.ground(height=0.0)
        dig = plan_dig(job, ground)
        for depth, code in ((7.6 * IN, "care-line-under"), (7.4 * IN, "care-line-in-dig")):
            there = replace(ground, buried=(across(depth=depth),))
            found = next(f for f in cautions(job, there, dig) if f.code.startswith("care-line"))
            assert found.code == code
            assert found.where == "walk"
        assert found.level is Level.STOP
        assert "gas line" in found.text().what

    def test_without_shots_the_ground_is_at_the_top(self, make):
        ground = make.ground(height=None, buried=(across(depth=7 * IN),))
        assert "care-line-in-dig" in codes(cautions(make.job(make.walk()), ground))

    def test_own_sprinkler_pipe_is_no_stop(self, make):
        ground = make.ground(buried=(across("sprinkler", 4 * IN),))
        found = cautions(make.job(make.walk()), ground)
        assert "care-pipe-in-dig" in codes(found)
        assert all(f.level is not Level.STOP for f in found)

    def test_depth_unknown(self, make):
        ground = make.ground(buried=(across(depth=None),))
        assert "care-line-under-unknown" in codes(cautions(make.job(make.walk()), ground))

    def test_a_line_of_one_point_is_passed_over(self, make):
        ground = make.ground(buried=(BuriedLine("odd", "gas", ((1.0, 0.5),), None),))
        assert codes(cautions(make.job(make.walk()), ground)) == ["care-call-first", "care-truck"]


class TestRoots:
    def tree(self, away, trunk=10 * IN):
        return TreeAt("plum", (2.0, -(6 * IN + away)), trunk, 12 * trunk)

    @pytest.mark.parametrize(
        ("away", "said"),
        [
            (10 * FT + 0.01, []),
            (10 * FT - 0.01, ["care-roots"]),
            (31 * IN, ["care-roots"]),
            (29 * IN, ["care-roots", "care-roots-close"]),
        ],
    )
    def test_root_zone_and_three_trunks(self, make, away, said):
        """A 10 in trunk: 10 ft of root zone, and no cut within 30 in."""
        found = cautions(make.job(make.walk()), make.ground(trees=(self.tree(away),)))
        assert [code for code in codes(found) if "root" in code] == said

    def test_share_of_the_zone(self, make):
        """A walk far wider than the zone that just covers half of it."""
        slab = make.slab([(-50.0, 0.0), (50.0, 0.0), (50.0, 60.0), (-50.0, 60.0)])
        tree = TreeAt("plum", (0.0, -6 * IN), 0.25, 3.0)
        found = next(
            f for f in cautions(make.job(slab), make.ground(trees=(tree,))) if f.code == "care-roots"
        )
        assert found.values["share"].si == pytest.approx(0.5, abs=1e-6)
        assert found.values["away"].si == pytest.approx(0.0, abs=1e-9)


class TestWork:
    def test_dust_only_where_something_is_sawn(self, make):
        tooled = make.walk(
            joints=(Joint("contraction", ((1.0, 0.0), (1.0, 1.0)), 0.025, "tooled", "spacing"),)
        )
        sawn = make.walk(joints=(Joint("contraction", ((1.0, 0.0), (1.0, 1.0)), 0.025, "sawn", "spacing"),))
        assert "care-silica" not in codes(cautions(make.job(tooled), make.ground()))
        assert "care-silica" in codes(cautions(make.job(tooled, sawn), make.ground()))

    def test_dust_where_an_old_slab_is_broken_out(self, make):
        ring = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
        old = ExistingSlab("old walk", ring, ring, (), (), None, False, None, ())
        assert "care-silica" in codes(cautions(make.job(make.walk()), make.ground(existing=(old,))))
        stays = replace(old, keeps_height=True)
        assert "care-silica" not in codes(cautions(make.job(make.walk()), make.ground(existing=(stays,))))

    def test_bags_are_lifted(self, make):
        notes = Notes.model_validate(
            {"title": "t", "slabs": [{"name": "a", "use": "walk", "corners": ["A", "B", "C"]}]}
        )
        small, large = make.walk(length=4 * FT), make.walk(length=90 * FT, width=9 * FT)
        for slab, said in ((small, True), (large, False)):
            order = plan_order(make.job(slab), notes)
            found = codes(cautions(make.job(slab), make.ground(), None, order))
            assert ("care-lifting" in found) is said

    def test_nothing_to_build(self, make):
        assert cautions(make.job(), make.ground()) == ()

    def test_every_danger_of_the_trade_is_said_once(self, make):
        """Digging, dust, wet cement, used oil: over the whole room, each under its source."""
        slab = make.walk(joints=(Joint("contraction", ((1.0, 0.0), (1.0, 1.0)), 0.025, "sawn", "spacing"),))
        job, ground = make.job(slab), make.ground()
        found = [
            *cautions(job, ground),
            *check_kit(Kit(), job),
            *plan_forms(job, ground, Kit()).findings,
        ]
        sources = [entry(f.room, f.code)["source"] for f in found if f.level is Level.CAUTION]
        for source in ("call-811", "osha-silica", "pci-cement-burns", "cfr-279"):
            assert sources.count(source) == 1, source

    def test_texts(self):
        block = [code for code in catalogue("build") if code.startswith("care-")]
        assert len(block) == 11
        for code in block:
            row = catalogue("build")[code]
            words = ("local", "owner", "code", "licen", "arborist", "two", "state law")
            assert any(word in row["do"].lower() for word in words), code

    def test_dug_area(self, make):
        import shapely

        area = shapely.area(dug_area(make.walk(length=4.0, width=1.0), System.METRIC))
        assert area == pytest.approx(4.3 * 1.3)
        assert math.isfinite(area)
