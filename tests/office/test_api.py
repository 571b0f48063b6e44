"""The JSON API: keys, jobs, changes with their clashes, plans and files, errors that say what to do."""

from __future__ import annotations

import datetime as dt
import json
from importlib.resources import files

import pytest
from django.core.cache import cache
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.kit.people import EXAMPLES, hours_table, job, person, signed_in

from slabwright.office.actions import keys, prices, records
from slabwright.office.actions import quotes as quote_actions
from slabwright.office.api import door
from slabwright.office.models import Job, Photo, Token, WeatherTable
from slabwright.office.words import words

DEMO = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")
WIDTH = ["slabs", 0, "width"]


def with_key(who, *, writes: bool = True, days: int = 9) -> Client:
    _, token = keys.make(person=who, name="planner", writes=writes, days=days)
    return Client(headers={"Authorization": f"Bearer {token}"})


def send(client: Client, at: str, data) -> tuple[int, dict]:
    answer = client.post(at, json.dumps(data), content_type="application/json")
    return answer.status_code, answer.json()


@pytest.fixture
def crew(db):
    return person("Tomás Ruiz", "crew")


def test_from_a_new_job_to_its_plan(each_database, db):
    api = with_key(person("Tomás Ruiz", "crew"))
    status, made = send(api, "/api/v1/jobs", {"text": DEMO})
    assert status == 201
    at = f"/api/v1/jobs/{made['code']}"
    assert made["number"] == 1
    edit = {"kind": "set", "path": WIDTH, "value": "3' 6", "seen": "3'"}
    seen = api.get(at).json()["text"]
    status, saved = send(api, f"{at}/changes", {"edits": [{**edit, "seen": "9'"}], "base": 1})
    assert (status, saved["error"]) == (409, "clash")
    now = saved["clashes"][0]["now"]
    assert now in seen
    wanted = {"edits": [{**edit, "seen": now}], "base": 1, "client": "van-1"}
    assert send(api, f"{at}/changes", wanted) == (200, {"number": 2})
    assert send(api, f"{at}/changes", wanted) == (200, {"number": 2})  # sent twice, made once
    assert [row["number"] for row in api.get(f"{at}/revisions").json()] == [2, 1]
    assert api.get(f"{at}/revisions/1").json()["text"] == DEMO
    plan = api.get(f"{at}/plan")
    assert plan.headers["X-Revision"] == "2"
    assert plan.json()["notes"]["title"] == made["title"]
    assert api.get("/api/v1/jobs", {"q": made["title"]}).json()["count"] == 1
    assert api.get(f"{at}/findings", headers={"Accept-Language": "es"}).json()["plans"] is True


@pytest.mark.django_db
def test_every_listed_file_can_be_had(crew):
    api, walk = with_key(crew, writes=False), job()
    names = api.get(f"/api/v1/jobs/{walk.code}/files").json()
    assert {"packet.pdf", "plan.json", "tables.xlsx"} <= set(names)
    begins = {"pdf": b"%PDF", "xlsx": b"PK\x03\x04", "json": b"{", "svg": b"<", "dxf": b"  0"}
    for name in [n for n in names if n.endswith((".pdf", ".xlsx", ".json"))] + names[3:5] + names[-2:]:
        answer = api.get(f"/api/v1/jobs/{walk.code}/files/{name}")
        assert answer.status_code == 200, name
        assert answer.content.startswith(begins.get(name.rpartition(".")[2], b"")), name
        assert answer.content
    assert api.get(f"/api/v1/jobs/{walk.code}/files/nothing.svg").status_code == 404


@pytest.mark.django_db
def test_a_file_is_the_same_on_its_page_and_by_the_api_with_the_pour_of_weather_that_was_brought_in(crew):
    """The hours of the day, their chart and their sheets are in both."""
    walk, api, page = job(), with_key(crew, writes=False), signed_in(crew)
    before = set(api.get(f"/api/v1/jobs/{walk.code}/files").json())
    WeatherTable.objects.create(job=walk, text=hours_table(), name="july.csv")
    more = set(api.get(f"/api/v1/jobs/{walk.code}/files").json()) - before
    assert more
    for name in (sorted(more)[0], "pour-hours.svg", "plan.json"):
        told = api.get(f"/api/v1/jobs/{walk.code}/files/{name}")
        shown = page.get(f"/jobs/{walk.code}/files/{name}")
        assert told.status_code == shown.status_code == 200, name
        assert told.content == b"".join(shown.streaming_content), name


