"""The long sheet over HTTP: shown, read while typed, changed, refused with words."""

from __future__ import annotations

import json
import re

import pytest
from django.urls import reverse
from tests.kit import people
from tests.kit.sheeting import WIDTH, change, in_spanish, now, page, put

from slabwright.measure import System
from slabwright.office.actions import jobs
from slabwright.office.models import Job, Revision
from slabwright.office.planning import planned, tree_of
from slabwright.office.sheet.places import linked, places_of
from slabwright.office.sheet.view import sheet_of

pytestmark = pytest.mark.django_db


# --- shown ------------------------------------------------------------------------------------------------
def test_the_sheet_shows_sections_fields_readings_tables_and_the_plan(client, job):
    text = page(client, job).content.decode()
    heads = re.findall(r'<h2 id="h-([\w-]+)"', text)
    assert heads == ["measure", "heights", "dig", "order", "pour", "finish", "price", "hand-over"]
    assert 'value="6&#x27; 8 3/4"' in text
    assert "read as 6&#x27;-8 3/4&quot;" in text
    assert '<table id="table-grades">' in text
    assert "<caption>" in text
    assert 'scope="col"' in text
    assert 'id="picture"' in text
    assert "CAUTION" in text


def test_no_style_and_no_script_stands_in_the_page(client, job):
    text = page(client, job).content.decode()
    assert " style=" not in text
    assert "<style" not in text
    assert not re.findall(r"\son\w+=", text)
    scripts = re.findall(r"<script([^>]*)>", text)
    assert scripts
    assert all("src=" in one or 'type="application/json"' in one for one in scripts)


def test_the_sheet_in_spanish(client, job):
    text = page(in_spanish(client), job).content.decode()
    assert 'lang="es"' in text
    assert "Medidas con cinta" in text
    assert "leído como" in text
    assert "Tape pulls" not in text
    assert "Alturas terminadas" in text


def test_crew_see_no_price(crew, job):
    text = page(people.signed_in(crew), job).content.decode()
    assert 'id="h-price"' not in text
    assert 'id="h-pour"' in text


def test_a_new_job_marks_its_examples_until_they_are_written_over(client, owner):
    job = jobs.start(person=owner, title="Elm 4", use="walk")
    text = page(client, job).content.decode()
    tagged = text.count('class="tag example"')
    assert tagged > 20
    assert "came with the job" in text
    done = change(client, job, put(["tape", 0, "reads"], "33'", "32'"))
    assert done.json()["saved"]
    assert page(client, job).content.decode().count('class="tag example"') < tagged


def test_a_job_that_cannot_be_planned_shows_what_to_put_right_and_its_last_plan(client, job):
    done = change(client, job, {"kind": "delete", "path": ["square-off", 4]})
    assert done.json()["saved"]
    text = page(client, job).content.decode()
    assert "P1" in text
    shown = Job.objects.get(pk=job.pk)
    if not shown.plans:
        assert "plan of change 1" in text
        assert 'class="stop"' in text


def test_notes_written_in_other_ways_are_shown_and_not_lost(client, owner):
    text = people.job(owner).text.replace(
        "tape:                    # steel tape, held by both of us\n", "tape:\n"
    )
    own = re.sub(
        r"^tape:\n(?:  - .*\n)+",
        "tape: {A-B: 48', B-C: 26' 6, C-D: 48', A-D: 26' 6, A-C: 54' 10}\n",
        text,
        flags=re.M,
    )
    job = jobs.bring_in(person=owner, text=own)
    shown = page(client, job).content.decode()
    assert "Written in a way that these fields do not hold" in shown
    assert change(client, job, put(WIDTH, "3' 1", "3'")).json()["saved"]
    assert now(job)["tape"]["B-C"] == "26' 6"


# --- while typing ----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("path", "text", "answer"),
    [
        (WIDTH, "3' 2", {"read": "read as 3'-2\""}),
        (["slabs", 0, "name"], "walk", {"read": ""}),
        (["nonsense"], "x", {"read": ""}),
        (["levels", 0, "rod", "*"], "4' 9", {"read": "read as 4'-9\""}),
    ],
)
def test_what_is_typed_is_read_at_once(client, job, path, text, answer):
    at = reverse("job-read", args=[job.code])
    assert client.get(at, {"path": json.dumps(path), "text": text}).json() == answer


