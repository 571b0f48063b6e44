"""Readers of the office and of its kept files; those that need Django make a folder of their own."""

from __future__ import annotations

import atexit
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fuzz.mutating import packed

ROOT = Path(__file__).parents[1]
JOB = ROOT / "examples/side-walk/job.yaml"
Ask = Callable[[bytes], str]


# --- quote.json -------------------------------------------------------------------------------------------


def kept_seeds() -> list[bytes]:
    """Return a quote, and one with a change order and a bill, as the command line writes them."""
    book = ROOT / "src/slabwright/money/demo_book.csv"
    with tempfile.TemporaryDirectory() as folder:

        def run(*words: str) -> bytes:
            command = [sys.executable, "-m", "slabwright", *words, "--date", "2026-05-04", "--out", folder]
            subprocess.run(command, check=False, capture_output=True)
            return (Path(folder) / "quote.json").read_bytes()

        file = f"{folder}/quote.json"
        return [
            run("quote", str(JOB), "--book", str(book), "--option", "finish=salt"),
            run("change", file, "--why", "wet ground", "--what", "drain", "--price", "$250", "--days", "1"),
            run("invoice", file, "--done", "all=50 %"),
        ]


def kept() -> Ask:
    """Return what reads a kept quote and writes what follows it."""
    from datetime import date
    from decimal import Decimal

    from slabwright.money.kept import KeptError, add_bill, add_change, kept_text, read_kept
    from slabwright.money.phrases import Both

    both = Both("more", "más")
    day = date(2026, 6, 1)

    def ask(data: bytes) -> str:
        try:
            read = read_kept(data)
        except KeptError as error:
            assert str(error).strip()
            return str(error).split(":")[0][:120]
        again = read_kept(kept_text(read))
        assert kept_text(again) == kept_text(read), "what is kept is not what was read"
        try:
            made, _ = add_change(read, reason=both, scope=both, price=Decimal(100), dated=day)
            made, _ = add_bill(made, dated=day, final=True)
            read_kept(kept_text(made))
        except KeptError as error:
            return str(error)[:120]
        return "billed"

    return ask


# --- edits ------------------------------------------------------------------------------------------------


def edit_seeds() -> list[bytes]:
    """Return edits, one line of JSON, each before the job file that it is for (none: the example)."""
    job = JOB.read_bytes()
    short = b"title: x # one\nhouse:\n  walls: [A, B]\ntape:\n  - A-B: 48' # two\n  # three\n  - {A-P1: 1', by: Jo}\n"
    rows: list[Any] = [
        {"edits": [{"kind": "set", "path": ["slabs", 0, "width"], "value": "4'", "seen": "3'"}], "base": 1},
        {
            "edits": [{"kind": "append", "path": ["tape"], "value": {"B-P2": "12' 3"}}],
            "base": 1,
            "client": "a",
        },
        {"edits": [{"kind": "delete", "path": ["tape", 1]}, {"path": ["title"], "value": "y"}], "base": 2},
        {"edits": [{"kind": "set", "path": ["points", "N1"], "value": ["1 m", "2 m"]}], "base": 1},
        {"edits": [{"kind": "set", "path": ["levels", 0, "rod", "P1"], "value": "# 4"}], "base": 1},
        {"base": "1", 'v:["slabs",0,"width"]': "4'", 's:["slabs",0,"width"]': '"3\'"', "client": "b"},
        {"base": "1", "add": '["tape"]', 'n:["tape",0,"A-B"]': "4'", 'n:["tape",0,"by"]': "Jo"},
        {"base": "1", "take": '["tape",0]'},
        {"base": "1", "add": '["heights"]', 'n:["heights","+name"]': "N5", 'n:["heights","+value"]': "1 ft"},
    ]
    return [json.dumps(row).encode() + b"\n" + text for row in rows for text in (b"", short, job[:2500])]


def _remarks(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


def edits() -> Ask:
    """Return what takes edits in and makes them in a text, as the office does but for its database."""
    _django()
    from slabwright.office.actions.edits import EditError, made
    from slabwright.office.actions.jobs import _settled
    from slabwright.office.pages.sheet_edits import TypedError, sent_form, sent_json
    from slabwright.office.planning import tree_of

    example = JOB.read_text(encoding="utf-8")

    def ask(data: bytes) -> str:
        head, _, rest = data.partition(b"\n")
        text = rest.decode("utf-8", errors="replace") if rest.strip() else example
        try:
            given = json.loads(head)
        except (ValueError, RecursionError):
            given = None
        try:
            if isinstance(given, dict) and "edits" not in given:
                sent = sent_form({str(k): str(v) for k, v in given.items()})
            else:
                sent = sent_json(head)
        except (EditError, TypedError) as error:
            str(error).encode()
            return type(error).__name__
        moved, clashes = _settled(tree_of(text), sent.edits)
        if clashes:
            return "clash"
        if not moved:
            return "nothing"
        new, wrong = made(text, moved)
        if wrong:
            assert new == text
            for lang in ("en", "es"):
                "".join(one.text(lang) for one in wrong).encode()
            return "mistakes"
        new.encode()
        before, after = tree_of(text), tree_of(new)
        assert after, "nothing can be read any more"
        touched = {edit.path[0] for edit in moved}
        for key, value in before.items() if isinstance(before, dict) else ():
            assert key in touched or after.get(key) == value, f"{key} changed unasked"
        if all(edit.kind != "delete" and isinstance(edit.value, str) for edit in moved):
            gone = set(_remarks(text)) - set(_remarks(new))
            assert not gone or any(not isinstance(at_of(before, e.path), str) for e in moved), (
                f"remarks lost: {gone}"
            )
        return "made"

    return ask


def at_of(tree: Any, path: tuple[str | int, ...]) -> Any:
    """Return what stands at a path, None where nothing does."""
    from slabwright.office.actions.edits import at

    return at(tree, path)


# --- backups and photos -----------------------------------------------------------------------------------


def _django() -> Path:
    """Set Django up in a folder of this process's own, once."""
    from slabwright.office import running

    given = os.environ.get("FUZZ_OWN_HOME")
    if given and Path(given).is_dir():
        return Path(given)
    folder = tempfile.mkdtemp(
        prefix="slabwright-fuzz-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None
    )
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["FUZZ_OWN_HOME"] = folder
    running.prepare(Path(folder))
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)
    return Path(folder)


