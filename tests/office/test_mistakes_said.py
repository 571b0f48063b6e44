"""Mistakes of a job's notes on the pages: in the page's language, wherever they are shown."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from tests.kit import people

from slabwright.office.actions import keys
from slabwright.office.actions.edits import mistakes_of
from slabwright.office.models import Job
from slabwright.office.pages.sheet_parts import board_of, loose_mistakes
from slabwright.office.pricing import TermsError, amount_of
from slabwright.office.sheet.view import typed_example

pytestmark = pytest.mark.django_db
WIDTH = ["slabs", 0, "width"]
NO_NUMBER = "no se puede leer, en el carácter 1: aquí falta un número, antes de 'w'"


@pytest.fixture
def owner():
    return people.person()


@pytest.fixture
def job(owner) -> Job:
    return people.job(owner)


@pytest.fixture
def client(owner):
    made = people.signed_in(owner)
    made.cookies["slabwright-language"] = "es"
    return made


def wide(job: Job) -> str:
    return job.text.replace("    width: 3'\n", "    width: wide\n")


def test_a_change_is_refused_in_the_page_s_language(client, job):
    sent = {
        "edits": [{"kind": "set", "path": WIDTH, "value": "wide", "seen": "3'"}],
        "base": 1,
        "client": "a",
    }
    at = reverse("job-change", args=[job.code])
    answer = client.post(at, json.dumps(sent), content_type="application/json")
    assert answer.status_code == 422
    assert [one["why"] for one in answer.json()["mistakes"]] == [NO_NUMBER]
    client.cookies["slabwright-language"] = "en"
    answer = client.post(at, json.dumps(sent), content_type="application/json")
    assert "a number is missing here" in answer.json()["mistakes"][0]["why"]


def test_a_plain_form_is_refused_in_the_page_s_language(client, job):
    sent = {"base": 1, 'v:["slabs", 0, "width"]': "wide", 's:["slabs", 0, "width"]': '"3\'"'}
    page = client.post(reverse("job-change-form", args=[job.code]), sent).content.decode()
    assert NO_NUMBER in unescape(page)
    assert "number is missing" not in page


def test_what_is_typed_and_cannot_be_read_is_said_in_the_page_s_language(client, job):
    at = reverse("job-read", args=[job.code])
    assert client.get(at, {"path": json.dumps(WIDTH), "text": "wide"}).json()["why"] == NO_NUMBER
    said = client.get(at, {"path": json.dumps(WIDTH), "text": "3"}).json()
    assert said == {"why": "no se puede leer, en el carácter 2: falta la unidad", "example": "3' o 3\" o 3 m"}
    said = client.get(at, {"path": '["slabs", 0, "corners"]', "text": "P1, {point: P2"}).json()
    assert said["why"].startswith("falta una coma")


def test_a_whole_text_is_refused_in_the_page_s_language(client, job):
    answer = client.post(reverse("job-notes", args=[job.code]), {"text": wide(job), "base": 1})
    assert answer.status_code == 422
    assert NO_NUMBER in unescape(answer.content.decode())


def test_a_job_file_that_cannot_come_in_says_so_in_the_page_s_language(client, job):
    page = unescape(
        client.post(reverse("job-bring"), {"text": wide(job) + "\nsurprise: 3\n"}).content.decode()
    )
    assert NO_NUMBER in page
    assert "no es una clave de este lugar" in page
    assert "is not a key here" not in page


def test_notes_that_cannot_be_planned_tell_their_mistakes_in_the_page_s_language(client, job):
    Job.objects.filter(pk=job.pk).update(text=wide(job))
    job.refresh_from_db()
    assert mistakes_of(job.text)
    found = loose_mistakes(board_of(job, "es"))
    assert [one["mistake"].why for one in found] == [NO_NUMBER]
    page = unescape(client.get(reverse("job", args=[job.code])).content.decode())
    assert page.count(NO_NUMBER) >= 2  # beside the picture, and at the field
    assert "number is missing" not in page


DAMP = "\nweather:\n  day: 2026-07-14\n  low: 58 F\n  high: 84 F\n  wind: 5 mph\n  sky: sunn\n"


def dry(job: Job) -> str:
    """Return the notes with a day's weather that lacks its humidity."""
    return re.sub(r"\nweather:.*?(?=\n\S|\Z)", "", job.text, flags=re.DOTALL).rstrip("\n") + DAMP


