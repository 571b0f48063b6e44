"""Readings and points brought into a job file, and points given out of it."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner, Result

from slabwright.cli import main
from slabwright.cli.talk import FINE, UNUSABLE
from slabwright.notes import parse_notes

WALK = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"


def run(*args: str | Path) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.yaml"
    path.write_text(WALK.read_text())
    return path


def test_readings_are_added_and_nothing_else_changes(job: Path, tmp_path: Path) -> None:
    table = tmp_path / "r.csv"
    table.write_text("set-up,point,reading,remark\nS1,N13,4' 9 1/4,by the gate\n,N14,4' 10,\nS3,Q2,5' 1,\n")
    before = job.read_text()
    assert run("bring-in", job, table, "--write").exit_code == FINE
    lost = [line for line in before.splitlines() if line not in job.read_text().splitlines()]
    assert lost == []
    notes = parse_notes(job.read_text())
    rods = {s.set_up: {k: v.written for k, v in s.rod.items()} for s in notes.levels}
    assert rods["S1"]["N13"] == "4' 9 1/4"
    assert rods["S1"]["N14"] == "4' 10"
    assert rods["S3"] == {"Q2": "5' 1"}


def test_without_write_the_job_is_left_alone(job: Path, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("N13,4' 9\n")
    before = job.read_text()
    result = run("bring-in", job, tmp_path / "r.csv", "--set-up", "S1")
    assert result.exit_code == FINE
    assert "N13: 4' 9" in result.stdout
    assert job.read_text() == before


def test_a_reading_that_is_there_is_refused(job: Path, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("point,reading\nQ2,4' 9\n")
    before = job.read_text()
    result = run("bring-in", job, tmp_path / "r.csv", "--set-up", "S1", "--write")
    assert result.exit_code == UNUSABLE
    assert "Q2 was read from S1 already" in result.stderr
    assert job.read_text() == before


def test_points_are_turned_onto_the_first_wall(job: Path, tmp_path: Path) -> None:
    # The other file's frame is turned by 30 degrees and moved far away.
    turn, away = math.radians(30), (500.0, 900.0)
    local = {"A": (0.0, 0.0), "B": (14.63, 0.0), "M1": (3.0, -2.0)}

    def theirs(x: float, y: float) -> tuple[float, float]:
        return (
            away[0] + x * math.cos(turn) - y * math.sin(turn),
            away[1] + x * math.sin(turn) + y * math.cos(turn),
        )

    rows = "".join(
        f'<CgPoint name="{name}">{theirs(x, y)[1]:.6f} {theirs(x, y)[0]:.6f} 10.5</CgPoint>'
        for name, (x, y) in local.items()
    )
    file = tmp_path / "points.xml"
    file.write_text(
        '<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units><Metric '
        f'linearUnit="meter"/></Units><CgPoints>{rows}</CgPoints></LandXML>'
    )
    assert run("bring-in", job, file, "--write").exit_code == FINE
    x, y = parse_notes(job.read_text()).points["M1"]
    assert (x, y) == pytest.approx((3.0, -2.0), abs=2e-4)
    assert parse_notes(job.read_text()).heights["M1"] == pytest.approx(10.5)


def test_points_without_the_wall_are_refused(job: Path, tmp_path: Path) -> None:
    file = tmp_path / "points.xml"
    file.write_text(
        '<LandXML><Units><Metric linearUnit="meter"/></Units><CgPoints><CgPoint name="M1">1 2 3</CgPoint>'
        "</CgPoints></LandXML>"
    )
    result = run("bring-in", job, file)
    assert result.exit_code == UNUSABLE
    assert "both ends of the job's first wall" in result.stderr


@pytest.mark.parametrize("name", ["r.pdf", "missing.csv"])
def test_other_files_are_refused(job: Path, tmp_path: Path, name: str) -> None:
    assert run("bring-in", job, tmp_path / name).exit_code == UNUSABLE


def test_points_go_out_in_three_formats(tmp_path: Path) -> None:
    table = run("points", WALK)
    rows = list(csv.DictReader(io.StringIO(table.stdout)))
    names = [row["point"] for row in rows]
    assert {"A", "B", "P1"} <= set(names)
    assert any(name.startswith("side walk ") for name in names)
    for ending in ("geojson", "dxf", "csv"):
        assert run("points", WALK, "-o", tmp_path / f"p.{ending}").exit_code == FINE
    features = json.loads((tmp_path / "p.geojson").read_text())["features"]
    assert [f["id"] for f in features] == names
    drawing = ezdxf.readfile(tmp_path / "p.dxf")
    assert sum(e.dxftype() == "POINT" for e in drawing.modelspace()) == len(names)
