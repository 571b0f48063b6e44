"""Run every benchmark and write what was measured to docs/bench.md.

    python -m bench            all of them
    python -m bench heights    those whose name holds a word

Each benchmark is a program of its own that prints its peer or bound beside its own figure, measured in
the same run. Figures of one machine on one day: read the ratios, not the seconds.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
TARGET = HERE.parent / "docs" / "bench.md"
LONGEST = 1800.0  # s for one benchmark


def title(path: Path) -> str:
    """Return the first sentence of a benchmark's docstring."""
    return path.read_text(encoding="utf-8").split('"""')[1].strip().split("\n\n")[0].replace("\n", " ")


def main() -> None:
    """Run, show and write."""
    wanted = sys.argv[1:]
    paths = [p for p in sorted(HERE.glob("bench_*.py")) if not wanted or any(w in p.stem for w in wanted)]
    parts = [
        "# What was measured",
        "Written by `make bench`. Every figure stands beside its peer or its bound from the same run; "
        "seconds are those of one machine, ratios travel better.",
        f"Python {platform.python_version()}, {os.cpu_count()} cores.",
    ]
    failed = []
    for n, path in enumerate(paths, 1):
        print(f"[{n}/{len(paths)}] {path.stem}", flush=True)
        done = subprocess.run(
            [sys.executable, str(path)], capture_output=True, text=True, timeout=LONGEST, check=False
        )
        print(done.stdout, flush=True)
        if done.returncode:
            failed.append(path.stem)
            print(done.stderr, file=sys.stderr)
        parts.append(
            f"## {path.stem.removeprefix('bench_')}\n\n{title(path)}\n\n```\n{done.stdout.rstrip()}\n```"
        )
    if not wanted:
        TARGET.write_text("\n\n".join(parts) + "\n", encoding="utf-8")
        print(f"written to {TARGET.relative_to(HERE.parent)}")
    if failed:
        sys.exit(f"did not run to the end: {', '.join(failed)}")


if __name__ == "__main__":
    main()
