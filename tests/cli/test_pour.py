"""The pour on the command line: weather from a file, typed in or the job's; bad rows named; exit codes."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result
from tests.pourday.service import Service, grid, serving

from slabwright.cli import main
from slabwright.cli.group import DEBUG
from slabwright.cli.talk import FINE, STOPPED, UNUSABLE
from slabwright.pourday import fetch

WALK = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"
DAY = ["--day", "2026-05-14", "--low", "52F", "--high", "71F", "--humidity", "60%", "--wind", "4mph"]


def run(*args: str | Path) -> Result:
    result = CliRunner(env={DEBUG: "1"}).invoke(main, [str(a) for a in args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def job_in(folder: Path, more: str = "") -> Path:
    job = folder / "walk.yaml"
    job.write_text(WALK.read_text(encoding="utf-8") + more, encoding="utf-8")
    return job


def hourly(hours: int = 72) -> list[str]:
    """Lines of a table of mild weather from 13 May 2026 on."""
    begins = datetime(2026, 5, 13)
    rows = ["time,temperature F,humidity %,wind mph,sky %,rain %"]
    for k in range(hours):
        when = begins + timedelta(hours=k)
        warm = 62 + 10 * (1 - abs(15 - when.hour) / 7.5)
        rows.append(f"{when.isoformat(timespec='minutes')},{warm:.1f},58,4,30,0")
    return rows


def table(folder: Path, rows: list[str], name: str = "may.csv") -> Path:
    file = folder / name
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return file


def test_a_file_gives_the_card_and_the_sheets(tmp_path: Path) -> None:
    job, file = job_in(tmp_path), table(tmp_path, hourly())
    result = run("pour", job, "--weather", file, "--day", "2026-05-14", "--start", "6:30am")
    assert result.exit_code == FINE, result.output
    assert "First truck: 6:30 am (Thu 14 May 2026)" in result.stdout
    assert "This is a forecast" in result.stdout
    written = [Path(line) for line in result.stdout.splitlines() if line.startswith(str(tmp_path))]
    assert {p.name for p in written} >= {"pour.pdf", "pour-hours.svg", "pour-panels.csv", "pour-care.csv"}
    assert all(p.stat().st_size > 0 for p in written)
    assert (tmp_path / "out-walk" / "pour.pdf") in written


def test_figures_typed_in_do_too_and_in_spanish(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    result = run("pour", job, *DAY, "--sky", "partly cloudy", "--lang", "es", "--quiet")
    assert result.exit_code == FINE, result.output
    assert "Primer camión: 7:00 am" in result.stdout
    assert "Esto es un pronóstico" in result.stdout
    assert result.stderr == ""


def test_an_earlier_start_brings_everything_forward(tmp_path: Path) -> None:
    job, file = job_in(tmp_path), table(tmp_path, hourly())
    firsts = []
    for start in ("6:00am", "10:00am"):
        out = tmp_path / start.replace(":", "")
        run("pour", job, "--weather", file, "--day", "2026-05-14", "--start", start, "--out", out)
        line = (out / "tables" / "pour-panels.csv").read_text(encoding="utf-8-sig").splitlines()[1]
        firsts.append(line.split(",")[2])
    assert firsts[0].startswith("6:")
    assert firsts[1].startswith("10:")


def test_one_bad_row_is_named_and_the_rest_is_used(tmp_path: Path) -> None:
    rows = hourly()
    rows[20] = rows[20].replace(",58,", ",140,")
    result = run("pour", job_in(tmp_path), "--weather", table(tmp_path, rows), "--day", "2026-05-14")
    assert result.exit_code == FINE, result.output
    assert "row 21" in result.stderr
    assert "140" in result.stderr
    assert "1 hour was missing and bridged" in result.stdout  # on the card too, and on every sheet
    reader = pypdf.PdfReader(tmp_path / "out-walk" / "pour.pdf")
    for page in reader.pages:
        text = page.extract_text()
        assert "missing and bridged" in text or "Your new concrete" in text


def test_a_bad_first_row_is_left_out_and_nothing_is_guessed_backwards(tmp_path: Path) -> None:
    rows = hourly()
    rows[1] = rows[1].replace(",58,", ",140,")
    result = run("pour", job_in(tmp_path), "--weather", table(tmp_path, rows), "--day", "2026-05-14")
    assert result.exit_code == FINE, result.output
    assert "row 2" in result.stderr
    assert "1 hour at the beginning cannot be used; the weather begins at 2026-05-13 01:00" in result.stderr


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [(1, "hot", "row 4"), (3, "-3", "row 4"), (2, "140", "row 4"), (0, "x", "row 4")],
)
def test_a_file_of_bad_rows_ends_with_two_and_names_them(
    column: int, value: str, said: str, tmp_path: Path
) -> None:
    rows = hourly()
    for n in range(3, len(rows)):
        cells = rows[n].split(",")
        cells[column] = value
        rows[n] = ",".join(cells)
    result = run("pour", job_in(tmp_path), "--weather", table(tmp_path, rows))
    assert result.exit_code == UNUSABLE, result.output
    assert said in result.stderr
    assert "may.csv" in result.stderr
    assert not (tmp_path / "out-walk").exists()


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("may.csv", "", "is empty"),
        ("may.csv", "hour,temperature F\n1,2\n", "no column 'time'"),
        ("may.xls", "x", "is none of"),
        ("may.json", "{}", "not a forecast"),
        ("may.epw", "x", "say the day of the pour"),
    ],
)
def test_files_that_are_no_weather_end_with_two(name: str, text: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    result = run("pour", job_in(tmp_path), "--weather", file)
    assert result.exit_code == UNUSABLE
    assert said in result.stderr


def test_files_that_cannot_be_read_end_with_two(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    binary = tmp_path / "may.csv"
    binary.write_bytes(b"\xff\xfe\x00\x81")
    for file in (tmp_path / "none.csv", binary, tmp_path):
        assert run("pour", job, "--weather", file).exit_code == UNUSABLE


@pytest.mark.parametrize(
    ("args", "said"),
    [
        ([], "no weather for"),
        (["--low", "52F"], "--high, --wind, --sky, --humidity, --day"),
        (["--weather", "may.csv", "--low", "52F"], "exclude each other"),
        (["--low", "52"], "--low"),
        ([*DAY, "--sky", "hazy"], "--sky"),
        ([*DAY, "--sky", "clear", "--start", "25h"], "--start"),
        (["--day", "July", "--weather", "may.csv"], '--day "July" is no date'),
        ([*DAY, "--sky", "clear", "--high", "40F"], "above the high"),
    ],
)
def test_options_that_cannot_be_end_with_two(args: list[str], said: str, tmp_path: Path) -> None:
    result = run("pour", job_in(tmp_path), *args)
    assert result.exit_code == UNUSABLE
    assert said in result.stderr


def test_a_day_outside_the_weather_ends_with_two(tmp_path: Path) -> None:
    result = run("pour", job_in(tmp_path), "--weather", table(tmp_path, hourly()), "--day", "2026-06-14")
    assert result.exit_code == UNUSABLE
    assert "2026-06-14" in result.stderr


def test_a_job_that_does_not_say_where_it_lies_ends_with_two(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    job.write_text(job.read_text().replace("  latitude: 45.5\n", ""))
    result = run("pour", job, *DAY, "--sky", "clear")
    assert result.exit_code == UNUSABLE
    assert "latitude" in result.stderr


def test_plan_and_check_take_the_weather_of_the_job(tmp_path: Path) -> None:
    table(tmp_path, hourly())
    job = job_in(tmp_path, "\nweather: {file: may.csv, day: 2026-05-14}\n")
    made = run("plan", job, "--out", tmp_path / "out")
    assert made.exit_code == FINE, made.output
    assert (tmp_path / "out" / "tables" / "pour-panels.csv").is_file()
    document = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert document["pour"]["date"] == "2026-05-14"
    assert document["pour"]["windows"][0]["placed_at_s"] > 7 * 3600
    codes = {row["code"] for row in json.loads(run("check", job, "--json").stdout)}
    assert "pourday.forecast-only" in codes


def test_a_missing_weather_file_stops_the_plan(tmp_path: Path) -> None:
    job = job_in(tmp_path, "\nweather: none.csv\n")
    result = run("plan", job, "--out", tmp_path / "out")
    assert result.exit_code == UNUSABLE
    assert "none.csv" in result.stderr
    assert not (tmp_path / "out").exists()


def test_frost_is_a_stop_and_ends_with_one(tmp_path: Path) -> None:
    cold = ["--day", "2026-12-03", "--low", "14F", "--high", "33F", "--humidity", "60%", "--wind", "5mph"]
    result = run("pour", job_in(tmp_path), *cold, "--sky", "clear")
    assert result.exit_code == STOPPED, result.output
    assert "STOP" in result.stdout


def test_the_same_pour_writes_the_same_bytes(tmp_path: Path) -> None:
    job, file = job_in(tmp_path), table(tmp_path, hourly())
    found = []
    for name in ("a", "b"):
        run("pour", job, "--weather", file, "--day", "2026-05-14", "--out", tmp_path / name)
        found.append({p.name: p.read_bytes() for p in (tmp_path / name).rglob("*") if p.is_file()})
    assert found[0] == found[1]
    assert len(found[0]) >= 8


# --- covers, a set time, things seen -----------------------------------------------------------------------

MILD = [*DAY, "--sky", "clear", "--quiet"]
FROST = ["--day", "2026-11-12", "--low", "27F", "--high", "45F", "--humidity", "60%", "--wind", "4mph"]


def document(folder: Path) -> dict:
    """The panels' table as rows by panel."""
    text = (folder / "tables" / "pour-panels.csv").read_text(encoding="utf-8-sig")
    return {row["Panel"]: row for row in csv.DictReader(text.splitlines())}