def test_what_cannot_be_read_says_what_would_do(client, job):
    at = reverse("job-read", args=[job.code])
    said = client.get(at, {"path": json.dumps(WIDTH), "text": "three"}).json()
    assert "number is missing" in said["why"]
    assert said["example"]
    said = client.get(at, {"path": '["slabs", 0, "corners"]', "text": "P1, {point: P2"}).json()
    assert said["why"]
    for path in ("", "x", "{}", "[[1]]", '[{"a": 1}]', "[1.5]"):
        assert client.get(at, {"path": path, "text": "1"}).status_code == 200


# --- saved ------------------------------------------------------------------------------------------------
def test_a_field_is_saved_and_the_plan_comes_back(client, job):
    answer = change(client, job, put(WIDTH, "3' 6", "3'"))
    assert answer.status_code == 200
    data = answer.json()
    assert data["saved"]
    assert data["number"] == 2
    assert not data["others"]
    assert data["fields"] == [
        {"id": "f-slabs.0.width", "value": "3' 6", "seen": '"3\' 6"', "read": "read as 3'-6\""}
    ]
    assert data["kept"] == [{"path": WIDTH, "seen": "3' 6"}]
    assert 'id="picture"' in data["parts"]["side"]
    assert "<table" in data["parts"]["tables-heights"]
    assert now(job)["slabs"][0]["width"] == "3' 6"
    told = Revision.objects.get(job=job, number=2)
    assert told.by == "Lena Ohm"


def test_everything_else_of_the_file_stays_as_it_was(client, job):
    before = job.text
    change(client, job, put(WIDTH, "3' 6", "3'"))
    after = Job.objects.get(pk=job.pk).text
    differ = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert differ == [("    width: 3'", "    width: 3' 6")]


def test_sent_twice_it_is_made_once(client, job):
    for _ in range(2):
        answer = change(client, job, put(WIDTH, "3' 6", "3'"), base=1, sender="once").json()
        assert answer["saved"]
        assert answer["number"] == 2
    assert Revision.objects.filter(job=job).count() == 2


def test_rows_are_added_changed_and_taken_away(client, job):
    row = {"from": "A", "to": "Q1", "reads": "1' 7", "with": "", "sd": ""}
    data = change(client, job, {"kind": "append", "path": ["tape"], "value": row}, sender="r1").json()
    assert now(job)["tape"][-1] == {"A-Q1": "1' 7"}
    n = len(now(job)["tape"]) - 1
    assert f'data-row="[&quot;tape&quot;, {n}]"' in data["parts"]["g-tape.tape"]
    change(client, job, put(["tape", n, "to"], "Q4", "Q1"), sender="r2")
    change(client, job, put(["tape", n, "with"], "laser", None), sender="r3")
    assert now(job)["tape"][-1] == {"A-Q4": "1' 7", "with": "laser"}
    change(client, job, {"kind": "delete", "path": ["tape", n]}, sender="r4")
    assert len(now(job)["tape"]) == n


def test_a_rod_reading_under_a_name_of_its_own(client, job):
    data = change(client, job, put(["levels", 0, "rod", "T1"], "5' 1"), sender="n1").json()
    assert data["saved"]
    assert "g-levels.levels" in data["parts"]
    assert now(job)["levels"][0]["rod"]["T1"] == "5' 1"
    data = change(client, job, put(["levels", 0, "rod", "T1"], "5' 2"), sender="n2")
    assert data.status_code == 409
    assert data.json()["clashes"][0]["now"] == "5' 1"


def test_a_slab_that_is_added_stands_in_every_section(client, job):
    value = {"name": "step pad", "use": "pad", "corners": "Q1, Q2, Q3"}
    data = change(client, job, {"kind": "append", "path": ["slabs"], "value": value}).json()
    assert data["saved"]
    assert data["parts"]["sections"].count("step pad") > 3


