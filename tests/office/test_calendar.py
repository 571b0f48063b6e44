"""The calendar: days set and shown, and the feed that another calendar reads."""

from __future__ import annotations

import datetime as dt

import icalendar
import pytest
from django.test import Client
from django.urls import reverse
from tests.kit.people import job, person, signed_in

from slabwright.office.models import Audit, Job, Shop

DAYS = {"begins": "2026-05-04", "pours": "2026-05-06"}


def agreed(client: Client, walk: Job, **more: str):
    return client.post(reverse("calendar-set"), {"job": walk.code, **DAYS, **more})


@pytest.fixture
def crew(db):
    return signed_in(person("Tomás Ruiz", "crew"))


def test_days_are_set_shown_and_in_the_log(crew):
    walk = job()
    answer = agreed(crew, walk)
    assert answer.headers["Location"] == "/calendar/?month=2026-05"
    walk.refresh_from_db()
    assert (walk.begins, walk.pours) == (dt.date(2026, 5, 4), dt.date(2026, 5, 6))
    page = crew.get("/calendar/?month=2026-05").content.decode()
    assert page.count('class="site"') == 2
    assert page.count('class="pour"') == 1
    assert Audit.objects.get(what="job-days").more["pours"] == "2026-05-06"
    assert 'class="pour"' not in crew.get("/calendar/?month=2026-07").content.decode()


def test_a_tap_on_a_day_or_a_job_fills_the_form(crew):
    walk = job()
    agreed(crew, walk)
    page = crew.get(f"/calendar/?month=2026-05&job={walk.code}").content.decode()
    assert 'name="begins" value="2026-05-04"' in page
    page = crew.get("/calendar/?month=2026-05&day=2026-05-20").content.decode()
    assert 'name="pours" value="2026-05-20"' in page


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"begins": "2026-05-09"}, "on or before the pour"),
        ({"pours": "soon"}, "between 2000 and 2100"),
        ({"pours": "1823-01-01", "begins": ""}, "between 2000 and 2100"),
        ({"job": ""}, "Choose the job"),
    ],
)
def test_what_cannot_be_is_refused_and_kept_in_the_form(crew, sent, said):
    walk = job()
    answer = agreed(crew, walk, **sent)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    for value in sent.values():
        assert f'value="{value}"' in answer.content.decode()
    walk.refresh_from_db()
    assert walk.pours is None


@pytest.mark.parametrize("month", ["", "nonsense", "0001-01", "9999-12", "2100-12", "2000-01"])
def test_every_month_is_a_page(crew, month):
    assert crew.get("/calendar/", {"month": month}).status_code == 200


def test_the_feed_is_read_by_another_calendar(crew):
    owner = signed_in(person())
    walk = job()
    walk.title = "Walk; north, to the shed – " + "ñ" * 60
    walk.save()
    agreed(crew, walk)
    agreed(crew, walk, pours="2026-05-07")
    assert crew.post(reverse("feed-renew")).status_code == 403
    page = owner.post(reverse("feed-renew")).content.decode()
    at = page.split('class="link" readonly value="http://testserver')[1].split('"')[0]
    answer = Client().get(at)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    events = {e["SUMMARY"]: e for e in icalendar.Calendar.from_ical(answer.content).walk("VEVENT")}
    assert len(events) == 2
    pour = next(e for e in events.values() if "pour" in str(e["UID"]))
    assert pour["DTSTART"].dt == dt.date(2026, 5, 7)
    assert walk.title in str(pour["SUMMARY"])
    assert pour["SEQUENCE"] == 2
    other = next(e for e in events.values() if e is not pour)
    assert (other["DTSTART"].dt, other["DTEND"].dt) == (dt.date(2026, 5, 4), dt.date(2026, 5, 7))
    owner.post(reverse("feed-renew"))
    assert Client().get(at).status_code == 404
    assert Shop.own().feed not in page
