"""A backup holds everything, goes back wholly or not at all, and from one database to the other."""

from __future__ import annotations

import json
import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from slabwright.office import backup
from slabwright.office.actions import jobs
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Job, Person, Photo, Revision
from slabwright.office.running import OfficeError


@pytest.fixture
def photos(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path / "home" / "photos")
    return Path(settings.MEDIA_ROOT)


@pytest.fixture
def shop(photos):
    """A shop with two people, a job of three revisions and a photo."""
    lena = Person.objects.create_user("lena@example.test", "wet grass at six", name="Lena", role="owner")
    Person.objects.create_user("tomas@example.test", "cold hands, hot tea", name="Tomás")
    job = jobs.start(person=lena, title="Elm 4 – walk", use="walk")
    for n, width in enumerate(("3' 6", "4'"), 1):
        jobs.change(person=lena, job=job, edits=[Edit("set", ("slabs", 0, "width"), width)], base=n)
    (photos / "2026/05").mkdir(parents=True)
    (photos / "2026/05/gate.jpg").write_bytes(b"not a real photo, but bytes \x00\xff")
    Photo.objects.create(job=job, file="2026/05/gate.jpg", width=4, height=3, words="gate", person=lena)
    return job


def everything() -> list[object]:
    """Return every row, times to the millisecond, which is how a backup holds them."""

    def kept(value: object) -> object:
        if isinstance(value, datetime):
            return value.replace(microsecond=value.microsecond // 1000 * 1000)
        return value

    models = (Person, Job, Revision, Photo)
    return [
        [{k: kept(v) for k, v in row.items()} for row in m.objects.order_by("pk").values()] for m in models
    ]


@pytest.mark.django_db(transaction=True)
def test_what_was_kept_comes_back_on_each_database(each_database, shop, photos, tmp_path):
    before, target = everything(), tmp_path / "kept.zip"
    held = backup.write(target)
    assert held["job"] == 1
    assert held["revision"] == 3
    jobs.change(person=None, job=shop, edits=[Edit("set", ("slabs", 0, "width"), "5'")], base=3)
    Person.objects.filter(name="Tomás").delete()
    (photos / "2026/05/gate.jpg").unlink()
    backup.restore(target, over=True)
    assert everything() == before
    assert (photos / "2026/05/gate.jpg").read_bytes().startswith(b"not a real photo")
    # What is made afterwards does not meet the numbers of what came back.
    assert jobs.start(person=None, title="Next", use="pad").pk > shop.pk


@pytest.mark.django_db(transaction=True)
def test_a_backup_of_one_database_goes_into_the_other(each_database, shop, photos, tmp_path, request):
    """The rows are Django's own form: the file made on this database reads back equal, field by field."""
    target = tmp_path / "kept.zip"
    backup.write(target)
    with zipfile.ZipFile(target) as archive:
        rows = [json.loads(line) for line in archive.read(backup.ROWS).decode().splitlines()]
    assert {row["model"] for row in rows} >= {
        "office.job",
        "office.person",
        "office.revision",
        "office.photo",
    }
    texts = [r["fields"]["text"] for r in rows if r["model"] == "office.revision"]
    assert texts == list(Revision.objects.order_by("pk").values_list("text", flat=True))


@pytest.mark.django_db(transaction=True)
def test_an_office_that_holds_something_is_not_written_over_unasked(shop, tmp_path):
    target = tmp_path / "kept.zip"
    backup.write(target)
    with pytest.raises(OfficeError, match="not empty"):
        backup.restore(target)


@pytest.mark.django_db(transaction=True)
def test_a_damaged_backup_changes_nothing(shop, tmp_path):
    before, target, bad = everything(), tmp_path / "kept.zip", tmp_path / "bad.zip"
    backup.write(target)
    with zipfile.ZipFile(target) as archive, zipfile.ZipFile(bad, "w") as out:
        for name in archive.namelist():
            data = archive.read(name)
            out.writestr(name, data.replace(b"Lena", b"Nela") if name == backup.ROWS else data)
    with pytest.raises(OfficeError, match="damaged"):
        backup.restore(bad, over=True)
    assert everything() == before


@pytest.mark.django_db(transaction=True)
def test_rows_that_do_not_fit_leave_the_office_as_it_was(shop, tmp_path):
    """The hash is right, the rows are not: a revision of a job that is not there."""
    before, target, bad = everything(), tmp_path / "kept.zip", tmp_path / "bad.zip"
    backup.write(target)
    with zipfile.ZipFile(target) as archive:
        lines = archive.read(backup.ROWS).decode().splitlines()
        about = json.loads(archive.read(backup.ABOUT))
    rows = "\n".join(line for line in lines if '"office.job"' not in line).encode()
    import hashlib

    about["sha256"] = {backup.ROWS: hashlib.sha256(rows).hexdigest()}
    with zipfile.ZipFile(bad, "w") as out:
        out.writestr(backup.ABOUT, json.dumps(about))
        out.writestr(backup.ROWS, rows)
    with pytest.raises(OfficeError, match="nothing was"):
        backup.restore(bad, over=True)
    assert everything() == before


@pytest.mark.parametrize("name", ["photos/../../out.txt", "photos//etc/out.txt"])
@pytest.mark.django_db(transaction=True)
def test_a_photo_that_leads_out_of_its_folder_is_refused(shop, tmp_path, name):
    import hashlib

    target, bad = tmp_path / "kept.zip", tmp_path / "bad.zip"
    backup.write(target)
    with zipfile.ZipFile(target) as archive:
        about, rows = json.loads(archive.read(backup.ABOUT)), archive.read(backup.ROWS)
    about["sha256"] = {backup.ROWS: hashlib.sha256(rows).hexdigest(), name: hashlib.sha256(b"x").hexdigest()}
    with zipfile.ZipFile(bad, "w") as out:
        out.writestr(backup.ABOUT, json.dumps(about))
        out.writestr(backup.ROWS, rows)
        out.writestr(name, b"x")
    with pytest.raises(OfficeError, match="no photo's place"):
        backup.restore(bad, over=True)
    assert not (tmp_path / "out.txt").exists()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 cut off", b"title: a job file"])
def test_what_is_no_backup_is_said_to_be_none(tmp_path, content):
    file = tmp_path / "some.zip"
    file.write_bytes(content)
    with pytest.raises(OfficeError, match="no backup"):
        backup.look(file)


@pytest.mark.django_db(transaction=True)
def test_a_folder_that_cannot_be_written_is_named(shop, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OfficeError, match="cannot be written"):
        backup.write(tmp_path / "file" / "kept.zip")
