"""Planning says nothing on standard output, which is for data: solvers greet unless they are told not to."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"

PLAN = """
import sys
from slabwright.notes.reader import read_notes
from slabwright.plan import make
plan = make(read_notes(sys.argv[1]))
assert plan.built.forms.runs and plan.shaped.slabs
"""


def test_planning_prints_nothing() -> None:
    # A process of its own, so that what the solver's own library writes is seen too.
    for name in ("side-walk", "corner-patio"):
        done = subprocess.run(
            [sys.executable, "-c", PLAN, str(EXAMPLES / name / "job.yaml")],
            capture_output=True,
            text=True,
            check=True,
            timeout=120,
        )
        assert (done.stdout, done.stderr) == ("", "")