def test_blankets_keep_the_frost_out_and_stand_on_the_card(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    bare = run("pour", job, *FROST, "--sky", "clear", "--quiet", "--out", tmp_path / "a")
    laid = run(
        "pour", job, *FROST, "--sky", "clear", "--quiet", "--out", tmp_path / "b",
        "--cover", "blankets from 2pm to 9am + 2 days",
    )  # fmt: skip
    assert bare.exit_code == STOPPED
    assert "freeze" in bare.stdout
    assert laid.exit_code == FINE, laid.output
    assert "From 2:00 pm to Sun 9:00 am: insulating blankets." in laid.stdout


def test_a_cure_by_wet_burlap_is_said(tmp_path: Path) -> None:
    result = run("pour", job_in(tmp_path), *MILD, "--cure", "burlap", "--lang", "es")
    assert result.exit_code == FINE, result.output
    assert "Se cura con arpillera mojada" in result.stdout


def test_a_set_that_was_seen_moves_the_hours(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    found = {}
    for name, more in (("plain", []), ("quick", ["--set", "3 h at 70F"])):
        result = run("pour", job, *MILD, *more, "--out", tmp_path / name)
        assert result.exit_code == FINE, result.output
        found[name] = document(tmp_path / name)["1"]["Too late"]
        assert ("held to the set that this crew saw" in result.stdout) == (name == "quick")
    assert minutes(found["quick"]) < minutes(found["plain"]) - 20


def minutes(clock: str) -> int:
    when = datetime.strptime(clock.upper(), "%I:%M %p")
    return 60 * when.hour + when.minute


def test_what_is_seen_in_the_morning_moves_the_rest_of_the_day(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    plain = run("pour", job, *MILD, "--out", tmp_path / "plain")
    before = document(tmp_path / "plain")
    assert "Updated" not in plain.stdout
    broom = minutes(before["1"]["Broom from"])
    clock = f"{(broom - 35) // 60}:{(broom - 35) % 60:02d}"
    seen = run("pour", job, *MILD, "--seen", f"broom on panel 1 at {clock}", "--out", tmp_path / "seen")
    assert seen.exit_code == FINE, seen.output
    assert "Updated during the pour. Seen: panel 1 took the broom at" in seen.stdout
    assert "sooner than forecast" in seen.stdout
    after = document(tmp_path / "seen")
    for panel in before:
        assert minutes(after[panel]["Too late"]) < minutes(before[panel]["Too late"]), panel
    text = pypdf.PdfReader(tmp_path / "seen" / "pour.pdf").pages[0].extract_text()
    assert "sooner than forecast" in text


def test_a_late_truck_moves_the_placing(tmp_path: Path) -> None:
    result = run("pour", job_in(tmp_path), *MILD, "--seen", "placed at 8:30am")
    assert result.exit_code == FINE, result.output
    assert document(tmp_path / "out-walk")["1"]["Place"] == "8:30 am"
    assert "panel 1 placed at 8:30 am" in result.stdout
    assert "later than forecast" in result.stdout


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--cover", "tarps from 5pm"], "tarps is none of blanket"),
        (["--cover", "blankets"], 'Write for example "blankets from 5:30pm to 8am + 2 days"'),
        (["--cover", "blankets from 25h"], "the hour is 0 to 23"),
        (["--cover", "blankets from 5pm + 2 days"], "days belong behind the hour"),
        (["--seen", "fog at 9am"], "fog is none of placed, sheen gone, broom"),
        (["--seen", "broom"], "said with its hour"),
        (["--seen", "broom on panel 77 at 11am"], "there is no panel '77'; the panels in placing order are"),
        (["--seen", "broom at 5am"], "seen before it was placed"),
        (["--set", "5 h"], "the concrete's temperature"),
        (["--set", "40 h at 70F"], "does not belong to this mix"),
        (["--cure", "paint"], "paint"),
    ],
)
def test_things_said_that_cannot_be_end_with_two(args: list[str], said: str, tmp_path: Path) -> None:
    result = run("pour", job_in(tmp_path), *MILD, *args)
    assert result.exit_code == UNUSABLE, result.output
    assert said in " ".join(result.stderr.split())
    assert not (tmp_path / "out-walk").exists()


# --- the weather service, on this machine ------------------------------------------------------------------


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[Service]:
    with serving() as made:
        made.answer = grid("2026-05-13T07:00")
        monkeypatch.setattr(fetch, "SERVICE", made.address)
        yield made


FETCH = ["--fetch", "--contact", "crew@example.org", "--quiet"]


def test_the_forecast_is_fetched_once_and_kept_with_the_sheets(service: Service, tmp_path: Path) -> None:
    job = job_in(tmp_path)
    first = run("pour", job, *FETCH, "--day", "2026-05-14")
    assert first.exit_code == FINE, first.output
    assert "Thu 14 May 2026" in first.stdout
    assert [path for path, _ in service.asked] == ["/points/45.5000,-122.7000", "/gridpoints/LOT/76,73"]
    assert all("crew@example.org" in agent for _, agent in service.asked)
    assert len(list((tmp_path / "out-walk" / "weather").iterdir())) == 2
    again = run("pour", job, *FETCH, "--day", "2026-05-14")
    assert again.stdout == first.stdout
    assert len(service.asked) == 2
    run("pour", job, *FETCH, "--day", "2026-05-14", "--kept", tmp_path / "elsewhere")
    assert len(service.asked) == 4


def test_the_network_is_not_asked_unless_told_to(service: Service, tmp_path: Path) -> None:
    run("pour", job_in(tmp_path), *MILD)
    run("pour", job_in(tmp_path))
    assert service.asked == []


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--fetch"], "who asks"),
        (["--fetch", "--contact", " "], "who asks"),
        ([*FETCH, "--weather", "may.csv"], "--fetch and --weather exclude each other"),
        ([*FETCH, *DAY, "--sky", "clear"], "--fetch and a day's figures exclude each other"),
        ([*FETCH, "--kept", "walk.yaml/x"], "answers cannot be kept in"),
    ],
)
def test_asking_that_cannot_be_ends_with_two(
    args: list[str], said: str, service: Service, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = job_in(tmp_path)
    monkeypatch.chdir(tmp_path)
    result = run("pour", job, *args)
    assert result.exit_code == UNUSABLE, result.output
    assert said in result.stderr


def test_a_service_that_refuses_or_talks_nonsense_ends_with_two(service: Service, tmp_path: Path) -> None:
    job = job_in(tmp_path)
    service.plan = [404]
    refused = run("pour", job, *FETCH)
    assert refused.exit_code == UNUSABLE
    assert "404" in refused.stderr
    service.answer = {"properties": {}}
    empty = run("pour", job, *FETCH)
    assert empty.exit_code == UNUSABLE
    assert "the weather service's forecast" in empty.stderr
    assert not (tmp_path / "out-walk" / "pour.pdf").exists()