def _filled() -> None:
    from django.core.files.base import ContentFile

    from slabwright.office.actions import jobs, photos
    from slabwright.office.models import Person

    if Person.objects.exists():
        return
    person = Person.objects.create_user("lena@example.test", "wet grass at six", name="Lena", role="owner")
    job = jobs.start(person=person, title="Elm 4", use="walk")
    photos.add(person=person, job=job, file=ContentFile(photo_seeds()[0]), size=1000)


def backup_seeds() -> list[bytes]:
    """Return a backup of a small office."""
    if "FUZZ_OWN_HOME" in os.environ:
        return []
    folder = _django()
    _filled()
    from slabwright.office import backup

    backup.write(folder / "kept.zip")
    seed = (folder / "kept.zip").read_bytes()
    del os.environ["FUZZ_OWN_HOME"]
    return [seed]


def _mended(data: bytes) -> bytes:
    """Return an archive whose hashes are right again, so that what is in it is read at all."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {one.filename: archive.read(one) for one in archive.infolist() if one.file_size < 2_000_000}
    about = json.loads(parts["about.json"])
    rest = {name: content for name, content in parts.items() if name != "about.json"}
    about["sha256"] = {name: hashlib.sha256(content).hexdigest() for name, content in rest.items()}
    rows = parts["office.jsonl"].decode().split("\n")
    models = [json.loads(row)["model"].partition(".")[2] for row in rows if row.strip()]
    about["rows"] = {name: models.count(name) for name in models}
    return packed([("about.json", json.dumps(about).encode()), *rest.items()])


def backups() -> Ask:
    """Return what takes a backup back: as it comes, and with its hashes made right."""
    folder = _django()
    _filled()
    from django.conf import settings

    from slabwright.office import backup
    from slabwright.office.running import OfficeError

    file, root = folder / "given.zip", Path(settings.MEDIA_ROOT)
    backup.write(folder / "good.zip")

    def state() -> tuple[dict[str, int], list[str]]:
        return backup.counts(), sorted(str(p) for p in folder.rglob("*") if "sqlite3" not in p.name)

    def ask(data: bytes) -> str:
        said = []
        forms = [data]
        try:
            forms.append(_mended(data))
        except Exception:
            said.append("no archive")
        for form in forms:
            file.write_bytes(form)
            before = state()
            try:
                backup.restore(file, over=True)
            except OfficeError as error:
                assert state() == before, "a refused backup changed something"
                said.append(" ".join(str(error).replace(str(file), "").split()[:6]))
                continue
            said.append("restored")
            outside = [p for p in folder.rglob("*") if p.is_file() and root not in p.parents]
            assert {p.name.split("-")[0] for p in outside} <= {
                "given.zip",
                "good.zip",
                "office.sqlite3",
                "secret",
            }
            backup.restore(folder / "good.zip", over=True)
        return " | ".join(said)

    return ask


def photo_seeds() -> list[bytes]:
    """Return small pictures of every kind that a phone or a program sends."""
    from PIL import Image

    out = []
    for mode, kind, more in (
        ("RGB", "JPEG", {"exif": b"Exif\0\0II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0"}),
        ("CMYK", "JPEG", {}),
        ("L", "JPEG", {"progressive": True}),
        ("RGBA", "PNG", {}),
        ("P", "PNG", {"transparency": 3}),
        ("I;16", "PNG", {}),
        ("1", "PNG", {}),
        ("RGBA", "WEBP", {}),
    ):
        file = io.BytesIO()
        Image.new(mode, (9, 7)).save(file, kind, **more)  # type: ignore[arg-type]
        out.append(file.getvalue())
    return out


def photos() -> Ask:
    """Return what cleans a photo."""
    import warnings

    _django()
    from slabwright.office.actions.photos import PhotoError, cleaned

    def ask(data: bytes) -> str:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                large, small, size = cleaned(io.BytesIO(data))
            except PhotoError as error:
                return error.key
        assert large[:2] == small[:2] == b"\xff\xd8"
        assert b"Exif" not in large
        assert max(size) <= 2000
        return "kept"

    return ask