def test_beside_a_field_an_example_is_what_can_be_typed_there(client, job):
    Job.objects.filter(pk=job.pk).update(text=dry(job))
    job.refresh_from_db()
    assert "humidity: 45 %" in {one.example for one in mistakes_of(job.text)}  # the terminal's, with its key
    found = {one["mistake"].field: one["mistake"].example for one in loose_mistakes(board_of(job, "es"))}
    assert (found["weather.humidity"], found["weather.sky"]) == ("45 %", "partly cloudy")
    page = unescape(client.get(reverse("job", args=[job.code])).content.decode())
    assert page.count("Escriba por ejemplo 45 %") == 2  # beside the picture, and at the field
    assert "humidity: 45 %" not in page
    notes = unescape(client.get(reverse("job-notes", args=[job.code])).content.decode())
    assert "Escriba por ejemplo humidity: 45 %" in notes  # the text wants the key too


@pytest.mark.parametrize("plain", [True, False])
def test_an_example_of_a_refusal_is_taken_as_it_stands(client, job, plain):
    path = ["slabs", 0, "finish"]
    if plain:
        sent = {"base": 1, f"v:{json.dumps(path)}": "brum", f"s:{json.dumps(path)}": '"broom"'}
        answer = client.post(reverse("job-change-form", args=[job.code]), sent)
        text = unescape(answer.content.decode())
        assert "finish: broom" not in text
        assert "<p>Acabado: " in text
        example = re.search(r"Escriba por ejemplo ([^<]+)</span>", text)[1]
    else:
        example = refusal(client, job, path, "brum", "broom")["example"]
    assert example == "broom"


def refusal(client: Client, job: Job, path: list[str | int], value: str, seen: str) -> dict[str, str]:
    edits = [{"kind": "set", "path": path, "value": value, "seen": seen}]
    body = json.dumps({"edits": edits, "base": 1, "client": "b"})
    at = reverse("job-change", args=[job.code])
    return client.post(at, body, content_type="application/json").json()["mistakes"][0]


@pytest.mark.parametrize(
    ("field", "given", "typed"),
    [
        ("weather.humidity", "humidity: 45 %", "45 %"),
        ("slabs.1.width", "3' 6", "3' 6"),
        ("tape.+.reads", None, ""),
        ("pour.covers.+.cover", "cover: blankets", "blankets"),
        ("house", "house: {walls: [A, B]}", "house: {walls: [A, B]}"),
        ("nowhere", "nowhere: 3", "nowhere: 3"),
        ("", None, ""),
    ],
)
def test_only_the_value_of_an_example_stands_beside_a_field(field, given, typed):
    assert typed_example(field, given) == typed


def test_the_api_tells_mistakes_in_the_language_that_is_asked_for(owner, job):
    _, token = keys.make(person=owner, name="planner", writes=True, days=9)
    api = Client(headers={"Authorization": f"Bearer {token}", "Accept-Language": "es"})
    sent = {"edits": [{"kind": "set", "path": WIDTH, "value": "wide", "seen": "3'"}], "base": 1}
    at = f"/api/v1/jobs/{job.code}/changes"
    answer = api.post(at, json.dumps(sent), content_type="application/json")
    assert answer.status_code == 422
    assert [one["why"] for one in answer.json()["mistakes"]] == [NO_NUMBER]


def test_an_amount_that_cannot_be_read_is_said_in_the_page_s_language():
    with pytest.raises(TermsError) as caught:
        amount_of("much", "USD")
    assert caught.value.said("es") == "aquí falta una cantidad. Escriba por ejemplo $3,200"
    assert caught.value.said("en") == "an amount is missing here. Write for example $3,200"
