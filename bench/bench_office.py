"""The office on loopback: an edit to its new plan, one person and twenty at once; a list of 1,000 jobs.

A load program of threads sends real edits of the demo job through the real server (three workers, SQLite
with every commit on disk) and waits for the whole answer, which holds the new plan's picture, findings and
tables. Beside it the same edit without a server or a database: its notes read and planned anew.
"""

from __future__ import annotations

import os
import random
import shutil
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from tests.kit import ready  # noqa: E402

ready.django_ready()

from tests.kit.databases import record, turned_to  # noqa: E402
from tests.kit.serving import Kind  # noqa: E402
from tests.kit.visitor import Visitor, session_of  # noqa: E402

DEMO = ROOT / "examples" / "side-walk" / "job.yaml"
PEOPLE, EDITS, JOBS = 20, 12, 1_000


def width(n: int) -> str:
    """Return the n-th width: each edit must be planned, none has been planned before."""
    return f"3' {n // 64 % 8} {n % 64}/64 in" if n % 64 else f"3' {n // 64 % 8} in"


def tell(what: str, seconds: list[float], goal: float) -> None:
    """Print median and 95th percentile [ms] beside the goal."""
    line = sorted(seconds)
    p95 = line[min(len(line) - 1, round(0.95 * len(line)))]
    median = statistics.median(line)
    print(f"{what:58} median {1e3 * median:6.0f} ms   p95 {1e3 * p95:6.0f} ms   goal {goal:g} ms")


def edited(one: Visitor, code: str, numbers: range, pause: float, spent: list[float]) -> None:
    """Make edits one after another; note the seconds to each whole answer."""
    rng = random.Random(numbers.start)
    time.sleep(rng.uniform(0.0, pause))  # people do not press all at the same moment
    for n in numbers:
        sent = {"edits": [{"kind": "set", "path": ["slabs", 0, "width"], "value": width(n)}], "base": 10**6}
        begun = time.perf_counter()
        status, body = one.ask("POST", f"/jobs/{code}/change/", sent)
        spent.append(time.perf_counter() - begun)
        if status != 200:
            sys.exit(f"an edit was refused: {status} {body[:300]!r}")
        time.sleep(rng.uniform(0.5, 1.5) * pause)


def at_once(office, session: str, codes: list[str], first: int, pause: float) -> list[float]:
    """Let everybody edit a job of their own at once; the seconds of every edit."""
    spent: list[float] = []
    people = [Visitor(office, session) for _ in codes]
    threads = [
        threading.Thread(
            target=edited, args=(one, code, range(first + k * EDITS, first + (k + 1) * EDITS), pause, spent)
        )
        for k, (one, code) in enumerate(zip(people, codes, strict=True))
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for one in people:
        one.close()
    return spent


def bare(text: str) -> float:
    """Return the best seconds of reading and planning the demo job anew, without server and database."""
    from slabwright.notes import Set, update
    from slabwright.office.planning import planned

    best = 9.0
    for n in range(12):
        new = update(text, [Set(("slabs", 0, "width"), f"4' {n} 1/2")])
        begun = time.perf_counter()
        planned(new, "bare")
        best = min(best, time.perf_counter() - begun)
    return best


def main() -> None:
    """Measure and print."""
    folder = Path(tempfile.mkdtemp(prefix="slabwright-bench-"))
    office = Kind(None, folder).new(workers=3)
    text = DEMO.read_text(encoding="utf-8")
    print(f"load of the machine before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"bound: notes read and planned anew, no server: {1e3 * bare(text):.0f} ms")
    try:
        with turned_to(record(str(office.home / "office.sqlite3"))):
            from slabwright.office.actions import jobs
            from slabwright.office.models import Job, Person

            person = Person.objects.create_user("l@example.test", "wet grass at six", name="L", role="owner")
            mine = [jobs.bring_in(person=person, text=text) for _ in range(PEOPLE)]
            Job.objects.bulk_create(
                Job(title=f"Lot {n}", customer=f"Customer {n % 97}", text=text, plans=True, good=1)
                for n in range(JOBS - PEOPLE)
            )
            session = session_of(person)
            office.start()
            codes = [job.code for job in mine]
            at_once(office, session, codes, 0, 0.0)  # every worker warm
            one = Visitor(office, session)
            alone: list[float] = []
            edited(one, codes[0], range(300, 400), 0.0, alone)
            tell("an edit to its new plan, one person", alone, 300)
            tell(f"{PEOPLE} people at once, no pause", at_once(office, session, codes, 400, 0.0), 800)
            tell(
                f"{PEOPLE} people at once, about 2 s between edits",
                at_once(office, session, codes, 700, 2.0),
                800,
            )
            for path, what, goal in (
                ("/", f"the list, {JOBS:,} jobs kept", 150),
                ("/health/", "floor: health", 0),
            ):
                seen = []
                for _ in range(40):
                    begun = time.perf_counter()
                    status, _ = one.ask("GET", path)
                    seen.append(time.perf_counter() - begun)
                    if status != 200:
                        sys.exit(f"{path}: {status}")
                tell(what, seen, goal)
            one.close()
    finally:
        office.stop()
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
