"""`python -m fuzz READER --minutes N`: runs one reader in a process of its own, and counts."""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import time
from pathlib import Path

from fuzz.readers import READERS

_EDGES = re.compile(r"#(\d+)\s.*?cov: (\d+) ft: (\d+)")
_RUNS = re.compile(r"stat::number_of_executed_units: (\d+)")
_SPOILT = ("timeout-", "oom-", "crash-")


def main() -> int:
    """Run what is asked for; 1 where a fault was found."""
    parser = argparse.ArgumentParser(prog="python -m fuzz", description=__doc__)
    parser.add_argument("reader", nargs="?", choices=sorted(READERS))
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--keep", type=Path, default=Path("out/fuzz"), help="folder of corpora and faults")
    given = parser.parse_args()
    if given.reader is None:
        for name, reader in sorted(READERS.items()):
            print(f"{name:12} {reader.about}")
        return 0
    told = ask(given.reader, given.keep / given.reader, given.minutes * 60.0)
    print(json.dumps(told))
    return 1 if told["faults"] else 0


def ask(name: str, folder: Path, seconds: float) -> dict[str, object]:
    """Ask one reader for so many seconds, again after a hang; return what was counted."""
    corpus, faults = folder / "corpus", folder / "faults"
    corpus.mkdir(parents=True, exist_ok=True)
    faults.mkdir(exist_ok=True)
    for n, seed in enumerate(READERS[name].seeds()):
        (corpus / f"seed-{n:03}").write_bytes(seed)
    end = time.monotonic() + seconds
    runs = edges = 0
    while (left := int(end - time.monotonic())) > 2:
        log = folder / "log.txt"
        with log.open("w") as out:
            command = [sys.executable, "-m", "fuzz.one", name, str(folder), f"-max_total_time={left}"]
            subprocess.run(command, stderr=out, stdout=out, check=False)
        said = log.read_text(errors="replace")
        counts = [(int(a), int(b)) for a, b, _ in _EDGES.findall(said)]
        final = _RUNS.findall(said)
        runs += int(final[-1]) if final else (counts[-1][0] if counts else 0)
        edges = max([edges, *(cov for _, cov in counts)])
        if not counts:
            raise SystemExit(f"the reader did not start:\n{said[-3000:]}")
    found = sorted(p.name for p in folder.rglob("*") if p.name.startswith(_SPOILT) or p.suffix == ".fault")
    return {"reader": name, "seconds": seconds, "executions": runs, "edges": edges, "faults": found}


if __name__ == "__main__":
    sys.exit(main())
