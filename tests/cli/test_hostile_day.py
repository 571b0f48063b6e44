"""A bad day at the command line: no room, no leave to write, odd files, two at once. Nothing is lost."""

from __future__ import annotations

import codecs
import errno
import hashlib
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from slabwright import files
from slabwright.cli import main, money_after
from slabwright.cli.talk import FAILED, FINE, UNUSABLE
from slabwright.money.kept import read_kept

ROOT = Path(__file__).parents[2]
WALK = ROOT / "examples" / "side-walk" / "job.yaml"
BOOK = ROOT / "src" / "slabwright" / "money" / "demo_book.csv"
CHANGE = ("--why", "wet ground", "--what", "a drain", "--price", "$250", "--date", "2026-05-11")


def run(*args: str | Path) -> Result:
    """Run the command line as a person does: a fault of ours ends with 4, and with its words."""
    return CliRunner().invoke(main, [str(a) for a in args])


def held(folder: Path) -> dict[str, str]:
    return {
        str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


@pytest.fixture(scope="module")
def quoted(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("quoted")
    made = run("quote", WALK, "--book", BOOK, "--date", "2026-05-04", "--out", folder)
    assert made.exit_code == FINE, made.output
    return (folder / "quote.json").read_bytes()


@pytest.fixture
def quote(quoted: bytes, tmp_path: Path) -> Path:
    file = tmp_path / "quote" / "quote.json"
    file.parent.mkdir()
    file.write_bytes(quoted)
    return file


@pytest.fixture
def job(tmp_path: Path) -> Path:
    file = tmp_path / "job.yaml"
    file.write_bytes(WALK.read_bytes())
    return file


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    file = tmp_path / "readings.csv"
    file.write_text("set-up,point,reading,remark\nS9,N1,4.85 ft,by the gate\n")
    return file


def refuse(monkeypatch: pytest.MonkeyPatch, code: int, *, when: str) -> None:
    """Let the machine refuse to keep a file whose name holds `when`, once its bytes were handed over."""
    real = os.fsync

    def fsync(handle: int) -> None:
        if when in os.readlink(f"/proc/self/fd/{handle}"):
            raise OSError(code, os.strerror(code))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)


# --- no room, no leave ------------------------------------------------------------------------------------


def test_a_packet_is_never_half_of_today_and_half_of_yesterday(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    (out / "tables").mkdir(parents=True)
    (out / "packet.pdf").write_text("of yesterday")
    (out / "tables" / "stakes.csv").write_text("of yesterday")
    before = held(out)
    refuse(monkeypatch, errno.ENOSPC, when="plan.json")  # the last of all
    result = run("plan", job, "--out", out, "--quiet")
    assert result.exit_code == FAILED
    assert "plan.json cannot be written: No space left on device. Nothing was changed." in result.output
    assert held(out) == before


def test_the_kernel_itself_refuses_a_packet(job: Path, tmp_path: Path) -> None:
    """A limit on the size of files is the one full disk that needs no disk."""
    out = tmp_path / "out"
    done = subprocess.run(
        [sys.executable, "-m", "slabwright", "plan", str(job), "--out", str(out), "--quiet"],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000)),
    )
    assert done.returncode == FAILED, done.stderr
    assert "packet.pdf cannot be written: File too large. Nothing was changed." in done.stderr
    assert not out.exists()


@pytest.mark.parametrize("full", ["change-1.pdf", "quote.json"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS])
def test_a_change_order_and_what_is_kept_of_it_come_together_or_not_at_all(
    quote: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, full: str, code: int
) -> None:
    before = held(quote.parent)
    with monkeypatch.context() as patch:
        refuse(patch, code, when=full)
        result = run("change", quote, *CHANGE, "--out", tmp_path / "papers")
    assert result.exit_code == FAILED
    assert f"{full} cannot be written: {os.strerror(code)}" in result.output
    assert held(quote.parent) == before
    assert not (tmp_path / "papers").exists()
    assert run("change", quote, *CHANGE, "--out", tmp_path / "papers").exit_code == FINE
    assert [c.number for c in read_kept(quote.read_bytes()).changes] == [1]


