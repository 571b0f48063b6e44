"""Rain on planes: what arrives where, exactly."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.slab.drained import box, plane, slab, terrain

from slabwright.slab.drainage.mesh import sheet_of
from slabwright.slab.drainage.sheet import route
from slabwright.slab.drainage.thread import Ways


def area_of(sheet):
    total = 0.0
    for piece in sheet.pieces:
        x, y = sheet.corners[list(piece.corners), :2].T
        total += float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2
    return total


def all_of(flow):
    return sum(flow.rim.values()) + sum(flow.drains.values()) + sum(flow.stays.values())


def by_side(sheet, flow):
    """Rim areas keyed by the middle of their sides."""
    return {
        tuple(np.round((sheet.corners[p, :2] + sheet.corners[q, :2]) / 2, 6).tolist()): area
        for (p, q), area in flow.rim.items()
    }


class TestClosedForms:
    def test_one_plane_sheds_over_its_low_edge(self):
        sheet = sheet_of([slab([plane(box(0, 0, 4, 3), 0, 0.02)])])
        flow = route(sheet)
        assert by_side(sheet, flow) == pytest.approx({(2.0, 0.0): 12.0})
        assert list(flow.densest.values()) == pytest.approx([3.0])

    def test_a_slanting_fall_splits_at_the_corner(self):
        # toward (2, 1) on a unit square: the line through the far corner parts 3/4 from 1/4
        sheet = sheet_of([slab([plane(box(0, 0, 1, 1), -0.02, -0.01)])])
        assert by_side(sheet, route(sheet)) == pytest.approx({(1.0, 0.5): 0.75, (0.5, 1.0): 0.25})

    def test_a_crown_sheds_both_ways(self):
        sheet = sheet_of([slab([plane(box(0, 0, 2, 5), 0.02, 0), plane(box(2, 0, 5, 5), -0.02, 0, 0.08)])])
        assert by_side(sheet, route(sheet)) == pytest.approx({(0.0, 2.5): 10.0, (5.0, 2.5): 15.0})

    def test_a_valley_runs_to_its_low_end(self):
        left, right = plane(box(0, 0, 2, 5), -0.02, 0.01), plane(box(2, 0, 5, 5), 0.02, 0.01, -0.08)
        sheet = sheet_of([slab([left, right])])
        flow = route(sheet)
        (channel,) = flow.channels.values()
        over_sides = sum(flow.rim.values()) - channel
        # what starts within the triangle over the low side leaves there, the rest by the valley
        assert over_sides == pytest.approx(2 * 1 / 2 + 3 * 1.5 / 2)
        assert channel == pytest.approx(25 - over_sides)
        assert all(at[1] == 0.0 for at in by_side(sheet, flow))

    def test_panels_pass_water_on(self):
        row = [plane(box(k, 0, k + 1, 2), -0.02, 0) for k in range(5)]
        sheet = sheet_of([slab(row)])
        assert by_side(sheet, route(sheet)) == pytest.approx({(5.0, 1.0): 10.0})

    def test_a_level_panel_keeps_its_rain_and_what_arrives(self):
        sheet = sheet_of([slab([plane(box(0, 0, 3, 1), -0.02, 0, 0.06), plane(box(3, 0, 4, 1), 0, 0)])])
        assert route(sheet).stays == pytest.approx({("piece", 1): 4.0})

    def test_a_level_channel_keeps_what_runs_to_it(self):
        sheet = sheet_of([slab([plane(box(0, 0, 2, 5), -0.02, 0), plane(box(2, 0, 4, 5), 0.02, 0, -0.08)])])
        ((end, area),) = route(sheet).stays.items()
        assert end[0] == "side"
        assert area == pytest.approx(20.0)

    def test_a_low_corner_keeps_everything(self):
        sheet = sheet_of([bowl()])
        (low,) = np.flatnonzero(sheet.corners[:, 2] == 0.0)
        assert route(sheet).stays == pytest.approx({("corner", int(low)): 16.0})

    def test_a_drain_along_a_joint(self):
        sheet = sheet_of([slab([plane(box(0, 0, 2, 5), -0.02, 0), plane(box(2, 0, 4, 5), -0.02, 0)])])
        (side,) = [s for s in sheet.beyond if s[0] < s[1]]
        flow = route(sheet, [side])
        assert flow.drains == pytest.approx({side: 10.0})
        assert by_side(sheet, flow) == pytest.approx({(4.0, 2.5): 10.0})

    @pytest.mark.parametrize(("rise", "ends"), [(-0.05, "rim"), (0.0, "rim"), (0.002, "rim"), (0.05, "dam")])
    def test_a_step_lets_water_down_but_not_up(self, rise, ends):
        one = slab([plane(box(0, 0, 2, 5), -0.02, 0)], name="one")
        two = slab([plane(box(2, 0, 4, 5), -0.02, 0, rise)], name="two")
        sheet = sheet_of([one, two])
        flow = route(sheet)
        got = {"rim": sum(flow.rim.values()), "dam": sum(flow.stays.values())}
        assert got == pytest.approx(
            {"rim": 20.0, "dam": 0.0} if ends == "rim" else {"rim": 10.0, "dam": 10.0}
        )


def bowl():
    """Four triangles down to the middle of a square."""
    ring = [(0.0, 0.0, 1.0), (4.0, 0.0, 1.0), (4.0, 4.0, 1.0), (0.0, 4.0, 1.0)]
    return slab([[p, q, (2.0, 2.0, 0.0)] for p, q in zip(ring, ring[1:] + ring[:1], strict=True)])


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.02, 0.1]), st.integers(1, 5), st.integers(1, 5))
def test_no_water_is_lost_or_made(seed, rough, nx, ny):
    sheet = sheet_of([terrain(seed, nx, ny, rough)])
    flow = route(sheet)
    assert all_of(flow) == pytest.approx(nx * ny, rel=1e-9)
    assert ("circle",) not in flow.stays
    assert all(area >= 0 for area in (*flow.rim.values(), *flow.stays.values()))


@pytest.mark.parametrize("seed", range(6))
def test_areas_are_where_drops_go(seed):
    sheet = sheet_of([terrain(seed, rough=0.05)])
    flow, ways = route(sheet), Ways(sheet, ())
    want = {("rim", *side): area for side, area in flow.rim.items()} | flow.stays
    rng, drops = np.random.default_rng(seed), 3000
    got = dict.fromkeys(want, 0.0)
    for _ in range(drops):
        k = int(rng.integers(len(sheet.pieces)))
        ring = sheet.corners[list(sheet.pieces[k].corners), :2]
        thread = ways.from_point(k, *(rng.dirichlet(np.ones(len(ring))) @ ring).tolist())
        got[thread.end] = got.get(thread.end, 0.0) + area_of(sheet) / drops
    # four standard errors of a share found by so many drops
    for end, area in got.items():
        share = want.get(end, 0.0) / 12
        assert area == pytest.approx(
            want.get(end, 0.0), abs=12 * 4 * (share * (1 - share) / drops) ** 0.5 + 0.02
        )


def test_a_drop_never_rises():
    sheet = sheet_of([terrain(11, 5, 5, rough=0.08)])
    ways = Ways(sheet, ())
    for k in range(len(sheet.pieces)):
        x, y = sheet.corners[list(sheet.pieces[k].corners), :2].mean(axis=0).tolist()
        points = ways.from_point(k, x, y).points
        heights = [max(height_at(sheet, *p)) for p in points]
        assert all(b <= a + 1e-9 for a, b in pairwise(heights))


def height_at(sheet, x, y):
    """Heights at a place of all pieces that reach it."""
    found = []
    for k, piece in enumerate(sheet.pieces):
        ring = sheet.corners[list(piece.corners), :2]
        d = np.roll(ring, -1, axis=0) - ring
        if (d[:, 0] * (y - ring[:, 1]) - d[:, 1] * (x - ring[:, 0]) >= -1e-9).all():
            found.append(sheet.height(k, x, y))
    return found


@pytest.mark.parametrize("turn", [0.3, 1.1, 2.5])
def test_turning_the_site_changes_nothing(turn):
    cos, sin = np.cos(turn), np.sin(turn)
    flat = terrain(5)
    nodes = flat.height_plan.nodes
    facets = [[nodes[k] for k in f.nodes] for f in flat.height_plan.facets]
    turned = slab([[(n.x * cos - n.y * sin + 70, n.x * sin + n.y * cos - 9, n.z) for n in f] for f in facets])
    one, two = (route(sheet_of([s])) for s in (flat, turned))
    assert sorted(two.rim.values()) == pytest.approx(sorted(one.rim.values()), rel=1e-6)


class TestMesh:
    def test_corners_on_another_side_are_put_in(self):
        whole = plane(box(0, 0, 4, 2), 0, -0.02)
        halves = [plane(box(0, 2, 1.5, 3), 0, -0.02), plane(box(1.5, 2, 4, 3), 0, -0.02)]
        sheet = sheet_of([slab([whole]), slab(halves)])
        assert len(sheet.pieces[0].corners) == 5
        flow = route(sheet)
        assert sum(flow.rim.values()) == pytest.approx(12.0)
        assert by_side(sheet, flow) == pytest.approx({(0.75, 3.0): 4.5, (2.75, 3.0): 7.5})

    def test_a_twisted_panel_is_cut_along_its_shorter_diagonal(self):
        twisted = [(0, 0, 0), (3, 0, 0), (2, 1, 0.05), (0, 1, 0)]
        sheet = sheet_of([slab([twisted])])
        assert len(sheet.pieces) == 2
        shared = [s for s in sheet.beyond if s[0] < s[1]]
        ends = {tuple(sheet.corners[v, :2]) for v in shared[0]}
        assert ends == {(0.0, 0.0), (2.0, 1.0)}

    def test_a_re_entrant_panel(self):
        ring = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)]
        sheet = sheet_of([slab([plane(ring, 0, 0.02)])])
        assert area_of(sheet) == pytest.approx(5.0)
        assert by_side(sheet, route(sheet)) == pytest.approx({(1.5, 0.0): 5.0})

    def test_rings_that_turn_right_are_turned(self):
        sheet = sheet_of([slab([plane(box(0, 0, 4, 3)[::-1], 0, 0.02)])])
        assert area_of(sheet) == pytest.approx(12.0)

    def test_nothing(self):
        sheet = sheet_of([])
        assert sheet.pieces == ()
        assert all_of(route(sheet)) == 0.0
