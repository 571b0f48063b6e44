"""The long sheet without a script, its text, its history, its files."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse
from tests.kit import people
from tests.kit.sheeting import WIDTH, change, now, page, put

from slabwright.office.models import Job, Revision
from slabwright.office.sheet.sections import sections

pytestmark = pytest.mark.django_db


# --- without a script --------------------------------------------------------------------------------
def form(client, job, **more):
    sent = {"base": Job.objects.get(pk=job.pk).number, "part": "g-slabs", **more}
    return client.post(reverse("job-change-form", args=[job.code]), sent)


def test_a_plain_form_saves(client, job):
    answer = form(client, job, **{'v:["slabs", 0, "width"]': "3' 6", 's:["slabs", 0, "width"]': '"3\'"'})
    assert answer.status_code == 302
    assert answer.headers["Location"].endswith("#g-slabs")
    assert now(job)["slabs"][0]["width"] == "3' 6"


def test_a_plain_form_adds_and_takes_away(client, job):
    new = {
        f'n:["tape", "+", "{key}"]': text for key, text in {"from": "A", "to": "Q1", "reads": "1' 7"}.items()
    }
    assert form(client, job, add='["tape"]', **new).status_code == 302
    assert now(job)["tape"][-1] == {"A-Q1": "1' 7"}
    n = len(now(job)["tape"]) - 1
    assert form(client, job, take=f'["tape", {n}]').status_code == 302
    assert len(now(job)["tape"]) == n


def test_a_plain_form_that_is_refused_keeps_what_was_typed(client, job):
    answer = form(client, job, **{'v:["slabs", 0, "width"]': "three", 's:["slabs", 0, "width"]': '"3\'"'})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'value="three"' in text
    assert 'aria-invalid="true"' in text
    assert "Write for example" in text
    new = {f'n:["tape", "+", "{key}"]': text for key, text in {"from": "A", "to": "Q1", "reads": ""}.items()}
    answer = form(client, job, add='["tape"]', **new)
    assert answer.status_code == 422
    assert 'value="Q1"' in answer.content.decode()


def test_a_plain_form_that_clashes_asks(client, crew, job):
    change(people.signed_in(crew), job, put(WIDTH, "3' 6", "3'"), sender="t")
    typed = {'v:["slabs", 0, "width"]': "4'", 's:["slabs", 0, "width"]': '"3\'"'}
    answer = form(client, job, **typed)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "Keep theirs: 3&#x27; 6" in text
    mine = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', text.split('class="clash"')[1]))
    import html

    sent = {html.unescape(k): html.unescape(v) for k, v in mine.items() if k != "csrfmiddlewaretoken"}
    assert client.post(reverse("job-change-form", args=[job.code]), sent).status_code == 302
    assert now(job)["slabs"][0]["width"] == "4'"


def test_a_plain_form_that_is_none_gets_a_page_and_no_fault(client, job):
    for sent in ({}, {"base": "x"}, {"base": "1", "take": "[oops"}, {"base": "1", "v:oops": "1"}):
        answer = client.post(reverse("job-change-form", args=[job.code]), sent)
        assert answer.status_code in (302, 400), sent


# --- the text ---------------------------------------------------------------------------------------------
def test_the_text_is_shown_and_saved(client, job):
    at = reverse("job-notes", args=[job.code])
    assert "# steel tape, held by both of us" in client.get(at).content.decode()
    text = job.text.replace("width: 3'\n", "width: 3' 6   # wider\n", 1).replace("\n", "\r\n")
    assert client.post(at, {"text": text, "base": 1}).status_code == 302
    kept = Job.objects.get(pk=job.pk).text
    assert "# wider" in kept
    assert "\r" not in kept


def test_a_text_with_mistakes_is_kept_and_they_are_told_by_line(client, job):
    at = reverse("job-notes", args=[job.code])
    line = job.text.splitlines().index("    width: 3'") + 1
    text = job.text.replace("    width: 3'\n", "    width: wide\n")
    answer = client.post(at, {"text": text, "base": 1})
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert f"line {line}" in shown
    assert "width: wide" in shown
    assert Job.objects.get(pk=job.pk).number == 1


def test_a_text_that_others_changed_meanwhile_shows_what_they_did(client, crew, job):
    change(people.signed_in(crew), job, put(WIDTH, "3' 6", "3'"))
    at = reverse("job-notes", args=[job.code])
    answer = client.post(at, {"text": job.text + "# mine\n", "base": 1})
    assert answer.status_code == 409
    shown = answer.content.decode()
    assert "width: 3&#x27; 6" in shown
    assert "# mine" in shown
    base = re.search(r'name="base" value="(\d+)"', shown)
    assert base is not None
    assert client.post(at, {"text": job.text + "# mine\n", "base": base[1]}).status_code == 302


# --- history ----------------------------------------------------------------------------------------------
def test_history_tells_who_and_what(client, crew, job):
    change(people.signed_in(crew), job, put(WIDTH, "3' 6", "3'"))
    text = client.get(reverse("job-history", args=[job.code])).content.decode()
    assert "Tomás Ruiz" in text
    assert "Slabs 1, Width: 3&#x27; is now 3&#x27; 6" in text
    assert "began the job" in text
    shown = client.get(reverse("job-revision", args=[job.code, 2])).content.decode()
    assert "<del>    width: 3&#x27;</del>" in shown
    assert "<ins>    width: 3&#x27; 6</ins>" in shown


def test_the_last_change_and_an_older_one_are_taken_back(client, job):
    change(client, job, put(WIDTH, "3' 6", "3'"), sender="1")
    change(client, job, put(["slabs", 0, "finish"], "salt", "broom"), sender="2")
    client.post(reverse("job-undo", args=[job.code, 2]))
    assert now(job)["slabs"][0]["width"] == "3'"
    assert now(job)["slabs"][0]["finish"] == "salt"
    client.post(reverse("job-undo", args=[job.code, 4]))
    assert now(job)["slabs"][0]["width"] == "3' 6"


def test_a_row_that_was_taken_away_comes_back_though_others_wrote_since(client, job):
    gone = now(job)["tape"][2]
    change(client, job, {"kind": "delete", "path": ["tape", 2]}, sender="1")
    change(client, job, put(WIDTH, "3' 6", "3'"), sender="2")
    client.post(reverse("job-undo", args=[job.code, 2]))
    assert now(job)["tape"][-1] == gone
    assert now(job)["slabs"][0]["width"] == "3' 6"


def test_what_was_written_over_since_is_not_taken_back_in_silence(client, job):
    change(client, job, put(WIDTH, "3' 6", "3'"), sender="1")
    change(client, job, put(WIDTH, "4'", "3' 6"), sender="2")
    answer = client.post(reverse("job-undo", args=[job.code, 2]), follow=True)
    assert "written since" in answer.content.decode()
    assert now(job)["slabs"][0]["width"] == "4'"


def test_an_old_state_is_restored_and_nothing_is_lost(client, job):
    change(client, job, put(WIDTH, "3' 6", "3'"))
    client.post(reverse("job-restore", args=[job.code, 1]))
    assert Job.objects.get(pk=job.pk).text == job.text
    assert [r.kind for r in Revision.objects.filter(job=job).order_by("number")] == [
        "start",
        "edit",
        "restore",
    ]


# --- files ------------------------------------------------------------------------------------------------
def test_sheets_and_files_are_handed_out(client, job):
    heads = {
        "packet.pdf": b"%PDF-",
        "tables.xlsx": b"PK",
        "plan.json": b"{",
        "job.yaml": b"# A 3 ft walk",
        "grades.csv": b"Slab",
        "heights.svg": b"<?xml",
        "plan.dxf": b"999",
    }
    for name, head in heads.items():
        answer = client.get(reverse("job-file", args=[job.code, name]))
        assert answer.status_code == 200, name
        body = b"".join(answer.streaming_content)
        assert body.lstrip().startswith(head) or name == "plan.dxf", (name, body[:20])
        assert len(body) > 100
        assert "juniper-court" in answer.headers["Content-Disposition"]
    for name in ("nothing.csv", "nothing.svg", "passwd", "x.exe", "packet.csv"):
        assert client.get(reverse("job-file", args=[job.code, name])).status_code == 404
    listed = client.get(reverse("job-files", args=[job.code])).content.decode()
    assert "packet.pdf" in listed
    assert "grades.csv" in listed


def test_the_packet_speaks_the_page_s_language(client, job):
    from io import BytesIO

    from pypdf import PdfReader

    at = reverse("job-file", args=[job.code, "packet.pdf"])
    said = {}
    for lang in ("en", "es"):
        client.cookies["slabwright-language"] = lang
        answer = client.get(at)
        said[lang] = PdfReader(BytesIO(b"".join(answer.streaming_content))).pages[0].extract_text()
    assert "Plan" in said["en"]
    assert "Plano" in said["es"]


def test_a_part_of_the_sheet_is_printed_by_itself(client, job):
    from io import BytesIO

    from pypdf import PdfReader

    def pages(name):
        answer = client.get(reverse("job-file", args=[job.code, name]))
        assert answer.status_code == 200, name
        return [one.extract_text() for one in PdfReader(BytesIO(b"".join(answer.streaming_content))).pages]

    shown = client.get(reverse("job", args=[job.code])).content.decode()
    parts = re.findall(r'href="/jobs/\w+/files/(sheets-[a-z-]+\.pdf)"', shown)
    assert parts == [
        f"sheets-{key}.pdf" for key in ("measure", "heights", "dig", "order", "pour", "hand-over")
    ]
    whole = len(pages("packet.pdf"))
    for name, words in (("sheets-heights.pdf", "Heights"), ("sheets-dig.pdf", "Dig")):
        told = pages(name)
        assert 0 < len(told) < whole
        assert words in " ".join(told)
    # nothing of the day is known: its part has no sheet, and the whole packet is handed out in its place
    none = client.get(reverse("job-file", args=[job.code, "sheets-finish.pdf"]))
    assert (none.status_code, none.headers["Location"]) == (302, reverse("job-packet", args=[job.code]))
    assert client.get(reverse("job-file", args=[job.code, "sheets-roof.pdf"])).status_code == 404


@pytest.mark.parametrize("example", ["side-walk", "corner-patio", "quay-apron"])
def test_every_sheet_of_a_packet_belongs_to_a_part(example):
    from slabwright.notes.reader import read_notes
    from slabwright.plan import make
    from slabwright.sheets.job_pages import job_pages

    plan = make(read_notes(people.EXAMPLES / example / "job.yaml"), name=example)
    keys = {one.key for one in job_pages(plan, paper="letter")}
    assert keys
    assert keys <= {key for one in sections() for key in one.sheets}


def test_the_packet_has_the_pour_once_its_weather_is_typed(client, job):
    def keys():
        return set(
            re.findall(
                r'/files/([\w-]+)\.csv"', client.get(reverse("job-files", args=[job.code])).content.decode()
            )
        )

    before = keys()
    assert "grades" in before
    assert "pour-panels" not in before
    figures = {
        "day": "2026-07-14",
        "low": "61 F",
        "high": "88 F",
        "humidity": "45 %",
        "wind": "8 mph",
        "sky": "clear",
    }
    edits = [put(["weather", key], text) for key, text in figures.items()]
    assert change(client, job, *edits).json()["saved"]
    assert now(job)["weather"] == figures
    assert "pour-panels" in keys()
    answer = client.get(reverse("job-packet", args=[job.code]))
    assert b"".join(answer.streaming_content).startswith(b"%PDF-")


def test_a_job_without_a_plan_has_its_notes_only(client, owner, job):
    Job.objects.filter(pk=job.pk).update(text="title: Elm 4\nslabs: []\n", good=0, plans=False)
    answer = client.get(reverse("job-file", args=[job.code, "packet.pdf"]), follow=True)
    assert "no plan yet" in answer.content.decode()
    assert client.get(reverse("job-file", args=[job.code, "job.yaml"])).status_code == 200
    assert page(client, job).status_code == 200


def test_what_is_not_there_is_404(client, job):
    for name, args in [
        ("job", ["nothing"]),
        ("job-history", ["nothing"]),
        ("job-notes", ["nothing"]),
        ("job-files", ["nothing"]),
        ("job-since", ["nothing", 1]),
        ("job-revision", [job.code, 99]),
        ("job-file", ["nothing", "job.yaml"]),
    ]:
        assert client.get(reverse(name, args=args)).status_code == 404, name
    assert client.post(reverse("job-undo", args=[job.code, 99])).status_code == 404
    assert client.post(reverse("job-restore", args=[job.code, 99])).status_code == 404
