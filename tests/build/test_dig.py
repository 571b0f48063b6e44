"""Dig: closed forms, agreement with the ground's own volumes, the strip beside forms, findings."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slabwright.build.dig import plan_dig
from slabwright.build.dig_findings import depths_beside
from slabwright.build.earth import lifts_for, loads, soil_factor
from slabwright.build.strips import form_strips
from slabwright.build.tables import TABLES, rule, source_keys, table
from slabwright.build.top import plane_through, top_facets
from slabwright.ground.model import ExistingSlab
from slabwright.ground.prisms import overlay
from slabwright.ground.shots import surface_from
from slabwright.ground.volume import volumes_between
from slabwright.measure import System
from slabwright.slab.model import Facet, Hole, Panel
from slabwright.sources import all_sources

FT, IN = 0.3048, 0.0254
WIDE = 6 * IN  # the over-dig


def covered(slab, cuts=()):
    """The slab with one facet, or with panels cut at these x [m] (a rectangle from its first corner)."""
    plan, outline = slab.height_plan, slab.outline
    if not cuts:
        facet = Facet(tuple(range(len(plan.nodes))), "1")
        return replace(slab, height_plan=replace(plan, facets=(facet,)))
    (x0, y0), (x1, y1) = outline.ring[0], outline.ring[2]
    z = plane_through(np.array([(n.x, n.y, n.z) for n in plan.nodes]))[0]
    stops = [x0, *cuts, x1]
    nodes, facets, panels = [], [], []
    for k, (a, b) in enumerate(pairwise(stops)):
        ring = ((a, y0), (b, y0), (b, y1), (a, y1))
        facets.append(Facet(tuple(range(4 * k, 4 * k + 4)), str(k + 1)))
        nodes += [
            replace(plan.nodes[0], label=f"{k}.{i}", x=x, y=y, z=z[0] * x + z[1] * y + z[2])
            for i, (x, y) in enumerate(ring)
        ]
        panels.append(Panel(str(k + 1), ring, (b - a) * (y1 - y0), b - a, y1 - y0))
    return replace(
        slab,
        height_plan=replace(plan, nodes=tuple(nodes), facets=tuple(facets)),
        joint_plan=replace(slab.joint_plan, panels=tuple(panels)),
    )


def codes(dig):
    return [f.code for f in dig.findings]


class TestClosedForms:
    def test_level_slab_on_level_ground(self, make):
        """Ground 2 in above a 3 1/2 in slab on 4 in of base: dug 9 1/2 in, 6 in wider all round."""
        slab = covered(make.walk(length=32 * FT, width=3 * FT))
        dig = plan_dig(make.job(slab), make.ground(height=2 * IN, organic=2 * IN))
        deep = 9.5 * IN
        own, whole = 32 * FT * 3 * FT, (32 * FT + 2 * WIDE) * (3 * FT + 2 * WIDE)
        (line,) = dig.lines
        assert line.area == pytest.approx(own, rel=1e-12)
        assert line.cut == pytest.approx(whole * deep, rel=1e-12)
        assert dig.over_dig == pytest.approx((whole - own) * deep, rel=1e-12)
        assert dig.organic_volume == pytest.approx(whole * 2 * IN, rel=1e-12)
        assert dig.base_volume == pytest.approx(whole * 4 * IN, rel=1e-12)
        assert dig.fill == pytest.approx(0.0, abs=1e-12)
        assert line.depth_least == pytest.approx(deep)
        assert line.depth_most == pytest.approx(deep)
        assert [d for _, _, d in dig.node_depths] == pytest.approx([deep] * 4)

    def test_what_leaves_and_what_comes(self, make):
        slab = covered(make.walk(length=32 * FT, width=3 * FT))
        dig = plan_dig(make.job(slab), make.ground(height=2 * IN, organic=2 * IN, soil="clay"))
        strip = dig.over_dig / (9.5 * IN)
        # beside the forms the topsoil goes back from the base's top up to the ground: 5 1/2 in
        assert dig.backfill == pytest.approx(min(strip * 5.5 * IN, dig.organic_volume))
        assert dig.spoil_loose == pytest.approx((dig.cut - dig.backfill) * 1.43)
        assert dig.base_mass == pytest.approx(dig.base_volume * 3700 * 0.45359237 / 0.9144**3)
        assert dig.base_loose == pytest.approx(dig.base_volume * 3700 / 2950)
        assert dig.spoil_loads == math.ceil(dig.spoil_loose / dig.truck)

    def test_low_ground_is_stripped_then_filled(self, make):
        """Ground 12 in below the top: the strip comes out, and base stone fills 12 + 2 - 7.5 in."""
        slab = covered(make.walk(length=10 * FT, width=3 * FT))
        dig = plan_dig(make.job(slab), make.ground(height=-12 * IN, organic=2 * IN))
        whole = (10 * FT + 2 * WIDE) * (3 * FT + 2 * WIDE)
        assert dig.cut == pytest.approx(whole * 2 * IN)
        assert dig.fill == pytest.approx(whole * 6.5 * IN)
        assert dig.base_loose == pytest.approx((dig.fill + dig.base_volume) * 3700 / 2950)
        assert {"dig-fill", "dig-organic-under-fill"} <= set(codes(dig))
        fill = next(f for f in dig.findings if f.code == "dig-fill")
        assert fill.values["depth"].si == pytest.approx(6.5 * IN)
        assert dig.backfill == 0.0

    def test_half_in_half_out(self, make):
        """Ground that crosses the floor midway: cut and fill are equal wedges, none cancels."""
        slab = covered(make.walk(length=10.0, width=2.0, base=0.0, thickness=0.1))
        slope = surface_from(
            {
                n: (x, y, -0.1 + (x - 5) * 0.02)
                for n, x, y in [("a", -9, -9), ("b", 19, -9), ("c", 19, 9), ("d", -9, 9)]
            }
        )[0]
        ground = make.ground(organic=0.0, surface=slope)
        dig = plan_dig(make.job(slab), ground)
        inner = dig.cut - dig.over_dig
        assert inner == pytest.approx(0.5 * 5 * 0.1 * 2)
        assert dig.lines[0].depth_least == 0.0
        assert dig.lines[0].depth_most == pytest.approx(0.1)

    def test_not_shot(self, make):
        assert plan_dig(make.job(covered(make.walk())), make.ground(height=None)) is None

    def test_lines_add_up(self, make):
        slab = covered(make.walk(length=12.0), cuts=(3.0, 7.0))
        dig = plan_dig(make.job(slab), make.ground(height=0.03))
        assert [line.panel for line in dig.lines] == ["1", "2", "3"]
        for name in ("cut", "fill", "base_volume", "organic_volume", "over_dig"):
            assert getattr(dig, name) == pytest.approx(sum(getattr(line, name) for line in dig.lines))
        whole = (12.0 + 2 * WIDE) * (3 * FT + 2 * WIDE)
        assert dig.organic_volume == pytest.approx(whole * 0.1)

    def test_metric_over_dig(self, make):
        slab = covered(make.walk(length=4.0, width=1.0))
        dig = plan_dig(make.job(slab), make.ground(organic=0.1), system=System.METRIC)
        assert dig.organic_volume == pytest.approx(4.3 * 1.3 * 0.1)


def rough(seed, side=12.0, shots=14):
    rng = np.random.default_rng(seed)
    places = [(-2.0, -2.0), (side, -2.0), (side, side), (-2.0, side), *rng.uniform(0, side, (shots, 2))]
    return surface_from({f"G{k}": (*xy, float(rng.normal(0, 0.1))) for k, xy in enumerate(places)})[0]


FIXTURE = [HealthCheck.function_scoped_fixture]  # `make` holds no state


class TestIdentities:
    @settings(max_examples=15, deadline=None, suppress_health_check=FIXTURE)
    @given(st.integers(0, 10**6), st.floats(0, 0.2), st.floats(-0.3, 0.3))
    def test_nothing_is_lost(self, make, seed, organic, up):
        """Dug less filled is the ground less the floor, whatever was stripped; and the datum is free."""
        surface = rough(seed)
        slab = covered(make.walk(length=6.0, width=2.0, height=lambda x, y: up + 0.02 * x))
        dig = plan_dig(make.job(slab), make.ground(surface=surface, organic=organic))
        bare = plan_dig(make.job(slab), make.ground(surface=surface, organic=0.0))
        assert dig.cut - dig.fill == pytest.approx(bare.cut - bare.fill, abs=1e-9)
        assert dig.cut >= dig.organic_volume - 1e-12
        assert dig.lines[0].depth_least >= organic
        assert bare.cut <= dig.cut + 1e-12
        shifted = surface.points + np.array([0.0, 0.0, 3.0])
        high = covered(make.walk(length=6.0, width=2.0, height=lambda x, y: up + 3.0 + 0.02 * x))
        same = plan_dig(
            make.job(high), make.ground(surface=replace(surface, points=shifted), organic=organic)
        )
        assert same.cut == pytest.approx(dig.cut, abs=1e-9)
        assert same.fill == pytest.approx(dig.fill, abs=1e-9)

    @settings(max_examples=10, deadline=None, suppress_health_check=FIXTURE)
    @given(st.integers(0, 10**6), st.floats(0.001, 0.1))
    def test_a_higher_slab_digs_less_and_fills_more(self, make, seed, up):
        surface = rough(seed)
        ground = make.ground(surface=surface, organic=0.05)
        low, high = (
            plan_dig(make.job(covered(make.walk(length=6.0, width=2.0, height=lambda x, y, z=z: z))), ground)
            for z in (0.0, up)
        )
        assert high.cut <= low.cut + 1e-12
        assert high.fill >= low.fill - 1e-12
        net = (low.cut - low.fill) - (high.cut - high.fill)
        assert net == pytest.approx(up * (6.0 + 2 * WIDE) * (2.0 + 2 * WIDE), rel=1e-9)

    def test_moved_and_turned_the_same_dig(self, make):
        """Far from the origin and turned, the same volumes."""
        surface, turn = rough(4), 0.7
        c, s = math.cos(turn), math.sin(turn)
        back = np.array([[c, s], [-s, c]])
        corners = np.array([(0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (0.0, 2.0)])

        def at(xy):
            return np.asarray(xy) @ back + (300.0, -200.0)

        here = plan_dig(
            make.job(covered(make.slab([tuple(p) for p in corners]))), make.ground(surface=surface)
        )
        points = np.column_stack([at(surface.points[:, :2]), surface.points[:, 2]])
        moved = replace(surface, points=points, hull=tuple(tuple(p) for p in at(surface.hull)))
        there = plan_dig(
            make.job(covered(make.slab([tuple(p) for p in at(corners)]))), make.ground(surface=moved)
        )
        assert there.cut == pytest.approx(here.cut, rel=1e-9)
        assert there.over_dig == pytest.approx(here.over_dig, rel=1e-9)


class TestOverlay:
    @settings(max_examples=25, deadline=None)
    @given(st.integers(0, 10**6), st.floats(0.02, 0.4))
    def test_as_the_ground_room_has_it(self, seed, offset):
        """Another way to the same volumes: one ring at a time, by the ground room."""
        rng = np.random.default_rng(seed)
        shots = {f"G{k}": (*xy, rng.normal(0, 0.15)) for k, xy in enumerate(rng.uniform(0, 9, (14, 2)))}
        surface, _ = surface_from(shots)
        centre, turn = rng.uniform(1, 9, 2), rng.uniform(0, np.pi)
        c, s = np.cos(turn), np.sin(turn)
        pieces = []
        for owner in range(3):
            box = np.array([(2 * owner, 0), (2 * owner + 2, 0), (2 * owner + 2, 1.5), (2 * owner, 1.5)])
            ring = [tuple(p) for p in (box - (3, 1)) @ np.array([(c, s), (-s, c)]) + centre]
            pieces.append((owner, ring, tuple(rng.normal(0, 0.03, 3))))
        cells = overlay(pieces, surface)
        cut, fill = cells.volumes(3, np.full(3, offset))
        low, high = cells.spread(3)
        for owner, ring, plane in pieces:
            want = volumes_between(None, [(ring, plane)], surface, offset)
            assert cut[owner] == pytest.approx(want.cut, abs=1e-9)
            assert fill[owner] == pytest.approx(want.fill, abs=1e-9)
            assert low[owner] + offset == pytest.approx(want.depth_min, abs=1e-6)
            assert high[owner] + offset == pytest.approx(want.depth_max, abs=1e-6)
        assert cells.areas(3) == pytest.approx([3.0] * 3, rel=1e-9)

    def test_nothing_to_lay(self, make):
        cells = overlay([], make.ground().surface)
        assert cells.volumes(2, np.zeros(2))[0].tolist() == [0.0, 0.0]
        assert np.isnan(cells.spread(1)[0]).all()

    def test_many_triangles_take_the_tree(self):
        """The search by boxes and the search by tree find the same cells."""
        rng = np.random.default_rng(3)
        xy = np.array(
            [(i + 0.3 * rng.random(), j + 0.3 * rng.random()) for i in range(20) for j in range(20)]
        )
        surface, _ = surface_from({f"G{k}": (*p, rng.normal(0, 0.1)) for k, p in enumerate(xy)})
        pieces = [
            (k, [(i, j), (i + 0.9, j), (i + 0.9, j + 0.9), (i, j + 0.9)], (0.0, 0.0, 0.05))
            for k, (i, j) in enumerate((i, j) for i in range(2, 18) for j in range(2, 10))
        ]
        assert len(pieces) * 2 * len(surface.triangles) > 60_000
        cut, fill = overlay(pieces, surface).volumes(len(pieces), np.zeros(len(pieces)))
        want = volumes_between(None, [(ring, plane) for _, ring, plane in pieces], surface, 0.0)
        assert cut.sum() == pytest.approx(want.cut, abs=1e-9)
        assert fill.sum() == pytest.approx(want.fill, abs=1e-9)


class TestTop:
    def test_ruled_facet_keeps_its_volume(self, make):
        """A parallelogram with one corner up 4 cm holds a quarter of 4 cm on its area."""
        slab = covered(make.walk(length=4.0, width=2.0, base=0.0, thickness=0.1))
        nodes = list(slab.height_plan.nodes)
        nodes[2] = replace(nodes[2], z=0.04)
        slab = replace(slab, height_plan=replace(slab.height_plan, nodes=tuple(nodes)))
        facets = top_facets(slab)
        assert len(facets) == 4
        deep = plan_dig(make.job(slab), make.ground(height=1.0, organic=0.0))
        assert deep.cut - deep.over_dig == pytest.approx(8.0 * (1.1 - 0.01))

    def test_opening_is_not_dug(self, make):
        hole = Hole("post", "post", ((1.0, 0.3), (1.0, 0.7), (1.4, 0.7), (1.4, 0.3)), None)
        slab = covered(make.walk(length=4.0, width=1.0, holes=(hole,)))
        line = plan_dig(make.job(slab), make.ground(height=0.0)).lines[0]
        assert line.area == pytest.approx(4.0 - 0.16)
        assert line.cut - line.over_dig == pytest.approx(3.84 * 7.5 * IN)

    def test_facet_without_area_is_dropped(self, make):
        slab = covered(make.walk())
        flat = Facet((0, 1, 0), "1")
        plan = replace(slab.height_plan, facets=(*slab.height_plan.facets, flat))
        assert len(top_facets(replace(slab, height_plan=plan))) == 1

    def test_a_ring_that_is_no_plane_is_cut_between_its_corners(self, make):
        corners = [(0.0, 0.0), (2.0, 0.0), (3.0, 1.0), (2.0, 2.0), (0.0, 2.0)]
        slab = covered(make.slab(corners, height=lambda x, y: 0.05 * x * y))
        facets = top_facets(slab)
        assert len(facets) == 3
        assert sum(shapely.Polygon(f.ring).area for f in facets) == pytest.approx(5.0)


class TestStrips:
    def strips(self, slab, **kw):
        return form_strips(slab, top_facets(slab), WIDE, **kw)

    def ground_plan(self, strips):
        shapes = [shapely.Polygon(s.ring) for s in strips]
        whole = shapely.union_all(shapes)
        assert sum(s.area for s in shapes) == pytest.approx(whole.area, abs=1e-9)  # no overlap
        return whole

    @pytest.mark.parametrize(
        "corners",
        [
            [(0, 0), (4, 0), (4, 3), (0, 3)],
            [(0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5)],
            [(0, 0), (3, -1), (5, 2), (1, 4)],
        ],
    )
    def test_like_a_mitred_offset(self, make, corners):
        slab = covered(make.slab([(float(x), float(y)) for x, y in corners]))
        whole = self.ground_plan(self.strips(slab))
        shape = shapely.Polygon(corners)
        want = shape.buffer(WIDE, join_style="mitre", mitre_limit=5).difference(shape)
        assert whole.symmetric_difference(want).area == pytest.approx(0.0, abs=1e-9)

    @settings(max_examples=25, deadline=None, suppress_health_check=FIXTURE)
    @given(st.integers(0, 10**6), st.integers(3, 9))
    def test_any_outline(self, make, seed, count):
        """Random star-shaped rings, 2 to 6 m: no overlap, all outside, about width times length."""
        rng = np.random.default_rng(seed)
        angle = np.sort(rng.uniform(0, 2 * np.pi, count))
        reach = rng.uniform(2, 6, count)
        corners = [(float(r * np.cos(a)), float(r * np.sin(a))) for r, a in zip(reach, angle, strict=True)]
        shape = shapely.Polygon(corners)
        if not shape.is_valid or shape.area < 1.0 or not shape.exterior.is_ccw:
            return
        strips = self.strips(covered(make.slab(corners)))
        shapes = [shapely.Polygon(s.ring) for s in strips]
        whole = shapely.union_all(shapes)
        widest = shape.buffer(2 * WIDE * 1.001, join_style="mitre")
        assert whole.difference(widest).area == pytest.approx(0.0, abs=1e-9)
        # at a notch sharper than the mitre is long, a strip may reach under the slab or over its neighbour
        notch = sum(s.area for s in shapes) - whole.area + whole.intersection(shape).area
        assert notch <= 0.02 * whole.area + 4 * WIDE**2

    def test_ends_square_at_a_wall(self, make):
        slab = covered(make.walk(length=4.0, width=1.0, kinds=["free", "free", "wall", "free"]))
        whole = self.ground_plan(self.strips(slab))
        assert whole.area == pytest.approx(WIDE * (4 + 2 * WIDE) + 2 * WIDE * 1.0)
        assert whole.bounds[3] == pytest.approx(1.0)

    def test_no_forms_no_strip(self, make):
        slab = covered(make.walk(kinds=["wall", "existing", "wall", "existing"]))
        assert self.strips(slab) == ()
        assert form_strips(slab, top_facets(slab), 0.0) == ()

    def test_not_under_the_house(self, make):
        slab = covered(make.walk(length=4.0, width=1.0))
        house = [(-1.0, 1.0 + WIDE / 3), (5.0, 1.0 + WIDE / 3), (5.0, 9.0), (-1.0, 9.0)]
        free, beside = self.strips(slab), self.strips(slab, taken=[house])
        gone = self.ground_plan(free).area - self.ground_plan(beside).area
        assert gone == pytest.approx((4.0 + 2 * WIDE) * WIDE * 2 / 3)

    def test_floor_follows_the_form(self, make):
        """Along a walk that falls 2 %, the strip's top is the form's top wherever it is asked."""
        slab = covered(make.walk(length=10.0, width=1.0, height=lambda x, y: 0.02 * x + 0.01 * y))
        low = next(s for s in self.strips(slab) if min(y for _, y in s.ring) < -0.1 and len(s.ring) == 4)
        a, b, c = low.plane
        assert a == pytest.approx(0.02)
        assert b == pytest.approx(0.0, abs=1e-12)
        assert a * 5 + b * -0.1 + c == pytest.approx(0.1)

    def test_round_edge(self, make):
        """A half-round end of 2 m radius: the strip is a half ring, to the chord error of its points."""
        n = 60
        arc = [(2 * math.sin(math.pi * k / n), -2 * math.cos(math.pi * k / n)) for k in range(n + 1)]
        slab = covered(make.slab(arc))
        whole = self.ground_plan(self.strips(slab))
        rounded = math.pi * ((2 + WIDE) ** 2 - 4) / 2
        straight = WIDE * 4 + WIDE**2 * 2
        assert whole.area == pytest.approx(rounded + straight, rel=0.002)


class TestFindings:
    def test_slab_in_a_hole(self, make):
        slab = covered(make.walk())
        assert "dig-sunk-slab" in codes(plan_dig(make.job(slab), make.ground(height=0.1)))
        assert "dig-sunk-slab" not in codes(plan_dig(make.job(slab), make.ground(height=0.01)))

    def test_beyond_the_shots(self, make):
        slab = covered(make.walk(length=60.0))
        dig = plan_dig(make.job(slab), make.ground())
        beyond = next(f for f in dig.findings if f.code == "beyond-shots")
        assert beyond.values["far"].si == pytest.approx(10.0)
        assert "reaches" in beyond.text().what

    def test_no_organic(self, make):
        slab = covered(make.walk())
        assert "dig-no-organic" in codes(plan_dig(make.job(slab), make.ground(organic=0.0)))
        assert "dig-no-organic" not in codes(plan_dig(make.job(slab), make.ground()))

    def test_beside_an_existing_slab(self, make):
        slab = covered(make.walk(length=5.0, width=1.0, kinds=["free", "free", "free", "existing"]))
        there = ExistingSlab(
            "old patio", (), ((0.0, -2.0), (0.0, 3.0)), ("Q1", "Q2"), (0.0, 0.0), None, True, None, ()
        )
        dig = plan_dig(make.job(slab), make.ground(existing=(there,)))
        note = next(f for f in dig.findings if f.code == "dig-beside")
        assert note.values["least"].si == pytest.approx(7.5 * IN)
        assert "old patio" in note.text().what
        level = plan_dig(make.job(slab), make.ground(existing=(replace(there, heights=(0.0, 0.02)),)))
        varies = next(f for f in level.findings if f.code == "dig-beside-varies")
        assert varies.values["most"].si > varies.values["least"].si
        away = replace(there, edge=((-3.0, -2.0), (-3.0, 3.0)))
        assert len(depths_beside(slab, away)) == 0

    def test_what_the_dig_takes(self, make):
        job = make.job(covered(make.walk()))
        dig = plan_dig(job, make.ground(soil="clay"))
        note = next(f for f in dig.findings if f.code == "dig-work")
        assert (note.values["least"].si, note.values["most"].si) == dig.hand_time
        assert note.values["loads"] == dig.spoil_loads
        assert "h" in note.text().what
        rock = codes(plan_dig(job, make.ground(soil="rock")))
        assert "dig-rock" in rock
        assert "dig-work" not in rock

    def test_heights_not_settled(self, make):
        slab = covered(make.walk())
        lost = replace(slab, height_plan=replace(slab.height_plan, facets=()))
        nodes = (replace(slab.height_plan.nodes[0], z=math.nan), *slab.height_plan.nodes[1:])
        for bad in (lost, replace(slab, height_plan=replace(slab.height_plan, nodes=nodes))):
            dig = plan_dig(make.job(bad, covered(make.walk(name="other"))), make.ground())
            assert [f.code for f in dig.findings].count("dig-no-heights") == 1
            assert math.isfinite(dig.cut)
            assert dig.lines[0].cut == 0.0


class TestRules:
    def test_every_source_is_known(self):
        for name in TABLES:
            assert source_keys(name) <= set(all_sources()), name

    def test_lifts(self):
        """4 in of base is 5 in loose, one layer; 8 in is 10 in loose, two."""
        assert [lifts_for(t * IN) for t in (0, 4, 4.78, 4.79, 8, 10)] == [1, 1, 1, 2, 2, 3]

    def test_loads(self):
        assert [loads(v, 5.0) for v in (0.0, 4.99, 5.0, 5.01)] == [0, 1, 1, 2]

    def test_rock_is_not_dug_by_hand(self, make):
        slab = covered(make.walk())
        assert plan_dig(make.job(slab), make.ground(soil="rock")).hand_time is None
        fast, slow = plan_dig(make.job(slab), make.ground(soil="clay")).hand_time
        assert slow == pytest.approx(1.5 * fast)

    def test_soil_factor_names(self):
        assert soil_factor("sand", "bank_loose") == 1.11
        with pytest.raises(KeyError):
            soil_factor("peat", "bank_loose")

    def test_metric_rule_falls_back(self):
        assert rule("earth", "lift", System.METRIC) == pytest.approx(0.15)
        assert rule("earth", "base_density", System.METRIC) == rule("earth", "base_density")
        assert table("earth")["rules"]["lift"]["source"] == "city-lifts"
