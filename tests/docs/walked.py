"""Walk a guide as its reader would: run its commands, make its edits, hold what it shows to what came."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
FENCE = re.compile(r"^```(\w+)[^\n]*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LEFT_OUT = "..."
PATIENCE = 120  # [s] for one block on a machine with other things to do


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block of a page: its kind (sh, text, diff, ...), its text, and the line that it begins on."""

    kind: str
    text: str
    line: int


def blocks(page: str) -> Iterator[Block]:
    """Yield the fenced blocks of a page in their order."""
    for found in FENCE.finditer(page):
        yield Block(found[1], found[2], page.count("\n", 0, found.start()) + 1)


def begin(folder: Path) -> None:
    """Make a folder what a clone is after `make demo`, as far as the guides need it."""
    (folder / ".venv").mkdir()
    (folder / ".venv" / "bin").symlink_to(Path(sys.executable).parent)
    shutil.copytree(ROOT / "examples", folder / "examples")


def _as_run(command: str) -> str:
    """Return a block of commands with each `make` target as what its recipe runs, once all is set up."""
    made = (ROOT / "Makefile").read_text(encoding="utf-8")

    def recipe(found: re.Match[str]) -> str:
        body = re.search(rf"^{found[1]}:.*\n((?:\t.*\n)+)", made, re.MULTILINE)
        assert body, f"the Makefile has no {found[1]}"
        return re.sub(r"^\t@?", "", body[1], flags=re.MULTILINE).replace("$(BIN)", ".venv/bin")

    return re.sub(r"^make (\S+)$", recipe, command, flags=re.MULTILINE)


def run(block: Block, folder: Path) -> str:
    """Run a block of commands and return what stood on the terminal."""
    env = {k: v for k, v in os.environ.items() if not k.startswith("SLABWRIGHT")}
    done = subprocess.run(
        ["bash", "-c", _as_run(block.text)],
        cwd=folder,
        env=env | {"NO_COLOR": "1", "PYTHONUNBUFFERED": "1", "SLABWRIGHT_LANG": "en"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    assert done.returncode in (0, 1, 2), f"line {block.line} ended with {done.returncode}:\n{done.stdout}"
    return done.stdout


def edit(block: Block, target: Path) -> None:
    """Make the edit of a diff in a file; each of its lines that was there must stand there just once."""
    lines = block.text.splitlines()
    before = [line[1:] for line in lines if line[0] in " -"]
    after = [line[1:] for line in lines if line[0] in " +"]
    text = target.read_text(encoding="utf-8")
    was, new = "\n".join(before) + "\n", "\n".join(after) + "\n"
    assert text.count(was) == 1, f"line {block.line}: not in {target.name} just once:\n{was}"
    target.write_text(text.replace(was, new), encoding="utf-8")


def shows(shown: str, came: str) -> bool:
    """Return whether what a page shows is what came out; a line of '...' stands for any lines."""
    parts = [re.escape(line) + "\n" if line != LEFT_OUT else r"(?:.*\n)*?" for line in shown.splitlines()]
    return re.fullmatch("".join(parts), came if came.endswith("\n") or not came else came + "\n") is not None


def walk(page: Path, folder: Path, target: str = "job.yaml") -> int:
    """Walk a page in a folder; return how many blocks ran. A fault names the page's line and what came."""
    begin(folder)
    came, ran = "", 0
    for block in blocks(page.read_text(encoding="utf-8")):
        if block.kind == "sh":
            came, ran = run(block, folder), ran + 1
        elif block.kind == "diff":
            edit(block, folder / target)
        elif block.kind == "text":
            assert shows(block.text, came), f"{page.name}, line {block.line}: what came out is\n{came}"
    return ran