# --- refused ----------------------------------------------------------------------------------------------
def test_a_mistake_is_said_with_what_would_do_and_nothing_is_saved(client, job):
    answer = change(client, job, put(WIDTH, "three feet", "3'"))
    assert answer.status_code == 422
    told = answer.json()["mistakes"]
    assert [m["field"] for m in told] == ["slabs.1.width"]
    assert told[0]["example"]
    assert Job.objects.get(pk=job.pk).number == 1


def test_an_empty_needed_field_is_refused_in_the_page_s_language(client, job):
    answer = change(in_spanish(client), job, put(["title"], " ", "x"))
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["why"] == "Esto no puede quedar vacío."


def test_two_who_change_the_same_field_are_asked(client, crew, job):
    other = people.signed_in(crew)
    assert change(other, job, put(WIDTH, "3' 6", "3'"), base=1, sender="t").json()["saved"]
    answer = change(client, job, put(WIDTH, "4'", "3'"), base=1, sender="l")
    assert answer.status_code == 409
    asked = answer.json()["clashes"][0]
    assert asked["title"] == "Two answers for: Slabs 1, Width"
    assert asked["ask"].startswith("Tomás Ruiz changed this")
    assert (asked["theirs"], asked["mine"]) == ("Keep theirs: 3' 6", "Take mine: 4'")
    mine = change(client, job, put(WIDTH, "4'", asked["now"]), sender="l2")
    assert mine.json()["saved"]
    assert now(job)["slabs"][0]["width"] == "4'"


def test_two_who_change_different_fields_both_win_and_the_page_comes_anew(client, crew, job):
    change(people.signed_in(crew), job, {"kind": "delete", "path": ["tape", 0]}, base=1, sender="t")
    data = change(client, job, put(["tape", 1, "reads"], "26' 7", "26' 6"), base=1, sender="l").json()
    assert data["saved"]
    assert data["others"]
    assert "sections" in data["parts"]
    assert now(job)["tape"][0] == {"B-C": "26' 7"}


def test_a_row_that_is_gone_says_so(client, crew, job):
    change(people.signed_in(crew), job, {"kind": "delete", "path": ["tape", 0]}, base=1, sender="t")
    answer = change(client, job, put(["tape", 0, "reads"], "47'", "48'"), base=1, sender="l")
    assert answer.status_code == 409
    assert "took this row away" in answer.json()["gone"][0]["ask"]


def test_what_is_no_change_is_told_and_never_a_fault(client, job):
    at = reverse("job-change", args=[job.code])
    for body in ("", "[]", "{}", "[" * 5000, '{"edits":[{"path":["x"]}],"base":1}', "\x00"):
        answer = client.post(at, body, content_type="application/json")
        assert answer.status_code == 400
        assert answer.json()["what"] is not None


def test_signed_out_it_is_said_so_that_the_phone_keeps_it(job):
    nobody = people.signed_in(None)
    assert change(nobody, job, put(WIDTH, "4'", "3'")).status_code == 401


# --- others -----------------------------------------------------------------------------------------------
def test_what_others_did_is_told_once_there_is_something(client, crew, job):
    at = reverse("job-since", args=[job.code, 1])
    assert client.get(at).status_code == 204
    change(people.signed_in(crew), job, put(WIDTH, "3' 6", "3'"))
    data = client.get(at).json()
    assert data == {"number": 2, "told": ["Tomás Ruiz changed Slabs 1, Width."]}
    assert client.get(reverse("job-since", args=[job.code, 2])).status_code == 204


def test_a_whole_text_by_another_is_told_in_a_whole_sentence(client, crew, job):
    jobs.rewrite(person=crew, job=job, text=job.text + "# more\n", base=1)
    data = client.get(reverse("job-since", args=[job.code, 1])).json()
    assert data["told"] == ["Tomás Ruiz changed the notes' text."]


def test_the_sheet_is_small_on_the_way(client, job):
    whole = len(page(client, job).content)
    sent = page(client, job, headers={"accept-encoding": "gzip"})
    assert sent.headers["Content-Encoding"] == "gzip"
    assert len(sent.content) < whole / 5


