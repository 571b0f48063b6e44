"""Mistakes of a job's notes on the pages: in the page's language, wherever they are shown."""

from __future__ import annotations

import json
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
