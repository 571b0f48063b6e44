"""The command line as a person meets it: exit codes, what goes to stdout, nothing lost, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from slabwright.cli import main
from slabwright.cli.group import DEBUG, FAULT
from slabwright.cli.jobs import USES
from slabwright.cli.talk import FAILED, FINE, STOPPED, UNUSABLE

EXAMPLES = Path(__file__).parents[2] / "examples"
WALK = EXAMPLES / "side-walk" / "job.yaml"
COMMANDS = ("as-built", "bring-in", "check", "completion", "new", "plan", "points", "pour", "schema")


def run(*args: str | Path) -> Result:
    """Run the command line in process; an exception of ours would be a failed test."""
    result = CliRunner(env={DEBUG: "1"}).invoke(main, [str(a) for a in args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_help_lists_every_command_and_exit_code() -> None:
    text = run("--help").output
    assert all(f"  {name} " in text for name in COMMANDS)
    assert all(f"  {code}  " in text for code in (FINE, STOPPED, UNUSABLE, FAILED))


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_worth_reading(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == FINE
    assert len(result.output) > 200


def test_help_loads_no_numerics() -> None:
    heavy = ("numpy", "pydantic", "shapely", "rich", "scipy")
    code = f"import slabwright.cli, sys; print(*[m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


@pytest.mark.parametrize("use", USES)
@pytest.mark.parametrize("metric", [False, True])
def test_a_new_job_plans_as_it_stands(use: str, metric: bool, tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    made = run("new", use, "-o", job, *(["--metric"] if metric else []))
    assert made.exit_code == FINE, made.output
    checked = run("check", job)
    assert checked.exit_code == FINE, checked.output


def test_new_never_overwrites(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text("my own notes")
    result = run("new", "walk", "-o", job)
    assert result.exit_code == FAILED
    assert "is there already and was left alone" in result.stderr
    assert job.read_text() == "my own notes"


def test_new_writes_to_stdout_without_a_name() -> None:
    result = run("new", "patio")
    assert result.exit_code == FINE
    assert "use: patio" in result.stdout


def test_check_as_json_is_data_alone_on_stdout() -> None:
    result = run("check", WALK, "--json")
    rows = json.loads(result.stdout)
    assert rows
    for row in rows:
        assert all(row[key] for key in ("code", "level", "what", "why", "source", "do"))


def test_check_speaks_spanish() -> None:
    english, spanish = run("check", WALK, "--json"), run("check", WALK, "--json", "--lang", "es")
    pairs = zip(json.loads(english.stdout), json.loads(spanish.stdout), strict=True)
    assert all(a["do"] != b["do"] and a["code"] == b["code"] for a, b in pairs)


@pytest.mark.parametrize("name", sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir()))
def test_examples_plan_without_a_stop(name: str, tmp_path: Path) -> None:
    result = run("plan", EXAMPLES / name / "job.yaml", "--out", tmp_path)
    assert result.exit_code == FINE, result.output
    listed = [Path(line) for line in result.stdout.splitlines()]
    assert all(path.is_file() and path.stat().st_size > 0 for path in listed)
    assert {"packet.pdf", "plan.json", "tables.xlsx"} <= {p.name for p in listed}
    assert not list(tmp_path.rglob("*.part"))


def test_a_stop_ends_with_one(tmp_path: Path) -> None:
    text = WALK.read_text().replace("G2: 5' 5 1/2", "G2: 4' 9 1/2").replace("G1: 5' 4 3/4", "G1: 5' 9 3/4")
    job = tmp_path / "job.yaml"
    job.write_text(text)
    result = run("check", job)
    assert result.exit_code == STOPPED, result.output
    assert "stop" in result.stdout


def test_mistakes_end_with_two_and_name_the_line(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(WALK.read_text().replace("width: 3'", "width: 3 foots"))
    result = run("plan", job, "--out", tmp_path / "out")
    assert result.exit_code == UNUSABLE
    line = next(n for n, text in enumerate(job.read_text().splitlines(), 1) if "3 foots" in text)
    assert f"job.yaml:{line}:" in result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("what", ["missing.yaml", ".", "empty.yaml"])
def test_what_is_no_job_file_is_one_line(what: str, tmp_path: Path) -> None:
    (tmp_path / "empty.yaml").write_text("")
    result = run("check", tmp_path / what)
    assert result.exit_code == UNUSABLE
    assert "Traceback" not in result.output
    assert result.stdout == ""


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file stands here")
    result = run("plan", WALK, "--out", tmp_path / "out" / "deeper")
    assert result.exit_code == FAILED
    assert "cannot be written" in result.stderr


def test_a_date_that_is_none() -> None:
    result = run("plan", WALK, "--date", "04/05/2026")
    assert result.exit_code == UNUSABLE
    assert "2026-05-04" in result.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion(shell: str) -> None:
    result = run("completion", shell)
    assert result.exit_code == FINE
    assert "_SLABWRIGHT_COMPLETE" in result.stdout


def test_no_colour_and_no_progress_when_not_a_terminal(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "slabwright", "plan", str(WALK), "--out", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "TERM": "xterm-256color"},
    )
    assert done.returncode == FINE, done.stderr
    assert "\x1b" not in done.stdout + done.stderr
    assert "\r" not in done.stderr


def test_a_fault_of_ours_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    import slabwright.plan

    def broken(*_args: object, **_options: object) -> None:
        raise RuntimeError("the roof\nfell in")

    monkeypatch.setattr(slabwright.plan, "make", broken)
    result = CliRunner(env={DEBUG: None}).invoke(main, ["check", str(WALK)])
    assert result.exit_code == FAULT
    assert "RuntimeError: the roof fell in" in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
