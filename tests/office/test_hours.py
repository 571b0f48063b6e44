"""The day of the pour on a page: worked out once, told quarter by quarter, weather typed or brought in."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.html import escape
from tests.kit import people

from slabwright.office.actions import jobs
from slabwright.office.actions.edits import Edit
from slabwright.office.hours import run
from slabwright.office.hours.run import poured
from slabwright.office.hours.steps import STEP, state_of, steps
from slabwright.office.models import Audit, WeatherTable
from slabwright.office.pages.hours import WIDE_MM
from slabwright.sheets.pour_chart import LEFT_MM, RIGHT_MM, span

WALK = Path("examples/side-walk/job.yaml").read_text(encoding="utf-8")
TEXT = WALK + "\nweather: {" + ", ".join(f"{k}: {v}" for k, v in people.WEATHER.items()) + "}\n"


@pytest.fixture(scope="module")
def day():
    made = poured(TEXT, "side-walk")
    assert made.plan is not None, made.why
    return made.plan


def test_the_day_is_worked_out_once_for_a_text(day):
    assert poured(TEXT, "side-walk").plan is day
    assert day.pour.date == people.WEATHER["day"]


def test_what_is_missing_is_asked_for_not_guessed():
    assert poured(WALK, "side-walk").wants
    less = TEXT.replace("humidity: 50%, ", "")
    assert poured(less, "side-walk").wants
    assert not poured("title: x", "x").wants  # its own page says what is wrong with the notes
    nowhere = TEXT.replace("latitude: 45.5", "frost: moderate").replace("  frost: moderate\n  soil", "  soil")
    assert "latitude" in poured(nowhere, "side-walk").why


def test_a_table_goes_before_typed_figures():
    made = poured(TEXT, "side-walk", people.hours_table(), "july.csv")
    assert made.plan is not None, made.why
    assert made.plan.pour.date == people.WEATHER["day"]  # the day is still the one that was typed
    bad = poured(TEXT, "side-walk", "time,temperature\nnoon,warm\n", "bad.csv")
    assert bad.plan is None
    assert bad.why


@pytest.mark.parametrize(
    ("clock", "code"),
    [
        (0, "coming"),
        (10, "placing"),
        (19, "placing"),
        (20, "waiting"),
        (30, "edging"),
        (40, "brooming"),
        (50, "curing"),
    ],
)
def test_what_a_panel_wants_on_each_side_of_each_moment(clock, code):
    likely = {"strike_off": 20, "edge": 30, "broom": 40, "broom_end": 50, "cure_on": 45}
    window = SimpleNamespace(placed_at=10, **{k: SimpleNamespace(likely=v) for k, v in likely.items()})
    assert state_of(window, clock)[0] == code


def test_a_panel_that_does_not_set_in_the_weather_given_waits():
    none = SimpleNamespace(likely=None)
    window = SimpleNamespace(
        placed_at=10,
        strike_off=SimpleNamespace(likely=20),
        edge=none,
        broom=none,
        broom_end=none,
        cure_on=none,
    )
    assert state_of(window, 25) == ("waiting", None)


@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_steps_cover_the_chart_and_each_panel_goes_through_all(day, lang):
    made = steps(day, lang, wide=WIDE_MM)
    first, last = span(day.pour)
    assert len(made) == round((last - first) / STEP) + 1
    assert made[0].x == pytest.approx(LEFT_MM)
    assert made[-1].x == pytest.approx(WIDE_MM - RIGHT_MM)
    order = ("coming", "placing", "waiting", "edging", "brooming", "curing")
    for n in range(len(day.pour.windows)):
        codes = [order.index(step.panels[n][3]) for step in made]
        assert codes == sorted(codes)
        assert codes[-1] == order.index("curing")
        assert order.index("brooming") in codes
    assert all(step.crew for step in made)
    assert len({step.crew for step in made}) > 4


@pytest.fixture
def who(db):
    return people.person("Tomas Ruiz", "crew")


@pytest.fixture
def job(who):
    return people.job(who)


@pytest.fixture
def inside(who):
    return people.signed_in(who)


def with_weather(job, who):
    done = jobs.change(
        person=who, job=job, edits=[Edit("set", ("weather",), people.WEATHER)], base=job.number
    )
    assert done.saved
    job.refresh_from_db()


def test_the_page_asks_for_weather_then_shows_the_day(inside, who, job):
    body = inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert "still missing" in body
    assert "data-load" not in body
    with_weather(job, who)
    body = inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert f'data-load="/jobs/{job.code}/hours/day/"' in body
    for address in ("hours/day/", "hours/?now=1"):  # the second without a script
        part = inside.get(f"/jobs/{job.code}/{address}").content.decode()
        assert '<input type="range" id="clock"' in part
        assert '<script id="clock-steps" type="application/json">' in part
        assert part.count("<table") >= 4
        assert "style=" not in part


def test_the_hours_of_each_panel_for_the_picture(inside, who, job):
    assert inside.get(f"/jobs/{job.code}/hours/windows/").json() == {}
    with_weather(job, who)
    told = inside.get(f"/jobs/{job.code}/hours/windows/").json()
    assert len(told) == 8
    assert {"Place", "Broom from", "Too late"} <= {head for head, _ in told["panel:side walk:1"]}


def test_a_table_is_brought_in_and_taken_away(inside, job):
    address = f"/jobs/{job.code}/hours/weather/"
    answer = inside.post(
        address, {"file": SimpleUploadedFile("july.csv", people.hours_table().encode(), "text/csv")}
    )
    assert answer.status_code == 302
    assert WeatherTable.objects.get().name == "july.csv"
    assert "july.csv" in inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert inside.post(address, {"does": "drop"}).status_code == 302
    assert not WeatherTable.objects.exists()
    codes = set(Audit.objects.values_list("what", flat=True))
    assert {"weather-kept", "weather-dropped"} <= codes


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "Choose a file"),
        (b"\xff\xfe\x00", "is no text"),
        (b"a,b\n1,2\n", "time"),
        (b"x" * 400_001, "larger than 400 kB"),
    ],
)
def test_a_file_that_cannot_be_used_is_said_so(inside, job, data, said):
    sent = {"file": SimpleUploadedFile("w.csv", data, "text/csv")} if data else {}
    answer = inside.post(f"/jobs/{job.code}/hours/weather/", sent)
    assert answer.status_code == 422
    assert escape(said) in answer.content.decode()
    assert not WeatherTable.objects.exists()


def test_who_reloads_a_refused_file_sees_the_day_again(inside, job):
    answer = inside.get(f"/jobs/{job.code}/hours/weather/")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/jobs/{job.code}/hours/")


def test_a_job_without_a_place_leads_to_where_it_is_said(inside, who, job):
    assert "#g-place" not in inside.get(f"/jobs/{job.code}/hours/").content.decode()
    with_weather(job, who)
    job.refresh_from_db()
    edits = [Edit("delete", ("place", key), None) for key in ("latitude", "longitude")]
    assert jobs.change(person=who, job=job, edits=edits, base=job.number).saved
    page = inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert f'href="/jobs/{job.code}/#g-place"' in page
    assert 'type="file"' not in page  # a file would be refused for the same reason
    assert "data-load" not in page


def test_nothing_is_kept_for_ever():
    assert run.poured.cache_info().maxsize == run.KEPT


def told_on(page):
    """Return what a page lists as seen."""
    return page.split('class="seen-list"')[1].split("</ul>")[0] if 'class="seen-list"' in page else ""


def test_what_is_seen_goes_into_the_notes_and_moves_the_rest_of_the_day(inside, who, job):
    with_weather(job, who)
    address = f"/jobs/{job.code}/hours/seen/"
    before = poured(job.text, "x")
    late = max(w.broom_end.likely for w in before.plan.pour.windows)
    assert inside.post(address, {"what": "placed", "panel": "side walk|1", "at": "11:30"}).status_code == 302
    job.refresh_from_db()
    assert "what: placed" in job.text
    assert "11:30 am" in job.text
    after = poured(job.text, "x")
    assert after.plan is not None
    assert max(w.broom_end.likely for w in after.plan.pour.windows) > late + 3600.0
    page = inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert "11:30 am: placed, Panel 1" in told_on(page)
    assert '<option value="side walk|2" selected>' in page  # the next to be placed
    assert inside.post(address, {"what": "placed", "panel": "side walk|1", "at": "11:35"}).status_code == 302
    page = inside.get(f"/jobs/{job.code}/hours/").content.decode()
    assert "11:35 am: placed, Panel 1" in told_on(page)
    assert "11:30" not in told_on(page)
    assert inside.post(address, {"drop": "0"}).status_code == 302
    job.refresh_from_db()
    assert "seen" not in job.text
    assert "seen-list" not in inside.get(f"/jobs/{job.code}/hours/").content.decode()


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"what": "placed", "panel": "side walk|99", "at": "9:00"},
        {"what": "wet", "panel": "side walk|1", "at": "9:00"},
        {"what": "placed", "panel": "side walk|1", "at": "teatime"},
        {"drop": "0"},
        {"drop": "x"},
    ],
)
def test_what_cannot_be_seen_is_said_and_nothing_is_kept(inside, who, job, sent):
    with_weather(job, who)
    text = job.text
    answer = inside.post(f"/jobs/{job.code}/hours/seen/", sent)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'role="alert"' in page
    if sent.get("at") == "9:00":
        assert 'value="9:00"' in page  # what was typed stays
    job.refresh_from_db()
    assert job.text == text


def test_the_question_is_open_on_the_day_and_in_the_clock_of_the_place(inside, who, job, monkeypatch):
    from datetime import UTC, datetime

    from slabwright.office.pages import hours as page

    with_weather(job, who)
    day = people.WEATHER["day"]
    for moment, opened in ((f"{day}T16:40", True), ("2026-01-05T16:40", False)):
        now = datetime.fromisoformat(moment).replace(tzinfo=UTC)
        monkeypatch.setattr(page.timezone, "now", lambda now=now: now)
        body = inside.get(f"/jobs/{job.code}/hours/").content.decode()
        shown = body.split('id="seen"')[1].split(">")[0]
        assert ("open" in shown) is opened
    assert 'name="at" required value="08:40"' in body  # Pacific winter time


def at_noon(monkeypatch, day):
    """Make it noon at the job (Pacific summer time) on a day, for the pages."""
    from datetime import UTC, datetime

    from slabwright.office.pages import hours as page

    now = datetime.fromisoformat(f"{day}T19:00").replace(tzinfo=UTC)
    monkeypatch.setattr(page.timezone, "now", lambda: now)


def test_nothing_was_seen_later_than_now_on_the_day_itself(inside, who, job, monkeypatch):
    with_weather(job, who)
    address = f"/jobs/{job.code}/hours/seen/"
    sent = {"what": "placed", "panel": "side walk|1"}
    at_noon(monkeypatch, people.WEATHER["day"])
    answer = inside.post(address, {**sent, "at": "23:50"})
    assert answer.status_code == 422
    assert "11:50 pm is still to come" in answer.content.decode()
    assert inside.post(address, {**sent, "at": "11:59"}).status_code == 302
    at_noon(monkeypatch, "2026-07-13")  # the evening before, when somebody tries it out
    assert inside.post(address, {**sent, "at": "23:50"}).status_code == 302


def test_what_cannot_have_been_is_asked_about_before_it_is_kept(inside, who, job):
    with_weather(job, who)
    address = f"/jobs/{job.code}/hours/seen/"
    assert inside.post(address, {"what": "broom", "panel": "side walk|1", "at": "10:00"}).status_code == 302
    answer = inside.post(address, {"what": "placed", "panel": "side walk|1", "at": "11:00"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "seen before it was placed" in page.split('id="seen-why"')[1].split("</p>")[0]
    assert 'value="11:00"' in page
    assert "placed" not in told_on(page).split("broom")[0]
    job.refresh_from_db()
    assert poured(job.text, "x").plan is not None


def test_the_slider_opens_at_the_hour_that_it_is_on_the_day_itself(inside, who, job, monkeypatch):
    with_weather(job, who)
    at_noon(monkeypatch, people.WEATHER["day"])
    page = inside.get(f"/jobs/{job.code}/hours/day/").content.decode()
    assert "At 12:00 pm" in page.split('data-told="clock"')[1].split("</p>")[0]
    at_noon(monkeypatch, "2026-07-13")
    page = inside.get(f"/jobs/{job.code}/hours/day/").content.decode()
    assert "At 7" in page.split('data-told="clock"')[1].split("</p>")[0]


def test_a_guessed_clock_is_said_on_the_page_of_the_day(inside, who, job):
    with_weather(job, who)
    done = jobs.change(person=who, job=job, edits=[Edit("delete", ("place", "zone"))], base=job.number + 1)
    assert done.saved
    page = inside.get(f"/jobs/{job.code}/hours/day/").content.decode()
    assert "taken from the longitude" in page
