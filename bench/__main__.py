"""Run every benchmark and write what was measured to docs/bench.md.

    python -m bench            all of them
    python -m bench heights    those whose name holds a word; their parts of the page are written anew

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


def page(done: dict[str, str]) -> str:
    """Return the page: what was done now, and in their old places the parts that were not."""
    head = (
        "# What was measured\n\nWritten by `make bench`. Every figure stands beside its peer or bound from "
        "the same run; seconds are those of one machine, ratios travel better.\n\n"
        f"Python {platform.python_version()}, {os.cpu_count()} cores."
    )
    parts: dict[str, str] = {}
    if TARGET.exists():
        for part in TARGET.read_text(encoding="utf-8").split("\n## ")[1:]:
            parts[part.partition("\n")[0]] = part.rstrip("\n")
    kept = {path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py")}
    parts = {name: part for name, part in (parts | done).items() if name in kept}
    return "\n\n".join([head, *(f"## {parts[name]}" for name in sorted(parts))]) + "\n"


def main() -> None:
    """Run, show and write."""
    wanted = sys.argv[1:]
    paths = [p for p in sorted(HERE.glob("bench_*.py")) if not wanted or any(w in p.stem for w in wanted)]
    measured: dict[str, str] = {}
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
        name = path.stem.removeprefix("bench_")
        measured[name] = f"{name}\n\n{title(path)}\n\n```\n{done.stdout.rstrip()}\n```"
    TARGET.write_text(page(measured), encoding="utf-8")
    print(f"written to {TARGET.relative_to(HERE.parent)}")
    if failed:
        sys.exit(f"did not run to the end, or slower than it must be: {', '.join(failed)}")


if __name__ == "__main__":
    main()
