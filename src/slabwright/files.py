"""Files of the person who runs the program: read within bounds, written wholly or not at all.

What is written stands beside its target first and is on the disk before it takes the target's place, so that
a full disk, a folder that may not be written or a power cut leaves the file that was there.
"""

from __future__ import annotations

import errno
import fcntl
import io
import os
import select
import stat
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import Any, Literal

_DATED = (1980, 1, 1, 0, 0, 0)  # of a member of an archive: none can be older
WAIT = 10.0  # [s] for somebody to write into a pipe


def head_of(path: Path, most: int) -> bytes:
    """Return a file's bytes, no more than `most` + 1 of them, so that one more says: too large.

    A pipe is read to its end. OSError where it cannot be opened, is a folder, or is a pipe of the file system
    into which nobody writes for WAIT seconds.
    """
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        mode = os.fstat(handle).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        named = stat.S_ISFIFO(mode) and os.path.exists(os.path.realpath(path))  # others have their writer
        if named and not select.select([handle], [], [], WAIT)[0]:
            said = f"nothing came out of this pipe in {WAIT:g} seconds"
            raise TimeoutError(errno.ETIMEDOUT, said, str(path))
        os.set_blocking(handle, True)
        with open(handle, "rb", closefd=False) as file:
            return file.read(most + 1)
    finally:
        os.close(handle)


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Keep others who ask for the same folder waiting meanwhile; a disk that knows no locks is left alone."""
    handle = -1
    try:
        with suppress(OSError):
            handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        if handle >= 0:
            os.close(handle)  # and with it the lock


def put(files: Iterable[tuple[Path, bytes]]) -> None:
    """Write files, all of them or none: each takes its place only when every one is on the disk.

    Folders are made; a link stays a link; a file that was there keeps its permissions; a pipe or a device is
    written as it stands, after the others. OSError, with the `filename` that could not be written.
    """
    parts: list[tuple[Path, Path]] = []
    made: list[Path] = []
    straight: list[tuple[Path, bytes]] = []
    try:
        for target, content in files:
            here = Path(os.path.realpath(target))
            try:
                if _is_no_file(target):
                    straight.append((target, content))
                    continue
                made += _folders(here.parent)
                parts.append((_beside(here), here))
                _write(parts[-1][0], here, content)
            except OSError as error:
                raise OSError(error.errno, error.strerror, str(target)) from error
        for part, here in parts:
            os.replace(part, here)
        for target, content in straight:
            with target.open("wb") as file:
                file.write(content)
    except BaseException:
        for part, _ in parts:
            with suppress(OSError):
                part.unlink()
        for folder in reversed(made):
            with suppress(OSError):
                folder.rmdir()
        raise
    for folder in {here.parent for _, here in parts}:
        _keep_names(folder)


class Undated(zipfile.ZipFile):
    """An archive whose members bear no date: a clock that says 1970 must not stop it from being written."""

    def __init__(self, file: Any, mode: Literal["r", "w"] = "w") -> None:
        """Open `file` (a path or an open one) to be written, packed."""
        super().__init__(file, mode, zipfile.ZIP_DEFLATED, strict_timestamps=False)

    def writestr(
        self,
        zinfo_or_arcname: str | zipfile.ZipInfo,
        data: str | bytes,  # type: ignore[override]  # all that is written here
        compress_type: int | None = None,
        compresslevel: int | None = None,
    ) -> None:
        """Add a member under its name, dated as early as an archive can."""
        entry = zinfo_or_arcname
        if isinstance(entry, str):
            entry = zipfile.ZipInfo(entry, _DATED)
            entry.compress_type = self.compression
            entry.external_attr = 0o600 << 16
        super().writestr(entry, data, compress_type, compresslevel)


def workbook_bytes(workbook: Any) -> bytes:
    """Return a workbook of openpyxl as its file, under whatever clock."""
    out = io.BytesIO()
    writer = import_module("openpyxl.writer.excel")  # here: slow to import
    writer.ExcelWriter(workbook, Undated(out)).save()
    return out.getvalue()


def _is_no_file(target: Path) -> bool:
    """Return whether a pipe or a device stands there. IsADirectoryError for a folder."""
    try:
        mode = target.stat().st_mode
    except FileNotFoundError:
        return False
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    return not stat.S_ISREG(mode)


def _folders(folder: Path) -> list[Path]:
    """Make a folder and those above it; return the ones that were not there, the uppermost first."""
    missing = [place for place in (folder, *folder.parents) if not place.exists()][::-1]
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _beside(target: Path) -> Path:
    """Return an empty file of our own beside the target: two that write at once do not share it."""
    tempfile = import_module("tempfile")  # here: slow to import, and --help writes nothing
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
    os.close(handle)
    return Path(name)


def _write(part: Path, target: Path, content: bytes) -> None:
    try:
        mode = stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        mode = 0o666 & ~_mask()
    with part.open("wb") as file:
        os.fchmod(file.fileno(), mode)
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _mask() -> int:
    """Return what this process keeps from others; it can only be asked by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _keep_names(folder: Path) -> None:
    """Make the disk keep the new names too; a disk that knows no such wish is left alone."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