@pytest.mark.django_db
def test_nobody_comes_in_without_a_key_that_holds(crew):
    walk = job()
    at = f"/api/v1/jobs/{walk.code}"
    assert Client().get(at).status_code == 401
    assert signed_in(crew).get(at).status_code == 401  # a session opens nothing here
    status, said = send(signed_in(crew), f"{at}/changes", {"edits": [], "base": 1})
    assert (status, said["error"]) == (401, "key")
    assert "/me/keys/" in said["do"]
    api = with_key(crew)
    assert api.get(at).status_code == 200
    Token.objects.update(ends=timezone.now() - dt.timedelta(seconds=1))
    assert api.get(at).status_code == 401
    Token.objects.update(ends=timezone.now() + dt.timedelta(days=1))
    crew.role = "away"
    crew.save()
    assert api.get(at).status_code == 401


@pytest.mark.django_db
def test_a_key_that_only_reads_changes_nothing(crew):
    api, walk = with_key(crew, writes=False), job()
    sent = {"edits": [{"kind": "set", "path": WIDTH, "value": "4'"}], "base": 1}
    status, said = send(api, f"/api/v1/jobs/{walk.code}/changes", sent)
    assert (status, said["error"]) == (403, "scope")
    assert send(api, "/api/v1/jobs", {"title": "x"})[0] == 403
    assert Job.objects.get().number == 1


@pytest.mark.django_db
def test_wrong_keys_are_slowed_down(crew):
    for n in range(20):
        assert Client(headers={"Authorization": f"Bearer no{n}"}).get("/api/v1/jobs").status_code == 401
    right = with_key(crew).get("/api/v1/jobs")
    assert right.status_code == 429
    assert right.json()["error"] == "throttled"


@pytest.mark.django_db
def test_one_key_has_its_pace(crew, monkeypatch):
    pace = door.api.throttle[0]
    monkeypatch.setattr(pace, "most", 3)
    now = timezone.now().replace(second=10)
    monkeypatch.setattr(timezone, "now", lambda: now)
    api, other = with_key(crew), with_key(crew)
    got = [api.get("/api/v1/jobs") for _ in range(2)]
    # Another worker knows nothing but what stands in the database.
    cache.clear()
    got += [api.get("/api/v1/jobs") for _ in range(3)]
    assert [one.status_code for one in got] == [200, 200, 200, 429, 429]
    assert int(got[-1].headers["Retry-After"]) == 50
    assert other.get("/api/v1/jobs").status_code == 200  # another key, its own pace
    now += dt.timedelta(seconds=50)
    assert api.get("/api/v1/jobs").status_code == 200


@pytest.mark.django_db
def test_mistakes_and_what_cannot_be_read_say_what_to_do(crew):
    api, walk = with_key(crew), job()
    at = f"/api/v1/jobs/{walk.code}"
    sent = {"edits": [{"kind": "set", "path": WIDTH, "value": "wide"}], "base": 1}
    status, said = send(api, f"{at}/changes", sent)
    assert (status, said["error"]) == (422, "mistakes")
    assert said["mistakes"][0]["example"]
    status, said = send(api, "/api/v1/jobs", {"text": "title: x\nsurprise: 1\n"})
    assert (status, said["error"]) == (422, "mistakes")
    assert any(one["line"] == 2 for one in said["mistakes"])
    status, said = send(api, f"{at}/changes", {"edits": [{"path": ["a"] * 13}], "base": 1})
    assert (status, said["error"]) == (422, "request")
    answer = api.post(f"{at}/changes", "{", content_type="application/json")
    assert (answer.status_code, answer.json()["error"]) == (400, "body")
    assert api.get("/api/v1/jobs/nosuchjob").json()["error"] == "not-found"
    assert api.get(f"{at}/revisions/99").status_code == 404
    Job.objects.filter(pk=walk.pk).update(text="title: x\n", plans=False, good=0)
    assert api.get(f"{at}/plan").json()["error"] == "no-plan"
    assert api.get(f"{at}/findings").json()["plans"] is False