def test_a_finding_leads_to_the_reading_that_it_names(client, job):
    ((ends, _),) = now(job)["tape"][0].items()
    assert change(client, job, put(["tape", 0, "reads"], "50'", now(job)["tape"][0][ends])).json()["saved"]
    side = client.get(f"/jobs/{job.code}/").content.decode()
    assert f'<a href="#f-tape.0.reads">tape {ends}</a>' in side
    assert side.count('id="f-tape.0.reads"') == 1


def test_every_reading_that_a_finding_names_alone_has_its_place():
    notes = people.EXAMPLES / "side-walk" / "job.yaml"
    made = planned(notes.read_text(encoding="utf-8"), "side-walk")
    places = places_of(
        sheet_of(tree_of(notes.read_text(encoding="utf-8")), system=System.IMPERIAL, lang="en")
    )
    kinds = ("tape ", "square-off ", "rod ")
    named = [one.name for one in made.plan.survey.readings if one.name.startswith(kinds)]
    assert len(named) > 20
    assert [name for name in named if name not in places] == []


def test_a_name_is_no_markup():
    assert linked("<b>x</b>, tape A-B", {"tape A-B": "f-tape.0.reads"}) == (
        '&lt;b&gt;x&lt;/b&gt;, <a href="#f-tape.0.reads">tape A-B</a>'
    )


def test_the_day_of_the_pour_goes_to_the_calendar_unless_another_was_agreed(client, job):
    day = ["weather", "day"]
    assert change(client, job, put(day, "2026-07-14"), sender="d1").json()["saved"]
    job.refresh_from_db()
    assert str(job.pours) == "2026-07-14"
    assert '<time datetime="2026-07-14">' in page(client, job).content.decode()
    assert change(client, job, put(day, "2026-07-15", "2026-07-14"), sender="d2").json()["saved"]
    job.refresh_from_db()
    assert str(job.pours) == "2026-07-15"
    Job.objects.filter(pk=job.pk).update(pours="2026-07-20")
    assert change(client, job, put(day, "2026-07-16", "2026-07-15"), sender="d3").json()["saved"]
    job.refresh_from_db()
    assert str(job.pours) == "2026-07-20"
    assert "2026-07-20" in client.get("/calendar/?month=2026-07").content.decode()


def test_a_change_tells_how_much_is_left_to_put_right(client, job):
    def counts(key: str, value: str) -> dict[str, str]:
        answer = change(client, job, put(["weather", key], value), sender=key).json()
        assert answer["saved"]
        return answer["counts"]

    shown = counts("day", "2026-07-14")
    text = page(client, job).content.decode()
    assert shown["wrong-pour"] == shown["wrong-g-weather"] != ""
    for place, said in shown.items():
        assert f'id="{place}">{said}</span>' in text
    rest = {"low": "58 F", "high": "84 F", "humidity": "50 %", "wind": "6 mph", "sky": "clear"}
    told = [counts(key, value).get("wrong-pour", "") for key, value in rest.items()]
    assert told == ["4 to put right", "3 to put right", "2 to put right", "1 to put right", ""]
    assert 'id="wrong-pour" hidden></span>' in page(client, job).content.decode()


def test_a_job_is_put_forward_from_its_own_page(client, job):
    text = page(client, job).content.decode()
    assert f'action="{reverse("job-state", args=[job.code])}"' in text
    back = reverse("job", args=[job.code])
    answer = client.post(reverse("job-state", args=[job.code]), {"state": "quoted", "back": back})
    assert answer.headers["Location"] == back
    job.refresh_from_db()
    assert job.state == "quoted"


def test_the_parts_of_the_pages_are_found_from_one_s_own_page(client):
    assert f'href="{reverse("gallery")}"' in client.get(reverse("me")).content.decode()


def test_how_deep_to_dig_stands_on_the_page_as_on_paper(client, job):
    text = page(client, job).content.decode()
    assert '<table id="table-dig-bands">' in text
