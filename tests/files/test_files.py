"""Files written all or none, and read within bounds, on a machine that will not have it."""

from __future__ import annotations

import errno
import os
import stat
import threading
import time
from pathlib import Path

import pytest

from slabwright import files
from slabwright.files import alone, head_of, put


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with two files of before, one of them for its owner's eyes alone."""
    (tmp_path / "a.txt").write_text("a of before")
    (tmp_path / "b.txt").write_text("b of before")
    (tmp_path / "b.txt").chmod(0o600)
    return tmp_path


def held(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def refuse(monkeypatch: pytest.MonkeyPatch, code: int, *, after: int) -> None:
    """Let the disk refuse what is to be kept, from the call after so many."""
    real, calls = os.fsync, []

    def fsync(handle: int) -> None:
        calls.append(handle)
        if len(calls) > after:
            raise OSError(code, os.strerror(code))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EDQUOT])
@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_disk_that_fills_up_leaves_every_file_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch, code: int, after: int
) -> None:
    before = held(folder)
    refuse(monkeypatch, code, after=after)
    new = [(folder / "a.txt", b"new"), (folder / "b.txt", b"new"), (folder / "deep/er/c.txt", b"new")]
    with pytest.raises(OSError, match=os.strerror(code)) as caught:
        put(new)
    assert caught.value.filename == str(new[after][0])
    assert held(folder) == before
    assert not (folder / "deep").exists()


def test_all_of_them_are_there_afterwards(folder: Path) -> None:
    put([(folder / "a.txt", b"new a"), (folder / "deep/er/c.txt", b"c")])
    assert held(folder) == {"a.txt": b"new a", "b.txt": b"b of before", "deep/er/c.txt": b"c"}


def test_a_file_is_on_the_disk_before_it_takes_its_place(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    sync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (done.append("kept"), sync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda a, b: (done.append("in place"), replace(a, b))[1])
    put([(folder / "a.txt", b"a"), (folder / "b.txt", b"b")])
    assert done == ["kept", "kept", "in place", "in place", "kept"]  # the last: the folder's names


def test_who_may_read_a_file_stays_as_it_was(folder: Path) -> None:
    put([(folder / "b.txt", b"new"), (folder / "c.txt", b"new")])
    assert stat.S_IMODE((folder / "b.txt").stat().st_mode) == 0o600
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE((folder / "c.txt").stat().st_mode) == 0o666 & ~mask


def test_a_link_stays_a_link(folder: Path) -> None:
    (folder / "link.txt").symlink_to("a.txt")
    put([(folder / "link.txt", b"new")])
    assert (folder / "link.txt").is_symlink()
    assert (folder / "a.txt").read_bytes() == b"new"


def test_a_folder_or_a_circle_of_links_is_not_written_over(folder: Path) -> None:
    (folder / "here").mkdir()
    (folder / "loop").symlink_to("loop")
    for name in ("here", "loop"):
        with pytest.raises(OSError, match=r"Is a directory|symbolic links"):
            put([(folder / "a.txt", b"new"), (folder / name, b"new")])
    assert (folder / "a.txt").read_text() == "a of before"


def test_a_device_is_written_as_it_stands() -> None:
    put([(Path(os.devnull), b"gone")])
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)
    with pytest.raises(OSError, match="No space left"):
        put([(Path("/dev/full"), b"too much")])


def test_no_more_is_read_than_asked_for(tmp_path: Path) -> None:
    large = tmp_path / "large"
    with large.open("wb") as file:
        file.truncate(1 << 40)  # a terabyte of zeros that nobody wrote
    assert len(head_of(large, 1000)) == 1001


def test_a_pipe_that_somebody_writes_is_read_to_its_end(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def write() -> None:
        with pipe.open("wb") as file:
            for n in range(3):
                file.write(b"%d" % n)
                file.flush()
                time.sleep(0.02)

    writer = threading.Thread(target=write)
    writer.start()
    assert head_of(pipe, 1000) == b"012"
    writer.join()


def test_a_pipe_into_which_nobody_writes_ends_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "WAIT", 0.05)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(TimeoutError, match="nothing came out of this pipe"):
        head_of(tmp_path / "pipe", 10)


def test_two_who_write_at_once_wait_for_each_other(tmp_path: Path) -> None:
    count, turns = tmp_path / "count", 20
    count.write_text("0")

    def add() -> None:
        for _ in range(turns):
            with alone(tmp_path):
                before = int(count.read_text())
                time.sleep(0.0005)
                put([(count, str(before + 1).encode())])

    both = [threading.Thread(target=add) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert count.read_text() == str(2 * turns)