def test_a_folder_that_may_not_be_written_leaves_the_notes_as_they_were(
    job: Path, readings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = held(job.parent)

    def mkstemp(*_args: object, **_more: object) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(tempfile, "mkstemp", mkstemp)
    result = run("bring-in", job, readings, "--write")
    assert result.exit_code == FAILED
    assert "job.yaml cannot be written: Read-only file system. Nothing was changed." in result.output
    assert held(job.parent) == before


def test_a_new_job_that_did_not_fit_is_not_in_the_way_of_the_next_try(tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    done = subprocess.run(
        [sys.executable, "-m", "slabwright", "new", "walk", "-o", str(file)],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100)),
    )
    assert done.returncode == FAILED
    assert "cannot be written: File too large" in done.stderr
    assert run("new", "walk", "-o", file).exit_code == FINE


@pytest.mark.parametrize("words", [("new", "walk"), ("schema",), ("points", str(WALK)), ("price-book",)])
def test_a_full_disk_behind_a_redirection_is_not_called_our_fault(words: tuple[str, ...]) -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "slabwright", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == FAILED
    assert "the machine would not do it: No space left on device" in done.stderr


# --- odd files --------------------------------------------------------------------------------------------


def odd(job: Path, way: str) -> bytes:
    text = job.read_text(encoding="utf-8")
    return {
        "windows": text.replace("\n", "\r\n").encode(),
        "marked": codecs.BOM_UTF8 + text.encode(),
        "utf-16": text.encode("utf-16"),
        "utf-16 windows": text.replace("\n", "\r\n").encode("utf-16"),
    }[way]


@pytest.mark.parametrize("way", ["windows", "marked", "utf-16", "utf-16 windows"])
def test_notes_of_every_editor_are_added_to_in_their_own_way_of_writing(
    job: Path, readings: Path, way: str
) -> None:
    plain = job.with_name("plain.yaml")
    plain.write_bytes(job.read_bytes())
    job.write_bytes(odd(job, way))
    for file in (plain, job):
        assert run("bring-in", file, readings, "--write").exit_code == FINE
    assert job.read_bytes() == odd(plain, way)
    assert job.read_bytes() != odd(WALK, way)


ASKED: dict[str, tuple[str | Path, ...]] = {
    "check": ("check", "{}"),
    "price": ("price", WALK, "--book", "{}"),
    "learn": ("learn", "{}", "--book", BOOK),
    "bring-in": ("bring-in", WALK, "{}"),
    "as-built": ("as-built", WALK, "{}"),
    "pour": ("pour", WALK, "--day", "2026-05-05", "--weather", "{}"),
    "change": ("change", "{}", *CHANGE),
}


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("thing", ["folder", "circle", "empty pipe", "terabyte", "nothing", "zeros"])
def test_what_is_no_file_of_ours_is_refused_in_words_and_soon(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: str, thing: str
) -> None:
    monkeypatch.setattr(files, "WAIT", 0.05)
    file = tmp_path / "given.csv"
    if thing == "folder":
        file.mkdir()
    elif thing == "circle":
        file.symlink_to(file)
    elif thing == "empty pipe":
        os.mkfifo(file)
    elif thing == "zeros":
        file.write_bytes(bytes(4096))  # as a power cut leaves a file on some disks
    elif thing == "terabyte":
        with file.open("wb") as large:
            large.truncate(1 << 40)
    result = run(*(str(word).format(file) for word in ASKED[asked]))
    assert result.exit_code == UNUSABLE, result.output
    assert "given.csv" in result.output
    assert "Traceback" not in result.output


# --- two at once, and other versions ----------------------------------------------------------------------


