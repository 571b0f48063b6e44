"""Backups: everything of the office in one file that either database can take back.

A zip archive with `about.json` (version, counts, a hash of each member), `office.jsonl` (every row, one a
line, in Django's own form) and the photos. The secret and the sessions are not in it: after a restore
everybody signs in again.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import DatabaseError, connection, transaction

from slabwright import __version__
from slabwright.office.running import OfficeError

ROWS, ABOUT, PHOTOS = "office.jsonl", "about.json", "photos/"
_STEP = 1 << 20
_MOST_ABOUT = 50_000_000  # [bytes]; a photo takes 150
_MOST_ROW = 20_000_000  # [bytes]; a job's notes take a million at the most, escaped six
_ROW = b'{"model": "office.'  # how every row begins, as this program writes it
_DATED = (
    1980,
    1,
    1,
    0,
    0,
    0,
)  # of a member; a clock set back to before it must not stop a backup


def counts() -> dict[str, int]:
    """Return how many rows each table holds."""
    return {m._meta.model_name or "": m._default_manager.count() for m in _models()}


def _models() -> list[Any]:
    return list(apps.get_app_config("office").get_models())


@contextmanager
def _one_moment() -> Iterator[None]:
    """Read everything as of one moment, while others go on writing."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield


def _hash(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while part := file.read(_STEP):
            digest.update(part)
    return digest.hexdigest()


def write(target: Path) -> dict[str, int]:
    """Write a backup and return the counts of its rows. Raises OfficeError where it cannot be written."""
    part = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=target.parent) as folder:
            rows = Path(folder) / ROWS
            with _one_moment():
                held = counts()
                call_command("dumpdata", "office", format="jsonl", output=str(rows), verbosity=0)
            photos = _photos()
            about = {
                "program": "slabwright office",
                "version": __version__,
                "made": datetime.now(UTC).isoformat(timespec="seconds"),
                "rows": held,
                "sha256": {ROWS: _hash(rows), **{name: _hash(path) for name, path in photos.items()}},
            }
            with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as archive:
                told = zipfile.ZipInfo(ABOUT, _DATED)
                archive.writestr(told, json.dumps(about, indent=1), zipfile.ZIP_DEFLATED)
                archive.write(rows, ROWS)
                for name, path in photos.items():
                    archive.write(path, name, zipfile.ZIP_STORED)
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.chmod(0o600)
        os.replace(part, target)
    except (OSError, DatabaseError, CommandError) as error:
        with suppress(OSError):
            part.unlink()
        first = error.__cause__ if isinstance(error.__cause__, OSError) else error
        why = getattr(first, "strerror", None) or str(first)
        raise OfficeError(f"the backup {target} cannot be written: {why}") from error
    return held


def _photos() -> dict[str, Path]:
    root = Path(settings.MEDIA_ROOT)
    found = sorted(p for p in root.rglob("*") if p.is_file()) if root.is_dir() else []
    return {PHOTOS + p.relative_to(root).as_posix(): p for p in found}


def look(source: Path) -> dict[str, Any]:
    """Return what a backup says about itself, every member checked against its hash. Raises OfficeError."""
    try:
        with zipfile.ZipFile(source) as archive:
            return _looked(archive, source)
    except OfficeError:
        raise
    except Exception as error:  # a damaged archive fails in many ways inside zipfile and what unpacks for it
        raise OfficeError(f"{source} is no backup of an office, or is damaged ({error})") from error


def _looked(archive: zipfile.ZipFile, source: Path) -> dict[str, Any]:
    sizes = {one.filename: one.file_size for one in archive.infolist()}
    if sizes.get(ABOUT, 0) > _MOST_ABOUT:
        raise OfficeError(f"{source} is no backup of an office: what it says about itself is too large")
    about: dict[str, Any] = json.loads(archive.read(ABOUT))
    digests, rows = dict(about["sha256"]), dict(about["rows"])
    if ROWS not in digests or not all(isinstance(n, int) for n in rows.values()):
        raise OfficeError(f"{source} is no backup of an office: it lists no rows")
    wanted, free = sum(sizes.get(name, 0) for name in digests), _room(Path(settings.MEDIA_ROOT))
    if wanted > free:
        raise OfficeError(
            f"{source} unpacks to {wanted / 1e6:,.1f} MB and {free / 1e6:,.1f} MB are free; "
            "nothing was restored"
        )
    for name, digest in digests.items():
        told = hashlib.sha256()
        with archive.open(name) as member:
            while part := member.read(_STEP):
                told.update(part)
        if told.hexdigest() != digest:
            raise OfficeError(f"{source} is damaged: {name} is not as it was written")
    with archive.open(ROWS) as member:
        while line := member.readline(_MOST_ROW):
            if not line.startswith(_ROW) and line.strip():
                raise OfficeError(f"{source} holds rows that are none of an office; nothing was restored")
    return about


def _room(folder: Path) -> int:
    """Return the bytes that are free where a folder is or will be."""
    here = next(place for place in (folder, *folder.parents) if place.exists())
    return shutil.disk_usage(here).free


def restore(source: Path, *, over: bool = False) -> dict[str, int]:
    """Take a backup back and return the counts of its rows; wholly or not at all.

    over: replace what is there; without it an office that holds anything is refused. Raises OfficeError.
    """
    about = look(source)
    if not over and any(counts().values()):
        raise OfficeError(
            "this office is not empty: back it up, then restore with --over, or restore into another --home"
        )
    root = Path(settings.MEDIA_ROOT)
    try:
        root.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=root.parent) as folder:
            return _put_back(source, about, Path(folder), root)
    except OSError as error:
        why = error.strerror or str(error)
        raise OfficeError(f"{source} cannot be restored, nothing was changed: {why}") from error


def _put_back(source: Path, about: dict[str, Any], folder: Path, root: Path) -> dict[str, int]:
    """Put rows and photos in place of those that are there; `folder` is on the disk of `root`."""
    fresh = folder / "photos"
    fresh.mkdir()
    with zipfile.ZipFile(source) as archive:
        rows = Path(archive.extract(ROWS, folder))
        for name in about["sha256"]:
            if name.startswith(PHOTOS):
                _unpack(archive, name, fresh)
    try:
        with transaction.atomic():
            for model in reversed(_models()):
                model._default_manager.all().delete()
            call_command("loaddata", str(rows), verbosity=0)
            held = counts()
            if held != {**dict.fromkeys(held, 0), **about["rows"]}:
                raise OfficeError(f"{source} holds other rows than it says; nothing was restored")
    except (OfficeError, OSError):
        raise
    except Exception as error:  # rows that were altered fail in as many ways as there are kinds of field
        raise OfficeError(f"{source} cannot be restored, nothing was changed: {error}") from error
    old = folder / "old"
    if root.exists():
        shutil.move(root, old)
    shutil.move(fresh, root)
    return held


def _unpack(archive: zipfile.ZipFile, name: str, into: Path) -> None:
    """Write one photo below `into`; a name that leads elsewhere is refused."""
    target = (into / name.removeprefix(PHOTOS)).resolve()
    if not target.is_relative_to(into.resolve()):
        raise OfficeError(f"the backup holds {name}, which is no photo's place; nothing was restored")
    target.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(name) as member, target.open("wb") as out:
        shutil.copyfileobj(member, out, _STEP)