@pytest.mark.django_db
def test_only_a_key_of_the_owner_sees_money(crew):
    owner, walk = person(), job()
    prices.use_demo_book(person=owner)
    made, _ = quote_actions.make(person=owner, job=walk, revision=1, language="en", valid_days=30)
    at = f"/api/v1/jobs/{walk.code}/quotes"
    assert with_key(crew).get(at).json()["error"] == "owner"
    assert with_key(owner).get(at).json()[0]["total"] == str(made.total)
    api = with_key(crew)
    for path in ("", "/findings", "/files", "/plan", "/revisions"):
        assert f"{made.total}" not in api.get(f"/api/v1/jobs/{walk.code}{path}").content.decode()


@pytest.mark.django_db
def test_a_key_is_shown_once_and_ended_by_its_owner_alone(crew):
    browser = signed_in(crew)
    typed = {"name": "planner", "days": "30", "writes": "on"}
    page = browser.post(reverse("keys"), typed)
    token = page.content.decode().split('class="link" readonly value="')[1].split('"')[0]
    key = Token.objects.get()
    assert key.writes
    assert token not in browser.get(reverse("keys")).content.decode()
    assert key.digest != token
    assert browser.post(reverse("keys"), {"name": "kept", "days": "0"}).status_code == 422
    other = signed_in(person())
    assert other.post(reverse("key-end", args=(key.pk,))).status_code == 404
    api = Client(headers={"Authorization": f"Bearer {token}"})
    assert api.get("/api/v1/jobs").status_code == 200
    key.refresh_from_db()
    assert key.used is not None
    browser.post(reverse("key-end", args=(key.pk,)))
    assert api.get("/api/v1/jobs").status_code == 401


@pytest.mark.django_db
def test_the_description_is_for_those_who_may_come_in(crew):
    assert Client().get("/api/v1/openapi.json").status_code == 401
    assert (
        signed_in(crew).get("/api/v1/openapi.json").json()
        == with_key(crew).get("/api/v1/openapi.json").json()
    )


def test_every_error_has_its_words():
    code = "".join(
        files("slabwright.office").joinpath("api", name).read_text(encoding="utf-8")
        for name in ("jobs.py", "door.py", "talk.py")
    )
    for key in words():
        if key.startswith("api-") and key.endswith("-what"):
            assert f'"{key[4:-5]}"' in code
            assert key[:-4] + "do" in words()


def test_the_page_of_docs_has_every_address():
    page = (EXAMPLES.parent / "docs" / "api.md").read_text(encoding="utf-8")
    told = {line[5:-1] for line in page.splitlines() if line.startswith("### `")}
    assert told == {
        f"{method.upper()} {path}" for path, way in door.description()["paths"].items() for method in way
    }


@pytest.mark.django_db
def test_records_and_photos_are_read(crew, tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path
    api, walk, other = with_key(crew), job(), job()
    row = {"date": "2026-05-04", "step": "forms", "condition": "straight", "unit": "ft"}
    load = {"date": "2026-05-05", "unit": "yd3", "drawn": "1.6", "delivered": "2", "left": "0.25"}
    records.keep_row(person=crew, job=walk, typed={**row, "amount": "120", "hours": "4"}, load=False)
    records.keep_row(person=crew, job=walk, typed=load, load=True)
    got = api.get(f"/api/v1/jobs/{walk.code}/records").json()
    assert [(one["day"], one["step"], one["amount"]) for one in got["days"]] == [
        ("2026-05-04", "forms", "120")
    ]
    assert [(one["drawn"], one["left"]) for one in got["loads"]] == [("1.6", "0.25")]
    assert api.get(f"/api/v1/jobs/{other.code}/records").json() == {"days": [], "loads": []}
    kept = Photo.objects.create(
        job=walk, words="base compacted", width=1, height=1, file=ContentFile(b"\xff\xd8", "a.jpg")
    )
    at = f"/api/v1/jobs/{walk.code}/photos"
    (shown,) = api.get(at).json()
    assert (shown["number"], shown["words"]) == (kept.pk, "base compacted")
    assert b"".join(api.get(f"{at}/{kept.pk}").streaming_content) == b"\xff\xd8"
    assert api.get(f"/api/v1/jobs/{other.code}/photos/{kept.pk}").status_code == 404
    assert Client().get(f"{at}/{kept.pk}").status_code == 401
