"""The whole program: its start beside a bare Python, the demo job cold and warm, and its memory.

The floor of a cold plan is the time that Python needs to import the libraries which the plan cannot do
without (numpy, shapely, the LP solver, the page setter); it is measured in the same run.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
JOB = HERE.parent / "examples" / "side-walk" / "job.yaml"
PATIO = HERE.parent / "examples" / "corner-patio" / "job.yaml"
SLABWRIGHT = Path(sys.executable).with_name("slabwright")
LIBRARIES = "import numpy, shapely, highspy, pydantic, ruamel.yaml, typst, ezdxf, openpyxl, fontTools.ttLib"


def wall(command: list[str], rounds: int = 15) -> float:
    """Return the median wall time of a command [s]."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def warm(job: Path, width: str) -> tuple[float, float, float]:
    """Return median times [s]: to read the job after an edit of `width`, to plan it, to plan it once more.

    Nothing is remembered of the first plan; of the second the joints and the cutting are, as after an edit
    that leaves the shape alone.
    """
    from slabwright.notes import parse_notes
    from slabwright.plan import make
    from slabwright.solving import forget

    text = job.read_text(encoding="utf-8")
    assert width in text
    make(parse_notes(text))
    spent: list[tuple[float, float, float]] = []
    for n in range(1, 16):
        edited = text.replace(width, f"{width} {n}/64")
        forget()
        times = [time.perf_counter()]
        notes = parse_notes(edited)
        times.append(time.perf_counter())
        make(notes, mapped=False)
        times.append(time.perf_counter())
        make(notes, mapped=False)
        times.append(time.perf_counter())
        spent.append((times[1] - times[0], times[2] - times[1], times[3] - times[2]))
    read, anew, again = (statistics.median(column) for column in zip(*spent, strict=True))
    return read, anew, again


def main() -> None:
    """Measure and print."""
    bare = wall([sys.executable, "-c", "pass"])
    helped = wall([str(SLABWRIGHT), "--help"])
    print(f"python -c pass                    {bare * 1e3:8.1f} ms")
    print(
        f"slabwright --help                 {helped * 1e3:8.1f} ms   {helped / bare:4.1f} x (aim: at most 6)"
    )
    with tempfile.TemporaryDirectory() as folder:
        floor = wall([sys.executable, "-c", LIBRARIES], 7)
        cold = wall([str(SLABWRIGHT), "plan", str(JOB), "--out", folder, "--quiet"], 7)
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    print(f"importing the libraries alone     {floor * 1e3:8.1f} ms   (floor of a cold plan)")
    print(f"slabwright plan, packet included  {cold * 1e3:8.1f} ms   {cold / floor:4.1f} x that (aim: 2.0 s)")
    print(f"largest process of these          {peak:8.1f} MB   (aim: under 300)")
    for job, width in ((JOB, "width: 3'"), (PATIO, "P1-P6: 20'")):
        read, anew, again = warm(job, width)
        print(f"{job.parent.name}: an edit read         {read * 1e3:8.1f} ms")
        print(f"  planned, all of it new          {anew * 1e3:8.1f} ms   (aim: under 30, without sheets)")
        print(f"  planned, its shape as it was    {again * 1e3:8.1f} ms")


if __name__ == "__main__":
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    main()
