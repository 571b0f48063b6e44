"""The room's door: outlines, joints, heights and steel of a whole job, and the heights the joints get."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from slabwright import ground, slab, survey
from slabwright.findings import Level
from slabwright.notes.defaults import specify
from slabwright.notes.reader import read_notes
from slabwright.survey.from_notes import net_of

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))


def shaped(path: Path):
    notes = read_notes(path)
    surveyed = survey.adjust(net_of(notes))
    points = {p.name: (p.x, p.y) for p in surveyed.points.values()}
    heights = {h.name: h.height for h in surveyed.heights.values()}
    there = ground.survey_ground(notes, points, heights)
    return slab.shape(specify(notes), points, heights, there), there


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.parent.name)
def test_the_example_jobs_have_heights_that_keep_their_limits(path):
    job, there = shaped(path)
    for one in job.slabs:
        plan, fall = one.height_plan, one.spec.fall
        assert plan.feasible
        assert not [f for f in plan.findings if f.level is Level.STOP]
        assert plan.across[1] <= fall.across_most + 1e-6
        assert max(map(abs, plan.along)) <= fall.along_most + 1e-6
        met = {m.existing for m in one.spec.meets if m.existing}
        for name in met:
            slab_there = next(e for e in there.existing if e.name == name)
            on = [n for n in plan.nodes if n.fixed == name]
            assert len(on) >= 2
            for n in on:
                assert n.z == pytest.approx(slab_there.height_on_edge(n.x, n.y), abs=0.125 * 0.0254 + 1e-6)
        panels = {p.name for p in one.joint_plan.panels}
        assert {f.panel for f in plan.facets} == panels


def test_the_door_loads_no_numerics_until_it_is_used():
    code = (
        "import sys, slabwright.slab; "
        "bad = [m for m in ('highspy', 'scipy', 'shapely') if m in sys.modules]; assert not bad, bad"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_solver_says_nothing_on_standard_output():
    code = (
        "from slabwright.slab.heights.solver import Session\n"
        "from slabwright.slab.heights.rows import Builder\n"
        "import numpy as np\n"
        "b = Builder(1); b.wish(np.array([[0]]), np.ones((1, 1)), 2.0, 1.0, 1.0)\n"
        "assert abs(Session(b.done()).solve().z[0] - 2.0) < 1e-9\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout == ""
