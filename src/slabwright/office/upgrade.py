"""One office a home, and one version a database: who is in, what is older, what is newer."""

from __future__ import annotations

import fcntl
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.db.migrations.executor import MigrationExecutor

Tell = Callable[[str], None]
LOCK = "open"  # file in the home, held by the office that is open
_held: list[int] = []


class OfficeError(Exception):
    """The office cannot be started or kept; str() says why and what to do."""


def hold(home: Path, about: str) -> None:
    """Take the home for this process until it ends. OfficeError where another one has it.

    about: what whoever comes next is told, such as the address that it is open at.
    """
    if _held:
        return
    handle = os.open(home / LOCK, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        said = os.pread(handle, 200, 0).decode(errors="replace").strip()
        os.close(handle)
        raise OfficeError(
            f"the office in {home} is open already ({said}): stop it first, or use another --home"
        ) from None
    except OSError:
        pass  # a disk that knows no locks
    with suppress(OSError):  # a full disk is said by what is written next
        os.ftruncate(handle, 0)
        os.pwrite(handle, f"process {os.getpid()}, {about}\n".encode(), 0)
    _held.append(handle)


def let_go() -> None:
    """Leave the home to others; in a worker only its own copy of the hold, so that the master keeps it."""
    while _held:
        os.close(_held.pop())


def not_newer(executor: MigrationExecutor) -> None:
    """Raise OfficeError for a database that a newer version of the program wrote; it is left as it is."""
    unknown = set(executor.loader.applied_migrations) - set(executor.loader.graph.nodes)
    if any(app == "office" for app, _ in unknown):
        raise OfficeError(
            "this database was written by a newer version of the program and was left as it is: "
            "install that version, or start with another --home"
        )


def copy_before(executor: MigrationExecutor, steps: list[tuple[str, str]], tell: Tell) -> None:
    """Copy a database that holds something before it is brought to this version; OfficeError where it cannot.

    An embedded database is copied into the home, under the name of the first step; of a server's one is told.
    """
    from django.conf import settings
    from django.db import connection

    if not any(app == "office" for app, _ in executor.loader.applied_migrations):
        photos = Path(settings.MEDIA_ROOT)
        if photos.is_dir() and any(photos.rglob("*.jpg")):
            tell("photos of an office are here and its database is empty: if it was lost, take a backup back")
        return
    if connection.vendor != "sqlite":
        tell(
            "an older database on a server: it is brought to this version now, each step whole or not at all"
        )
        return
    source = Path(str(connection.settings_dict["NAME"]))
    if not source.is_file():
        return
    target = source.with_name(f"{source.stem}-before-{'-'.join(steps[0])}.sqlite3")
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        with closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as old:
            part.touch(0o600)
            with closing(sqlite3.connect(part)) as new:
                old.backup(new)
        with part.open("rb") as file:
            os.fsync(file.fileno())
        os.replace(part, target)
    except (OSError, sqlite3.Error) as error:
        with suppress(OSError):
            part.unlink()
        raise OfficeError(
            f"the older database cannot be copied to {target} first ({error}), so it was left as it is"
        ) from error
    tell(f"the database as it was is kept in {target}")
