"""Editors at work while the office's processes are killed at random moments; then: is anything lost?"""

from __future__ import annotations

import http.client
import itertools
import os
import random
import signal
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.kit.serving import Office
from tests.kit.visitor import Visitor

KEYS = ("width", "thickness", "base", "finish")


@dataclass(slots=True)
class Tally:
    """What happened: edits that the office said it saved, lines that broke, kills."""

    accepted: dict[str, str] = field(default_factory=dict)  # the sender's number to the value
    broken: int = 0
    again: int = 0
    kills: int = 0
    whole: int = 0
    wrong: list[str] = field(default_factory=list)


def children(pid: int) -> list[int]:
    """Return the processes that `pid` started and that still run."""
    try:
        return [int(c) for c in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except (OSError, ValueError):
        return []


def _edits(slot: int, n: int) -> tuple[list[str | int], str]:
    """Return the n-th edit of an editor: each has a field of its own."""
    what = KEYS[slot]
    if what == "finish":
        return ["slabs", 0, what], ("broom", "salt", "exposed", "float")[n % 4]
    low = {"width": 36, "thickness": 4, "base": 4}[what]
    return ["slabs", 0, what], f"{low} {n % 15 + 1}/16 in"


def _editor(one: Visitor, path: str, slot: int, tally: Tally, stop: threading.Event) -> None:
    """Edit until told to stop; a change whose answer did not come is sent again under the same number."""
    for n in itertools.count():
        if stop.is_set():
            return
        key, value = _edits(slot, n)
        client = f"e{slot}-{n}"
        sent = {"edits": [{"kind": "set", "path": key, "value": value}], "base": 1, "client": client}
        for turn in itertools.count():
            try:
                status, body = one.ask("POST", path, sent)
            except (OSError, http.client.HTTPException):
                tally.broken += 1
                time.sleep(0.02)
                if stop.is_set():
                    return
                continue
            if status == 200:
                tally.accepted[client] = value
                tally.again += turn > 0
            elif status not in (502, 503):
                tally.wrong.append(f"{status} {body[:200]!r}")
                return
            else:
                continue
            break


def _something_accepted(tally: Tally, most: float = 10.0) -> None:
    """Wait until one more edit was accepted, so that each kill meets work under way."""
    before, end = len(tally.accepted), time.monotonic() + most
    while len(tally.accepted) == before and time.monotonic() < end and not tally.wrong:
        time.sleep(0.005)


def killed_at_random(
    office: Office, session: str, code: str, *, kills: int, seed: int, whole_every: int
) -> Tally:
    """Let four editors work while workers are killed at random moments, and now and then the whole office.

    Returns what happened; the office is stopped afterwards.
    """
    rng, tally, stop = random.Random(seed), Tally(), threading.Event()
    path = f"/jobs/{code}/change/"
    visitors = [Visitor(office, session) for _ in KEYS]
    editors = [
        threading.Thread(target=_editor, args=(one, path, slot, tally, stop), daemon=True)
        for slot, one in enumerate(visitors)
    ]
    for one in editors:
        one.start()
    for n in range(1, kills + 1):
        _something_accepted(tally)
        time.sleep(rng.uniform(0.0, 0.25))
        assert office.process is not None
        if n % whole_every == 0:
            office.kill()
            office.start()
            tally.whole += 1
        else:
            workers = children(office.process.pid)
            if workers:
                with suppress(ProcessLookupError):
                    os.kill(rng.choice(workers), signal.SIGKILL)
        tally.kills += 1
    time.sleep(1.0)
    stop.set()
    for one in editors:
        one.join(60)
    for visitor in visitors:
        visitor.close()
    office.stop()
    return tally


def lost(code: str, tally: Tally) -> list[str]:
    """Return what is lost or broken: edits without a revision, gaps, a text that is not the newest."""
    from slabwright.office.actions.edits import at, tree_of
    from slabwright.office.models import Job, Revision

    job = Job.objects.get(code=code)
    rows: dict[Any, Revision] = {r.client: r for r in Revision.objects.filter(job=job)}
    numbers = sorted(r.number for r in rows.values() if r.client) + [
        r.number for r in Revision.objects.filter(job=job, client=None)
    ]
    found = [f"{client} was accepted and is not there" for client in tally.accepted if client not in rows]
    for client, value in tally.accepted.items():
        row = rows.get(client)
        if row is not None:
            path = row.changes[0]["path"] if row.changes else []
            if at(tree_of(row.text), path) != value:
                found.append(f"{client}: {value} is not in its revision")
    if sorted(numbers) != list(range(1, job.number + 1)):
        found.append("the numbers of the revisions have gaps")
    newest = Revision.objects.get(job=job, number=job.number)
    if newest.text != job.text:
        found.append("the job's text is not that of its newest revision")
    return found
