"""The process that asks one reader; started by `python -m fuzz`."""

from __future__ import annotations

import hashlib
import resource
import sys
import time
import traceback
from pathlib import Path

import atheris

from fuzz.mutating import mutator
from fuzz.readers import READERS, UNREAD

SLOW = 5.0  # [s] for a file of SMALL bytes, here with every branch counted
SMALL = 20_000  # [bytes]
MOST_GROWTH = 1_000_000  # [kB] by one file
LARGEST = 60_000  # [bytes] of a file that is made up
KIND = {"text": 20_000, "notes": 20_000, "zip": 60_000, "bytes": 60_000}


def _place(fault: BaseException) -> str:
    """Return what the fault is and where in our own code it came up: one fault, one place."""
    ours = [f for f in traceback.extract_tb(fault.__traceback__) if "slabwright" in f.filename]
    place = f"{Path(ours[-1].filename).name}-{ours[-1].name}" if ours else "elsewhere"
    return f"{type(fault).__name__}-{place}".replace("<", "").replace(">", "")


def _keep(folder: Path, name: str, data: bytes, said: str) -> None:
    """Keep the smallest file of each fault, and what was said."""
    file = folder / f"{name}.fault"
    if not file.exists() or len(data) < file.stat().st_size:
        file.write_bytes(data)
        file.with_suffix(".txt").write_text(said)


def _keep_outcome(folder: Path, outcome: str, data: bytes, seen: dict[str, int]) -> None:
    """Keep the smallest file that ends in each outcome: candidates for the tests."""
    if len(data) >= seen.get(outcome, LARGEST) or len(data) > 8_000:
        return
    seen[outcome] = len(data)
    name = hashlib.sha256(outcome.encode(errors="replace")).hexdigest()[:16]
    (folder / name).write_bytes(data)
    (folder / f"{name}.txt").write_text(outcome, errors="replace")


def main() -> None:
    """Set the harness up and never come back."""
    name, folder = sys.argv[1], Path(sys.argv[2])
    reader = READERS[name]
    with atheris.instrument_imports(include=list(reader.watched), enable_loader_override=False):
        ask = reader.ask()
    faults, outcomes = folder / "faults", folder / "outcomes"
    outcomes.mkdir(exist_ok=True)
    seen: dict[str, int] = {}
    seeds = tuple(p.read_bytes() for p in sorted((folder / "corpus").glob("seed-*")))

    answered = 0

    def one(data: bytes) -> int:
        nonlocal answered
        outcome = ""
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        began = time.perf_counter()
        try:
            outcome = ask(data)
            _keep_outcome(outcomes, outcome, data, seen)
        except (Exception, SystemExit) as fault:
            _keep(faults, _place(fault), data, traceback.format_exc())
        took = time.perf_counter() - began
        grew = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
        if took > reader.slow and len(data) < SMALL:
            _keep(faults, "slow", data, f"{took:.1f} s")
        if grew > MOST_GROWTH:
            _keep(faults, "memory", data, f"{grew} kB")
        if outcome == UNREAD:
            return -1  # what could not be read at all is nothing to go on from
        answered += 1
        if answered % 20 == 0:
            (folder / "answered.txt").write_text(f"{answered}\n")
        return 0

    options = [
        f"-max_len={KIND[reader.kind]}",
        "-timeout=90",
        "-rss_limit_mb=4000",
        "-print_final_stats=1",
        "-len_control=0",
        f"-artifact_prefix={faults}/",
        *sys.argv[3:],
        str(folder / "corpus"),
    ]
    atheris.Setup([sys.argv[0], *options], one, custom_mutator=mutator(reader, seeds))
    atheris.Fuzz()


if __name__ == "__main__":
    main()
