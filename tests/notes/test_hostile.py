"""Files that are no job files: one clear line each, no traceback, bounded memory and time."""

from __future__ import annotations

import os
import threading
import time
import tracemalloc
from pathlib import Path

import pytest

from slabwright.notes import NotesError, parse_notes, read_notes
from slabwright.notes.nodes import MAX_DEPTH
from slabwright.notes.reader import MAX_BYTES

LIMIT_MEMORY = 4_000_000  # bytes; four times the largest file that is read


def refused(path: Path) -> str:
    with pytest.raises(NotesError) as caught:
        read_notes(path)
    text = str(caught.value)
    assert len(text.splitlines()) == 1
    return text


def refused_text(data: str | bytes) -> str:
    with pytest.raises(NotesError) as caught:
        parse_notes(data)
    return str(caught.value)


def test_fifty_megabytes_are_not_read(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    with file.open("wb") as out:
        out.write(b"title: large\n")
        out.truncate(50_000_000)  # zeros, without writing them
    tracemalloc.start()
    began = time.perf_counter()
    message = refused(file)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "larger than 1,000,000 bytes" in message
    assert peak < LIMIT_MEMORY
    assert time.perf_counter() - began < 2.0


def test_fifty_megabytes_of_good_notes_are_refused_alike(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    line = b"  - A-B: 42' 0 1/4\n"
    file.write_bytes(b"title: large\ntape:\n" + line * (50_000_000 // len(line)))
    assert "larger than" in refused(file)


def test_billion_laughs(tmp_path: Path) -> None:
    lines = ["a0: &a0 [ha, ha, ha, ha, ha, ha, ha, ha, ha]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    file = tmp_path / "job.yaml"
    file.write_text("\n".join(lines))
    tracemalloc.start()
    message = refused(file)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert message.startswith('job.yaml:1: "&a0" is a YAML anchor or alias')
    assert peak < LIMIT_MEMORY


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_deep_nesting(opening: str) -> None:
    began = time.perf_counter()
    message = refused_text(opening * 100_000)
    assert f"nested more than {MAX_DEPTH} deep" in message or "plain word" in message
    assert time.perf_counter() - began < 2.0


def test_deep_block_nesting() -> None:
    text = "".join(" " * i + f"k{i}:\n" for i in range(500))
    assert "nested more than" in refused_text(text)


def test_nesting_at_the_limit_is_judged_as_notes() -> None:
    text = "title: " + "[" * (MAX_DEPTH - 1) + "]" * (MAX_DEPTH - 1)
    assert "nested" not in refused_text(text)
    assert "nested" in refused_text("title: " + "[" * MAX_DEPTH + "]" * MAX_DEPTH)


def test_many_values(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("title: [" + "1," * 450_000 + "1]")
    tracemalloc.start()
    message = refused(file)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "holds more than 50,000 values" in message
    assert peak < 40_000_000


def test_exactly_the_largest_file_is_read() -> None:
    text = "title: x\n# "
    assert "larger than" not in refused_text(text + "x" * (MAX_BYTES - len(text)))
    assert "larger than" in refused_text(text + "x" * (MAX_BYTES - len(text) + 1))
    assert "larger than" in refused_text((text + "x" * (MAX_BYTES - len(text) + 1)).encode())


def test_a_folder(tmp_path: Path) -> None:
    assert "this is a folder, not a job file." in refused(tmp_path)
    (tmp_path / "job.yaml").write_text("title: x")
    assert "it holds a job.yaml: name that file" in refused(tmp_path)


def test_no_file(tmp_path: Path) -> None:
    assert "there is no file" in refused(tmp_path / "gone.yaml")
    assert "there is no file" in refused(tmp_path / "no folder" / "gone.yaml")


def test_names_that_no_file_can_have(tmp_path: Path) -> None:
    assert "cannot be opened" in refused(Path("job\0.yaml"))
    assert "cannot be opened" in refused(tmp_path / ("x" * 5000))


def test_a_device() -> None:
    assert "this is a device" in refused(Path(os.devnull))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_forbidden(tmp_path: Path) -> None:
    file = tmp_path / "job.yaml"
    file.write_text("title: x")
    file.chmod(0)
    assert "permissions" in refused(file)


@pytest.mark.parametrize("data", [b"", b"\n\n", b"# nothing yet\n", b"\xef\xbb\xbf", b"---\n"])
def test_an_empty_file(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "job.yaml"
    file.write_bytes(data)
    assert "the file is empty: a job file begins with its title" in refused(file)


def test_nul_bytes() -> None:
    assert refused_text(b"title: x\nuse: wa\0lk\n") == (
        "job.yaml:2: the file holds NUL bytes, so it is not plain text: save it as plain text in UTF-8."
    )


def test_utf_16_without_its_mark_holds_nul_bytes() -> None:
    assert "NUL bytes" in refused_text("title: x\n".encode("utf-16-le"))


def test_broken_utf_16() -> None:
    assert "UTF-16 is broken" in refused_text(b"\xff\xfe\x00\xd8")


def test_utf_32() -> None:
    assert "UTF-32" in refused_text("title: x\n".encode("utf-32"))


def test_latin_1() -> None:
    message = refused_text("title: x\ncustomer: Zoë\n".encode("latin-1"))
    assert message.startswith("job.yaml:2: the byte 0xEB is not UTF-8")


@pytest.mark.parametrize(
    ("start", "what"),
    [
        (b"%PDF-1.7\n", "a PDF"),
        (b"PK\x03\x04", "a spreadsheet"),
        (b"\x89PNG\r\n", "a picture"),
        (b"\xff\xd8\xff\xe0", "a picture"),
        (b"\xd0\xcf\x11\xe0", "an old spreadsheet"),
        (b"\x1f\x8b\x08", "a compressed file"),
    ],
)
def test_files_of_other_programs(start: bytes, what: str) -> None:
    assert f"this is {what}" in refused_text(start + bytes(range(256)))


def test_lone_surrogates_in_json_do_not_travel_on() -> None:
    message = refused_text('{"title": "\\ud83d", "use": "\\ud83d\\ude00"}')
    message.encode("utf-8")


def test_a_very_long_key_or_value_is_cut_in_the_message() -> None:
    assert len(refused_text("k" * 5000 + ": 1\n").splitlines()[0]) < 300
    assert all(len(line) < 400 for line in refused_text("title: " + "x" * 5000 + "\n").splitlines())


def test_a_pipe_is_read_like_a_file(tmp_path: Path) -> None:
    pipe = tmp_path / "job.yaml"
    os.mkfifo(pipe)
    writer = threading.Thread(target=pipe.write_text, args=("title: x\n",))
    writer.start()
    with pytest.raises(NotesError, match="slabs: is missing"):
        read_notes(pipe)
    writer.join()
