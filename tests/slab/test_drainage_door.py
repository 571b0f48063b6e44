"""The whole check of drainage: slabs in their yard, before and after."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest
from tests.slab.drained import box, plane, slab

from slabwright.findings import catalogue, find
from slabwright.ground.model import ExistingSlab, Ground, Wall
from slabwright.ground.shots import surface_from
from slabwright.measure import Quantity
from slabwright.slab.drainage.mesh import sheet_of
from slabwright.slab.drainage.plan import Downspout, Inlet, Storm, TrenchDrain, drain
from slabwright.slab.drainage.rain import peak_flow, rules
from slabwright.slab.drainage.told import STAYS, told
from slabwright.slab.drainage.yard import yard_of
from slabwright.slab.model import Edge
from slabwright.sources import source

STORM = Storm(2.5e-5, 300.0)
HOUSE = ((0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0))
WALLS = tuple(
    Wall(name, p, q)
    for name, p, q in zip(("A-B", "B-C", "C-D", "D-A"), HOUSE, HOUSE[1:] + HOUSE[:1], strict=True)
)
AT_WALL = {"kinds": [(lambda p: abs(p[1]) < 1e-6, "wall")], "against": {"wall": "A-B"}}


def yard(height, *, walls=WALLS, ring=HOUSE, existing=(), soil="loam"):
    """Ground shot every 2 m from a function of (x, y)."""
    shots = {
        f"g{i}.{j}": (float(x), float(y), float(height(x, y)))
        for i, x in enumerate(np.arange(-4, 17, 2))
        for j, y in enumerate(np.arange(-14, 13, 2))
    }
    surface = surface_from(shots)[0]
    return Ground(walls, ring, (), existing, (), (), (), surface, 0.1, soil, "none", None, ())


def away(x, y):
    """A yard that falls 4 % from the front wall, and level behind it."""
    return 0.04 * min(y, 0.0) - 0.12


def codes(result):
    return [f.code for f in result.findings]


class TestGoodPatio:
    patio = slab(
        [plane(box(3, -4, 6, 0), 0, 0.02), plane(box(6, -4, 9, 0), 0, 0.02)], name="patio", **AT_WALL
    )

    def test_nothing_to_complain_of(self):
        got = drain((self.patio,), yard(away), STORM)
        assert codes(got) == []
        assert got.ponds == ()
        assert {e.kind for e in got.edges} == {"free"}
        assert sum(e.area for e in got.edges) == pytest.approx(24.0)

    def test_peak_flow_at_the_low_edge(self):
        got = drain((self.patio,), yard(away), STORM)
        want = peak_flow(rules()["runoff-concrete"], STORM.intensity, 12.0)
        assert [e.flow for e in got.edges] == pytest.approx([want, want])
        for e in got.edges:  # Manning's formula holds for the sheet at the edge
            speed = e.depth ** (2 / 3) * 0.02**0.5 / rules()["roughness-concrete"]
            assert speed * e.depth == pytest.approx(e.flow / 3.0)

    def test_arrows_point_downhill_with_the_fall_as_length(self):
        got = drain((self.patio,), yard(away), STORM)
        vectors = np.array([v for _, v in got.arrows])
        assert vectors == pytest.approx(np.tile((0, -0.02), (2, 1)), abs=1e-12)
        in_front = [v for (x, y), v in got.yard_arrows if -10 < y < -6 and 0 < x < 10]
        assert len(in_front) > 10
        assert np.array(in_front) == pytest.approx(np.tile((0.0, -0.04), (len(in_front), 1)), abs=1e-6)
        assert not any(3 < x < 9 and -4 < y < 0 for (x, y), _ in got.yard_arrows)
        assert not any(0 < x < 12 and 0 < y < 8 for (x, y), _ in got.yard_arrows)

    def test_the_usual_rain_is_said_to_be_assumed(self):
        got = drain((self.patio,), yard(away))
        assert codes(got) == ["storm-assumed"]
        assert got.storm.intensity * 3600 / 0.0254 == pytest.approx(4.0, abs=1e-6)

    def test_without_shots_only_the_slab_is_looked_at(self):
        ground = yard(away)
        bare = Ground(ground.walls, HOUSE, (), (), (), (), (), None, 0.1, "loam", "none", None, ())
        got = drain((self.patio,), bare, STORM)
        assert codes(got) == ["yard-not-looked-at"]
        assert (got.cell, got.walls, got.yard_arrows) == (None, (), ())
        assert sum(e.area for e in got.edges) == pytest.approx(24.0)

    def test_no_slabs(self):
        got = drain((), yard(away), STORM)
        assert (got.edges, got.ponds, codes(got)) == ((), (), [])


class TestWall:
    def test_a_slab_that_falls_to_the_wall_is_a_stop(self):
        bad = slab([plane(box(3, -4, 9, 0), 0, -0.02)], name="patio", **AT_WALL)
        got = drain((bad,), yard(away), STORM)
        (stop,) = [f for f in got.findings if f.code == "slab-sheds-to-wall"]
        assert (stop.level, stop.where) == ("stop", "patio, A-B")
        assert stop.values["area"].si == pytest.approx(24.0)
        (more,) = [f for f in got.findings if f.code == "wall-gets-more"]
        assert more.where == "A-B"
        # sealed area of the slab, and what lawn lies behind it
        assert more.values["area"].si == pytest.approx(24.0 * rules()["runoff-concrete"], rel=0.15)

    def test_a_yard_that_falls_to_the_wall_is_told_as_it_was(self):
        got = drain((), yard(lambda x, y: 0.1 - 0.03 * min(y, 0)), STORM)
        (row,) = [f for f in got.findings if f.where == "A-B"]
        assert row.code == "wall-gets"
        (wall,) = [w for w in got.walls if w.wall == "A-B"]
        assert wall.area == pytest.approx(wall.area_before)
        # the whole front yard, 12 m wide and 14 m deep, as lawn
        assert wall.area == pytest.approx(12 * 14 * rules()["runoff-loam"], rel=0.1)
        assert wall.flow == pytest.approx(STORM.intensity * wall.area)

    def test_a_walk_that_turns_the_water_away(self):
        walk = slab([plane(box(-4, -2, 16, -1), 0, 0.0208, 0.35)], name="walk")
        got = drain((walk,), yard(lambda x, y: 0.1 - 0.03 * min(y, 0)), STORM)
        (wall,) = [w for w in got.walls if w.wall == "A-B"]
        assert wall.area < 0.3 * wall.area_before
        assert "wall-gets-less" in codes(got)

    def test_an_open_chain_of_walls_holds_water_too(self):
        ground = yard(lambda x, y: 0.1 - 0.03 * y, walls=WALLS[:1], ring=())
        (wall,) = drain((), ground, STORM).walls
        assert wall.wall == "A-B"
        assert wall.area == pytest.approx(12 * 14 * rules()["runoff-loam"], rel=0.1)


class TestPonds:
    def dished(self, depth):
        low = (6.0, -2.0, -depth)
        ring = [(4.0, -4.0, 0.0), (8.0, -4.0, 0.0), (8.0, 0.0, 0.0), (4.0, 0.0, 0.0)]
        return slab(
            [[p, q, low] for p, q in zip(ring, ring[1:] + ring[:1], strict=True)], name="pad", **AT_WALL
        )

    @pytest.mark.parametrize(
        ("depth", "code"), [(0.02, "slab-pond"), (0.0064, "slab-pond"), (0.005, "slab-film")]
    )
    def test_a_dish_is_told_once_with_its_depth_and_volume(self, depth, code):
        got = drain((self.dished(depth),), yard(lambda x, y: away(x, y) - 0.2), STORM)
        assert codes(got) == [code]
        (pond,) = got.ponds
        assert pond.kind == "slab"
        assert pond.depth == pytest.approx(depth)
        assert pond.volume == pytest.approx(16 * depth / 3)
        assert pond.area == pytest.approx(16.0)

    def test_a_film_thinner_than_an_eighth_is_let_be(self):
        assert drain((self.dished(0.003),), yard(lambda x, y: away(x, y) - 0.2), STORM).ponds == ()

    def test_an_inlet_in_the_dish(self):
        inlet = Inlet("grate", (6.0, -2.0))
        got = drain((self.dished(0.05),), yard(lambda x, y: away(x, y) - 0.2), STORM, inlets=[inlet])
        assert got.ponds == ()
        # on the raster the outermost cells of the pad drop over its edge: 4 x 4 m less one cell all round
        whole = peak_flow(rules()["runoff-concrete"], STORM.intensity, 16.0)
        assert 0.9 * whole < got.drains["grate"] < whole

    def test_a_slab_sunk_below_the_lawn(self):
        sunk = slab([plane(box(4, -6, 8, -3), 0, 0.02, -0.25)], name="pad")
        got = drain((sunk,), yard(away), STORM)
        (pond,) = [p for p in got.ponds if p.kind == "dammed"]
        assert pond.where == "pad"
        # the low edge stands at .02 x -6 - .25 = -.37, the lawn there at .04 x -6 - .12 = -.36
        assert pond.depth == pytest.approx(0.01, abs=0.003)
        assert "pond-dammed" in codes(got)

    def test_a_walk_across_the_way_of_the_water(self):
        walk = slab([plane(box(-4, -9, 16, -8), 0, 0.0, 0.0)], name="walk")
        # the yard runs down to the walk and to its middle: nothing gets round
        ground = yard(lambda x, y: 0.03 * y - 0.05 - 0.01 * (6 - abs(x - 6)))
        got = drain((walk,), ground, STORM)
        pond = max((p for p in got.ponds if p.kind == "yard"), key=lambda p: p.volume)
        assert pond.new
        assert "yard-pond-new" in codes(got)
        assert pond.at[1] == pytest.approx(-8, abs=0.2)
        assert pond.volume > 0.5

    def test_a_pond_that_is_there_today(self):
        ground = yard(lambda x, y: away(x, y) - 0.3 * np.exp(-((x - 6) ** 2 + (y + 8) ** 2) / 4))
        got = drain((), ground, STORM)
        (pond,) = got.ponds
        assert not pond.new
        assert codes(got) == ["yard-pond-was"]
        assert got.ponds_before[0].volume == pytest.approx(pond.volume)
        # a pad poured over it does away with it
        pad = slab([plane(box(1, -13, 11, -3), 0, 0.04, -0.12)], name="pad")
        assert "pond-gone" in codes(drain((pad,), ground, STORM))

    def test_its_outline_holds_its_area(self):
        ground = yard(lambda x, y: away(x, y) - 0.3 * np.exp(-((x - 6) ** 2 + (y + 8) ** 2) / 4))
        (pond,) = drain((), ground, STORM).ponds
        x, y = np.array(pond.ring).T
        area = float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2
        assert area == pytest.approx(pond.area, rel=0.1)

    def test_level_panels_and_channels(self):
        level = slab([plane(box(4, -6, 8, -3), 0, 0)], name="pad")
        got = drain((level,), yard(lambda x, y: away(x, y) - 0.3), STORM)
        assert codes(got) == ["level-panel"]
        valley = slab(
            [plane(box(2, -6, 4, -3), -0.02, 0), plane(box(4, -6, 6, -3), 0.02, 0, -0.16)], name="pad"
        )
        assert "level-channel" in codes(drain((valley,), yard(lambda x, y: away(x, y) - 0.3), STORM))


class TestRoofAndDrains:
    patio = slab([plane(box(3, -4, 9, 0), 0, 0.02)], name="patio", **AT_WALL)
    rows = plane(box(3, -2, 9, 0), 0, 0.02), plane(box(3, -4, 9, -2), 0, 0.02)

    def test_a_downspout_over_the_patio(self):
        got = drain((self.patio,), yard(away), STORM, downspouts=[Downspout("south", (6.0, -0.1), 50.0)])
        (roof,) = got.roofs
        assert roof.crosses == ("patio",)
        assert roof.ends == "away"
        assert roof.path[-1][1] < -13
        assert roof.flow == pytest.approx(peak_flow(rules()["runoff-roof"], STORM.intensity, 50.0))
        assert codes(got) == ["roof-on-slab"]

    def test_a_downspout_beside_it(self):
        got = drain((self.patio,), yard(away), STORM, downspouts=[Downspout("east", (11.0, -0.1), 50.0)])
        assert codes(got) == []
        assert got.roofs[0].crosses == ()

    def test_one_that_runs_back_to_the_house(self):
        ground = yard(lambda x, y: 0.1 - 0.03 * min(y, 0))
        got = drain((), ground, STORM, downspouts=[Downspout("south", (6.0, -2.0), 50.0)])
        assert got.roofs[0].ends == "wall"
        assert "roof-to-wall" in codes(got)

    def test_one_that_feeds_a_pond(self):
        ground = yard(lambda x, y: away(x, y) - 0.3 * np.exp(-((x - 6) ** 2 + (y + 8) ** 2) / 4))
        got = drain((), ground, STORM, downspouts=[Downspout("south", (6.0, -3.0), 50.0)])
        assert got.roofs[0].ends == "pond"
        assert "roof-to-pond" in codes(got)

    def test_a_trench_drain_along_a_joint(self):
        two = slab(self.rows, name="patio", **AT_WALL)
        trench = TrenchDrain("slot", ((3.0, -2.0), (9.0, -2.0)))
        got = drain((two,), yard(away), STORM, trenches=[trench])
        assert sum(e.area for e in got.edges) == pytest.approx(12.0)
        # the raster's cells straddle the joint by half a cell
        want = peak_flow(rules()["runoff-concrete"], STORM.intensity, 12.0)
        assert got.drains["slot"] == pytest.approx(want, rel=0.06)
        assert codes(got) == []

    def test_a_drain_that_is_too_small(self):
        two = slab(self.rows, name="patio", **AT_WALL)
        trench = TrenchDrain("slot", ((3.0, -2.0), (9.0, -2.0)), width=0.02, depth=0.02)
        got = drain((two,), yard(away), Storm(1e-4, 300.0), trenches=[trench])
        assert codes(got) == ["drain-too-small"]
        assert got.findings[0].values["takes"].si < got.findings[0].values["flow"].si


class TestYard:
    def test_existing_slabs_lie_in_the_raster(self):
        ring = tuple(box(3, -4, 6, 0))
        there = ExistingSlab("old", ring, (*ring, ring[0]), (), (), (0.0, 0.02, 0.1), True, None, ())
        got = yard_of(sheet_of([]), yard(away, existing=(there,)))
        flat = got.at((4.5, -2.0))
        assert got.before.ravel()[flat] == pytest.approx(0.02 * got.place(flat)[1] + 0.1)
        assert got.existing.ravel()[flat] == 0
        assert (got.existing >= 0).sum() * got.cell**2 == pytest.approx(12.0, rel=0.03)

    def test_a_wide_yard_takes_larger_cells(self):
        shots = {f"g{k}": (x, y, 0.0) for k, (x, y) in enumerate(box(0, 0, 200, 150))}
        ground = Ground((), (), (), (), (), (), (), surface_from(shots)[0], 0.1, "loam", "none", None, ())
        got = yard_of(sheet_of([]), ground)
        assert got.before.size <= 401_000
        assert got.cell == pytest.approx((200 * 150 / 400_000) ** 0.5)

    def test_finer_cells_agree(self):
        walk = slab([plane(box(-4, -9, 16, -8), 0, 0.0, 0.0)], name="walk")
        ground = yard(lambda x, y: 0.03 * y - 0.05 - 0.01 * (6 - abs(x - 6)))
        one, two = (drain((walk,), ground, STORM, cell=c).ponds[0] for c in (0.0762, 0.04))
        assert one.volume == pytest.approx(two.volume, rel=0.05)


SAMPLE = {
    "rain": Quantity("rain", 2.8e-5),
    "depth": Quantity("inches", 0.02),
    "volume": Quantity("volume", 0.3),
    "area": Quantity("area", 3.0),
    "before": Quantity("area", 2.0),
    "flow": Quantity("flow", 1e-3),
    "takes": Quantity("flow", 2e-3),
    "slab": "walk",
    "panel": "3",
}
MINE = [
    *["storm-assumed", "yard-not-looked-at", "slab-sheds-to-wall", "slab-pond", "slab-film", "pond-dammed"],
    *["level-panel", "level-channel", "higher-neighbour", "yard-pond-new", "yard-pond-was", "pond-gone"],
    *["wall-gets-more", "wall-gets", "wall-gets-less", "roof-on-slab", "roof-to-wall", "roof-to-pond"],
    "drain-too-small",
]


@pytest.mark.parametrize("lang", ["en", "es"])
@pytest.mark.parametrize("code", MINE)
def test_every_finding_can_be_said(code, lang):
    assert "es" in catalogue("slab")[code]
    text = find("slab", code, **SAMPLE).text(lang=lang)
    assert all((text.what, text.why, text.do, text.source))
    assert "{" not in text.what + text.why + text.do


def test_every_rule_has_a_source():
    table = tomllib.loads(
        files("slabwright").joinpath("slab", "drainage", "drainage.toml").read_text(encoding="utf-8")
    )
    assert set(table) == set(rules())
    for row in table.values():
        assert source(row["source"]).title


def test_a_higher_neighbour_is_told():
    stays = [("dam", "walk", "2", 3.0), ("piece", "walk", "1", 0.01)]
    got = told(STORM, (), (), (), (), (), {}, (), stays)
    assert [(f.code, f.where, f.values["panel"]) for f in got] == [(STAYS["dam"], "walk", "2")]


def test_a_round_edge_and_an_opening_get_their_own_water():
    """A half disc that falls away from its straight side, with a square hole near it."""
    turn = np.linspace(np.pi, 2 * np.pi, 49)
    rim = [(3 * float(np.cos(t)), 3 * float(np.sin(t))) for t in turn]
    hole = box(-0.5, -1.5, 0.5, -0.5)
    left = [(-3.0, 0.0), *[p for p in rim[1:] if p[0] < -0.5], (-0.5, -(8.75**0.5)), (-0.5, 0.0)]
    right = [(-x, y) for x, y in left][::-1]
    above = box(-0.5, -0.5, 0.5, 0.0)
    low = [(-0.5, -(8.75**0.5)), *[p for p in rim if abs(p[0]) < 0.5], (0.5, -(8.75**0.5))]
    below = [*low, (0.5, -1.5), (-0.5, -1.5)]
    made = slab([plane(r, 0, 0.02) for r in (left, right, above, below)], name="fan", holes=[("tree", hole)])
    edges = (
        Edge((-3.0, 0.0), (3.0, 0.0), "free", None, 1.0, (0.0, 0.0), 3.0),
        Edge((3.0, 0.0), (-3.0, 0.0), "wall", "A-B"),
    )
    made = replace(made, outline=replace(made.outline, edges=edges))
    flows = drain((made,), yard(lambda x, y: away(x, y) - 0.3), STORM).edges
    got = {(e.kind, e.against): e.area for e in flows}
    whole = sum(plan_area(r) for r in (left, right, above, below))
    # what falls above the hole, one metre wide, runs into it
    assert got == pytest.approx({("free", None): whole - 0.5, ("opening", "tree"): 0.5})


def plan_area(ring):
    x, y = np.array(ring).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
