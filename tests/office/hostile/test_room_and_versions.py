"""A bad day at the office: no room, two at one home, a database older, newer or damaged. Nothing is lost."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.db import OperationalError, connection
from django.test import RequestFactory
from tests.kit.people import EXAMPLES, job, person, signed_in

from slabwright.office import backup, middleware, running, upgrade
from slabwright.office.models import Job, Photo, Revision
from slabwright.office.running import OfficeError


def call(*words: str, home: Path, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("SLABWRIGHT_", "DJANGO_"))}
    return subprocess.run(
        [sys.executable, "-m", "slabwright", "office", *words],
        env=clean | {"SLABWRIGHT_HOME": str(home)} | (env or {}),
        capture_output=True,
        text=True,
        timeout=90,
        check=False,
    )


# --- no room ----------------------------------------------------------------------------------------------


def pragma(name: str, value: int | None = None) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {name}" + ("" if value is None else f" = {value}"))
        return int(cursor.fetchone()[0])


def send(client, one: Job, width: str, n: int):
    sent = {"edits": [{"kind": "set", "path": ["slabs", 0, "width"], "value": width}]}
    return client.post(
        f"/jobs/{one.code}/change/",
        {**sent, "base": Job.objects.get(pk=one.pk).number, "client": f"full-{n}"},
        content_type="application/json",
    )


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("lang", ["en", "es"])
def test_an_edit_that_finds_the_disk_full_says_so_and_what_was_saved_stands(lang):
    """SQLite itself is allowed no page more than it has: the error is its own."""
    who = person(language=lang)
    one = job(who)
    client = signed_in(who, raise_request_exception=False)
    assert send(client, one, "4'", 0).status_code == 200
    before = Job.objects.get(pk=one.pk).text
    most = pragma("max_page_count")
    with connection.cursor() as cursor:  # what earlier tests left free is room too
        cursor.execute("CREATE TABLE filling (bytes BLOB)")
        room = pragma("freelist_count") * pragma("page_size")
        cursor.execute("INSERT INTO filling VALUES (zeroblob(%s))", [room])
    pragma("max_page_count", pragma("page_count"))
    try:
        answers = [send(client, one, f"4' {n}", n) for n in range(1, 12)]
    finally:
        pragma("max_page_count", most)
        with connection.cursor() as cursor:
            cursor.execute("DROP TABLE filling")
    refused = [a for a in answers if a.status_code != 200]
    assert refused, "the disk never filled up"
    assert {a.status_code for a in refused} == {507}
    said = refused[-1].content.decode()
    assert ("The disk is full" if lang == "en" else "El disco está lleno") in said
    now = Job.objects.get(pk=one.pk)
    assert now.number == 2 + len(answers) - len(refused)
    newest = Revision.objects.filter(job=one).first()
    assert newest.text == now.text
    assert (now.text == before) == (len(refused) == len(answers))
    assert send(client, one, "5'", 99).status_code == 200
    assert "width: 5'" in Job.objects.get(pk=one.pk).text


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ("attempt to write a readonly database", 507),
        ("database or disk is full", 507),
        ("disk I/O error", 503),
        ("unable to open database file", 503),
        ("could not connect to server", 503),
    ],
)
def test_what_the_database_says_becomes_a_page_in_words(said, status):
    plainly = middleware.Plainly(lambda _request: None)
    answer = plainly.process_exception(RequestFactory().post("/"), OperationalError(said))
    assert answer.status_code == status
    assert "Traceback" not in answer.content.decode()


@pytest.fixture
def photos(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path / "home" / "photos")
    return Path(settings.MEDIA_ROOT)


@pytest.fixture
def yard(photos):
    one = job(person())
    photos.mkdir(parents=True)
    (photos / "gate.jpg").write_bytes(b"not a real photo \x00\xff")
    Photo.objects.create(job=one, file="gate.jpg", width=4, height=3, words="gate")
    return one


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("where", ["fsync", "dump"])
def test_a_backup_that_does_not_fit_leaves_the_one_before(yard, tmp_path, monkeypatch, where):
    target = tmp_path / "kept" / "office.zip"
    backup.write(target)
    before = target.read_bytes()

    def refuse(*_args, **_named):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(*((os, "fsync", refuse) if where == "fsync" else (backup.zipfile, "ZipFile", refuse)))
        with pytest.raises(OfficeError, match=r"cannot be written: No space left on device$"):
            backup.write(target)
    assert target.read_bytes() == before
    assert [p.name for p in target.parent.iterdir()] == ["office.zip"]


@pytest.mark.django_db(transaction=True)
def test_a_restore_that_would_not_fit_is_refused_before_it_begins(yard, tmp_path, monkeypatch):
    target = tmp_path / "kept.zip"
    backup.write(target)
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda _place: usage._replace(free=1000))
    with pytest.raises(OfficeError, match=r"unpacks to 0\.\d MB and 0\.0 MB are free; nothing was restored"):
        backup.restore(target, over=True)


@pytest.mark.django_db(transaction=True)
def test_a_restore_that_runs_full_on_its_way_changes_nothing(yard, photos, tmp_path, monkeypatch):
    target = tmp_path / "kept.zip"
    backup.write(target)
    Job.objects.update(title="newer than the backup")

    def refuse(*_args):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(shutil, "copyfileobj", refuse)
    with pytest.raises(OfficeError, match="nothing was changed: No space left"):
        backup.restore(target, over=True)
    assert Job.objects.get().title == "newer than the backup"
    assert (photos / "gate.jpg").exists()
    assert [p.name for p in photos.parent.iterdir()] == ["photos"]


@pytest.mark.django_db(transaction=True)
def test_a_photo_that_does_not_fit_leaves_neither_a_row_nor_a_file(yard, photos, monkeypatch):
    from PIL import Image

    from slabwright.office.actions import photos as actions

    whole = photos / "whole.png"
    Image.new("RGB", (8, 8)).save(whole)
    content = ContentFile(whole.read_bytes())
    whole.unlink()
    before = sorted(photos.rglob("*.jpg"))

    def refuse(*_args):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(OSError, match="No space left"):
        actions.add(person=person("Ida"), job=yard, file=content, size=100)
    assert sorted(photos.rglob("*.jpg")) == before
    assert Photo.objects.count() == 1


# --- two at one home --------------------------------------------------------------------------------------


def test_a_home_has_one_office_and_is_free_when_it_was_killed(own_office):
    office = own_office(workers=1)
    office.start()
    for words in (("--port", "1"), ("restore", str(office.home / "kept.zip"))):
        second = call(*words, home=office.home)
        assert second.returncode == 3
        assert (
            f"the office in {office.home} is open already (process {office.process.pid}, at" in second.stderr
        )
        assert "stop it first, or use another --home" in second.stderr
    assert call("backup", str(office.home / "kept.zip"), home=office.home).returncode == 0
    assert office.answers()
    office.kill()
    office.start()
    assert office.answers()


# --- older and newer databases ----------------------------------------------------------------------------


def logical(file: Path) -> list[str]:
    with sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True) as open_one:
        return list(open_one.iterdump())


@pytest.fixture
def closed_office(own_office):
    """An office that is not open, with one job in it."""
    office = own_office()
    job(person())
    connection.close()
    return office


def test_a_database_of_a_newer_program_is_left_as_it_is(closed_office):
    file = closed_office.home / "office.sqlite3"
    with sqlite3.connect(file) as one:
        one.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('office', '0999_x', '2027-01-01')"
        )
    before = logical(file)
    for words in (
        (),
        ("backup", "kept.zip"),
        ("restore", "kept.zip", "--over"),
        ("password", "lena@shop.example"),
    ):
        done = call(*words, home=closed_office.home)
        assert done.returncode == 3
        assert "written by a newer version of the program and was left as it is" in done.stderr
    assert logical(file) == before


def test_an_older_database_is_copied_before_it_is_brought_to_this_version(closed_office):
    file = closed_office.home / "office.sqlite3"
    closed_office.manage("migrate", "office", "0003", "--verbosity", "0")
    before = logical(file)
    done = call("backup", str(closed_office.home / "kept.zip"), home=closed_office.home)
    assert done.returncode == 0, done.stderr
    (copy,) = closed_office.home.glob("office-before-*.sqlite3")
    assert copy.name.startswith("office-before-office-0004")
    assert f"the database as it was is kept in {copy}" in done.stderr
    assert logical(copy) == before
    assert copy.stat().st_mode & 0o077 == 0
    assert "1 jobs, 1 revisions" in done.stderr
    again = call("backup", str(closed_office.home / "kept.zip"), home=closed_office.home)
    assert "the database" not in again.stderr, "nothing is left to do"


def test_an_older_database_that_cannot_be_copied_is_left_as_it_is(closed_office, monkeypatch):
    from django.db.migrations.executor import MigrationExecutor

    closed_office.manage("migrate", "office", "0003", "--verbosity", "0")
    file = closed_office.home / "office.sqlite3"
    before = logical(file)

    def refuse(_handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(upgrade.os, "fsync", refuse)
    with pytest.raises(OfficeError, match="No space left"):
        upgrade.copy_before(MigrationExecutor(connection), [("office", "0004_x")], lambda _said: None)
    assert logical(file) == before
    assert not list(closed_office.home.glob("*before*"))


def test_a_new_office_copies_nothing(tmp_path):
    done = call("backup", str(tmp_path / "kept.zip"), home=tmp_path / "home")
    assert done.returncode == 0
    assert not list((tmp_path / "home").glob("*before*"))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"no database at all " * 500, "file is not a database"),
        (None, "malformed"),
    ],
)
def test_a_damaged_database_is_called_damaged(closed_office, content, said):
    file = closed_office.home / "office.sqlite3"
    whole = file.read_bytes()
    bad = content or whole[: len(whole) // 8] + os.urandom(len(whole) // 8)
    for beside in closed_office.home.glob("office.sqlite3*"):
        beside.unlink()
    file.write_bytes(bad)
    done = call("backup", "kept.zip", home=closed_office.home)
    assert done.returncode == 3
    assert said in done.stderr
    assert "It is damaged: move it away and take a backup back" in done.stderr
    assert file.read_bytes() == bad


def test_photos_without_a_database_are_noticed(tmp_path):
    (tmp_path / "photos" / "2026").mkdir(parents=True)
    (tmp_path / "photos" / "2026" / "gate.jpg").write_bytes(b"x")
    (tmp_path / "office.sqlite3").touch()  # as a power cut leaves a file on some disks
    done = call("backup", str(tmp_path / "kept.zip"), home=tmp_path)
    assert "its database is empty: if it was lost, take a backup back" in done.stderr


def test_a_home_that_cannot_be_made_is_named_without_a_second_full_stop(tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = call(home=tmp_path / "file" / "home")
    assert done.returncode == 3
    assert done.stderr.endswith("Choose another folder with --home.\n")
    assert running.OfficeError is upgrade.OfficeError


# --- odd and large files sent in --------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "windows"])
def test_a_job_file_of_every_editor_can_be_brought_in(code):
    text = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")
    sent = text.replace("\n", "\r\n").encode() if code == "windows" else text.encode(code)
    client = signed_in(person())
    client.post("/jobs/bring/", {"file": ContentFile(sent, name="job.yaml")})
    assert Job.objects.get().text == text


@pytest.mark.django_db
@pytest.mark.parametrize(
    "content", [b"x" * 1_500_000, b"title: a\0b\n", b"", b"\xff\xfe\x00\xd8", b"PK\x03\x04"]
)
def test_what_is_no_job_file_is_refused_in_words_and_starts_no_job(content):
    client = signed_in(person())
    answer = client.post("/jobs/bring/", {"file": ContentFile(content, name="job.yaml")})
    assert 400 <= answer.status_code < 500
    assert "Traceback" not in answer.content.decode()
    assert not Job.objects.exists()


@pytest.mark.django_db
def test_a_form_that_is_far_too_large_gets_a_page_that_says_so():
    who = person()
    one = job(who)
    answer = signed_in(who).post(f"/jobs/{one.code}/notes/", {"text": "x" * 3_000_000})
    assert answer.status_code == 413
    assert Job.objects.get().text == one.text


@pytest.mark.parametrize(
    ("content", "said"), [(b"x" * 1_200_000, "larger than 1,000,000 bytes"), (None, "folder")]
)
def test_an_office_opened_with_what_is_no_job_file_says_so(tmp_path, content, said):
    file = tmp_path / "job.yaml"
    file.write_bytes(content) if content else file.mkdir()
    done = call("--load", str(file), "--port", "1", home=tmp_path / "home")
    assert done.returncode in (2, 3)
    assert said in done.stderr or "is a directory" in done.stderr
    assert "Traceback" not in done.stderr