def test_a_quote_that_somebody_else_changed_meanwhile_is_not_written_over(
    quote: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read, waiting = money_after._read, [True]

    def read_then_somebody_is_quicker(file: Path) -> object:
        found = read(file)
        if waiting and waiting.pop():
            assert run("change", quote, *CHANGE).exit_code == FINE
        return found

    monkeypatch.setattr(money_after, "_read", read_then_somebody_is_quicker)
    result = run(
        "change", quote, "--why", "x", "--what", "y", "--price", "$5", "--out", quote.parent / "mine"
    )
    assert result.exit_code == FAILED
    assert "changed by somebody else meanwhile. Try again." in result.output
    assert [str(c.price) for c in read_kept(quote.read_bytes()).changes] == ["250"]
    assert not (quote.parent / "mine").exists()


def test_notes_that_were_saved_elsewhere_meanwhile_are_not_written_over(
    job: Path, readings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from slabwright.notes import writer

    real, more = writer.update, "\n# said on the telephone\n"

    def slow(text: str, changes: object) -> str:
        job.write_text(WALK.read_text(encoding="utf-8") + more, encoding="utf-8")
        return real(text, changes)

    monkeypatch.setattr("slabwright.ground.bring_in.update", slow)
    result = run("bring-in", job, readings, "--write")
    assert result.exit_code == FAILED
    assert "changed by another program meanwhile" in result.output
    assert job.read_text(encoding="utf-8").endswith(more)


def newer(quote: Path, **more: object) -> dict[str, str]:
    data = json.loads(quote.read_text(encoding="utf-8"))
    quote.write_text(json.dumps({**data, **more}), encoding="utf-8")
    return held(quote.parent)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"version": 2}, "newer version of the program: use that one"),
        ({"version": 2, "storms": []}, "newer version of the program: use that one"),
        ({"storms": [1]}, '"storms" in it is not known to this version and would be lost'),
    ],
)
def test_a_quote_of_a_newer_program_is_left_alone(quote: Path, more: dict[str, object], said: str) -> None:
    before = newer(quote, **more)
    result = run("change", quote, *CHANGE)
    assert result.exit_code == UNUSABLE
    assert said in result.output
    assert held(quote.parent) == before


def test_a_quote_of_an_older_program_lacks_what_came_later_and_is_read(quote: Path) -> None:
    data = json.loads(quote.read_text(encoding="utf-8"))
    for key in ("version", "changes", "bills"):
        del data[key]
    quote.write_text(json.dumps(data), encoding="utf-8")
    assert run("change", quote, *CHANGE).exit_code == FINE


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_half_a_quote_is_said_to_be_cut_off(quote: Path, share: float) -> None:
    data = quote.read_bytes()
    quote.write_bytes(data[: int(len(data) * share)])
    before = held(quote.parent)
    result = run("change", quote, *CHANGE)
    assert result.exit_code == UNUSABLE
    assert "it is cut off, or no JSON" in result.output
    assert held(quote.parent) == before


# --- a clock that is wrong --------------------------------------------------------------------------------


def test_a_dead_battery_in_the_clock_stops_no_packet_and_no_price(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An archive knows no day before 1980, and a workbook is one."""
    assert run("plan", job, "--out", tmp_path / "now", "--quiet").exit_code == FINE
    real = time.localtime
    monkeypatch.setattr(time, "time", lambda: 86_400.0)
    monkeypatch.setattr(time, "localtime", lambda when=None: real(86_400.0 if when is None else when))
    with pytest.raises(ValueError, match="1980"), zipfile.ZipFile(tmp_path / "plain.zip", "w") as plain:
        plain.writestr("a", "the library itself refuses such a day")
    assert run("plan", job, "--out", tmp_path / "then", "--quiet").exit_code == FINE
    assert held(tmp_path / "then") == held(tmp_path / "now")
    assert run("price-book", "-o", tmp_path / "book.xlsx").exit_code == FINE
    assert run("quote", job, "--book", tmp_path / "book.xlsx", "--out", tmp_path / "q").exit_code == FINE


@pytest.mark.parametrize("year", [1970, 1979, 2107, 2200])
def test_files_from_a_clock_that_is_wrong_are_files(job: Path, quote: Path, year: int) -> None:
    moment = (year - 1970) * 365.2425 * 86400
    for file in (job, quote):
        os.utime(file, (moment, moment))
    assert run("plan", job, "--out", job.parent / "out", "--quiet").exit_code == FINE
    assert run("change", quote, *CHANGE).exit_code == FINE
