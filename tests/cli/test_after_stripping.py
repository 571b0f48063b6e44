"""What is read after stripping, and a reader who has seen enough of what a command says."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from slabwright.cli import main


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    assert CliRunner().invoke(main, ["new", "walk", "-o", str(path)]).exit_code == 0
    return path


@pytest.mark.parametrize(("reading", "off"), [("4' 11", 0.0), ("4' 11 1/16", -1 / 16), ("4' 10 7/8", 1 / 8)])
def test_what_a_rod_cannot_show_is_not_off(job: Path, tmp_path: Path, reading: str, off: float) -> None:
    """Mark 8 lies on the gate walk, a few thousandths of an inch off the whole mark that the sheet says."""
    after = tmp_path / "after.csv"
    after.write_text(f"point,reading\nsill,4' 1\n8,{reading}\n", encoding="utf-8")
    made = CliRunner().invoke(main, ["as-built", str(job), str(after)])
    (row,) = csv.DictReader(io.StringIO(made.stdout))
    assert row["Mark"] == "8"
    assert float(row["Off by [in]"]) == pytest.approx(off, abs=0.002)
    if not off:
        assert row["Off by (as written)"].strip("'") == '0"'


def test_a_reader_who_has_seen_enough_is_no_fault(job: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-u", "-m", "slabwright", "check", str(job)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        said = run.stderr.read()
    assert "fault" not in said
    assert "Traceback" not in said
