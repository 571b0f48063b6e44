"""A clock that is wrong, set back or right again: nothing opens for longer, and nobody waits for years."""

from __future__ import annotations

import datetime as dt
import os
import zipfile
from pathlib import Path

import pytest
from axes.models import AccessAttempt
from django.utils import timezone
from tests.kit.people import job, person, signed_in

from slabwright.office import backup, clock
from slabwright.office.actions import audit, jobs, keys, misses, people
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Audit, Misses, Revision
from slabwright.office.models.people import LinkKind

pytestmark = pytest.mark.django_db
YEARS = dt.timedelta(days=4 * 365)


@pytest.fixture
def at(monkeypatch):
    """Set the clock of the whole office by so much, until it is set again."""

    def set_by(by: dt.timedelta) -> None:
        class Shifted(dt.datetime):
            @classmethod
            def now(cls, tz: dt.tzinfo | None = None) -> dt.datetime:  # type: ignore[override]
                return dt.datetime.now(tz) + by

        monkeypatch.setattr(timezone, "datetime", Shifted)

    return set_by


def test_a_link_made_while_the_clock_was_ahead_opens_nothing_for_years(at):
    who = person()
    at(YEARS)
    _, token = people.invite(by=who, name="Tomás", role="crew")
    _, key = keys.make(person=who, name="robot", writes=True, days=30)
    assert people.link_of(token, LinkKind.JOIN) is not None
    assert keys.key_of(key) is not None
    at(dt.timedelta(0))
    assert people.link_of(token, LinkKind.JOIN) is None
    assert keys.key_of(key) is None


def test_a_clock_that_is_a_few_minutes_off_hinders_nobody(at):
    who = person()
    at(dt.timedelta(minutes=20))
    _, token = people.invite(by=who, name="Tomás", role="crew")
    at(dt.timedelta(0))
    assert people.link_of(token, LinkKind.JOIN) is not None


def test_a_link_that_was_used_stays_used_when_the_clock_goes_back(at):
    who = person()
    link, token = people.invite(by=who, name="Tomás", role="crew")
    people.join(
        link=link, name="Tomás", email="t@shop.example", password="cold hands, hot tea", language="es"
    )
    at(-dt.timedelta(minutes=30))
    assert people.link_of(token, LinkKind.JOIN) is None


def test_who_was_slowed_down_in_the_future_does_not_wait_for_it(at):
    at(YEARS)
    for _ in range(misses.MOST + 1):
        misses.note("192.0.2.7")
    AccessAttempt.objects.create(
        username="lena@shop.example",
        ip_address="192.0.2.7",
        attempt_time=timezone.now(),
        failures_since_start=9,
    )
    assert misses.too_many("192.0.2.7")
    at(dt.timedelta(0))
    assert not misses.too_many("192.0.2.7")
    clock.look(lambda _said: None)
    assert not Misses.objects.exists()
    assert not AccessAttempt.objects.exists()


def test_who_is_slowed_down_now_waits_on_after_the_office_was_started_again():
    for _ in range(misses.MOST + 1):
        misses.note("192.0.2.7")
    clock.look(lambda _said: None)
    assert misses.too_many("192.0.2.7")


def test_starting_under_a_clock_that_was_set_back_says_so(at):
    audit.note("job-started", about="Elm 4")
    told: list[str] = []
    clock.look(told.append)
    assert told == []
    at(-YEARS)
    clock.look(told.append)
    assert len(told) == 1
    assert "set the clock, for links and quotes end by it" in told[0]
    assert f"{Audit.objects.get().when:%Y-%m-%d %H:%M} UTC" in told[0]


def test_what_happened_stays_in_its_order_when_the_clock_goes_back(at):
    who = person()
    one = job(who)
    for n, by in enumerate((dt.timedelta(0), -YEARS, YEARS, -dt.timedelta(days=1)), 1):
        at(by)
        made = jobs.change(
            person=who,
            job=one,
            edits=[Edit("set", ("slabs", 0, "width"), f"{n + 3}'")],
            base=n,
            client=f"c{n}",
        )
        assert made.saved
        audit.note("photo-added", person=who, about=f"turn {n}")
    at(dt.timedelta(0))
    client = signed_in(who)
    assert list(Revision.objects.filter(job=one).values_list("number", flat=True)) == [5, 4, 3, 2, 1]
    history = client.get(f"/jobs/{one.code}/history/")
    assert history.status_code == 200
    log = client.get("/log/").content.decode()
    turns = [log.index(f"turn {n}") for n in (4, 3, 2, 1)]
    assert turns == sorted(turns)
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("year", [1970, 1979, 2107, 2200])
def test_a_photo_dated_by_a_dead_clock_is_in_the_backup(settings, tmp_path, year):
    settings.MEDIA_ROOT = str(tmp_path / "photos")
    photo = Path(settings.MEDIA_ROOT) / "gate.jpg"
    photo.parent.mkdir()
    photo.write_bytes(b"x")
    moment = (year - 1970) * 365.2425 * 86400
    os.utime(photo, (moment, moment))
    backup.write(tmp_path / "kept.zip")
    assert "photos/gate.jpg" in backup.look(tmp_path / "kept.zip")["sha256"]


def test_a_backup_is_written_under_a_clock_from_before_there_were_archives(tmp_path, settings, monkeypatch):
    settings.MEDIA_ROOT = str(tmp_path / "photos")
    monkeypatch.setattr("time.time", lambda: 86_400.0)
    monkeypatch.setattr("time.localtime", lambda *_: dt.datetime(1970, 1, 2).timetuple())
    with pytest.raises(ValueError, match="1980"), zipfile.ZipFile(tmp_path / "plain.zip", "w") as plain:
        plain.writestr("a", "the library itself refuses such a day")
    backup.write(tmp_path / "kept.zip")
    assert backup.look(tmp_path / "kept.zip")["rows"] == backup.counts()
