"""Time to read and write one value, beside pint reading a plain quantity, in one run.

    python bench/bench_measure.py

pint reads no feet, inches and fractions, so it is given the plain quantity ('186.5 inch') that stands
for the same length; ours reads what the tape says. Nothing is cached on our side; pint keeps its own
caches, so it is timed on texts that it has seen and on texts that it has not. Also told: the time to
bring the room in, beyond that of the standard library's parts that it uses, with compiled files warm.
"""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from slabwright.measure import Quantity, System, read, write

TEXTS = [
    ("length", "15' 6 1/2\""),
    ("length", "42' 0 1/4"),
    ("length", "12.45 ft"),
    ("length", "4724 mm"),
    ("length", "6⅝ in"),
    ("slope", "3/4 in per 3'"),
    ("slope", "1:48"),
    ("volume", "4 1/4 yd3"),
    ("temperature", "82 F"),
    ("duration", "1 h 30 min"),
    ("clock", "7:00 am"),
]
START = "import sys, time, dataclasses, enum, fractions, re; t = time.perf_counter(); "


def micro(job: Callable[[], object], rounds: int = 7, number: int = 4000) -> float:
    """Return the least time of one call [us]."""
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        for _ in itertools.repeat(None, number):
            job()
        best = min(best, time.perf_counter() - start)
    return best / number * 1e6


def import_ms() -> float:
    """Return the time to import the room in a new process, standard library already there [ms]."""
    code = START + "import slabwright.measure; print((time.perf_counter() - t) * 1e3)"
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {
            "PYTHONPYCACHEPREFIX": folder,
            "PYTHONDONTWRITEBYTECODE": "",
            "PYTHONPATH": str(Path(__file__).parents[1] / "src"),
        }
        runs = [
            float(
                subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, check=True).stdout
            )
            for _ in range(8)
        ]
    return min(runs[1:])


def main() -> None:
    """Print the table."""
    import pint

    registry = pint.UnitRegistry()
    registry.Quantity("186.5 inch")
    fresh = (f"186.{n} inch" for n in itertools.count(1))
    seen = micro(lambda: registry.Quantity("186.5 inch").to("m"), rounds=3, number=300)
    unseen = micro(lambda: registry.Quantity(next(fresh)).to("m"), rounds=3, number=300)
    print(f"{'pint, 186.5 inch':<28}{seen:9.2f} us   (texts not seen before: {unseen:.2f} us)")
    print(f"{'read':<28}{'us':>9}{'pint / ours':>14}")
    for kind, text in TEXTS:
        ours = micro(lambda kind=kind, text=text: read(kind, text))
        print(f"{text:<28}{ours:9.2f}{seen / ours:13.0f}x")
    print(f"{'write':<28}{'us':>9}")
    for kind, text in TEXTS:
        quantity = Quantity(kind, read(kind, text))
        for system in System:
            ours = micro(lambda q=quantity, s=system: write(q, system=s))
            print(f"{write(quantity, system=system):<28}{ours:9.2f}")
    print(f"import of the room beyond the standard library's parts: {import_ms():.1f} ms (aim: under 10 ms)")


if __name__ == "__main__":
    main()
