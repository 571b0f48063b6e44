"""The list of jobs: found, told apart by state, put away, copied, deleted, brought in."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from tests.kit.people import EXAMPLES, job, person, signed_in

from slabwright.office.actions import job_list
from slabwright.office.models import Audit, Job, Person, Revision, State
from slabwright.office.pages import jobs as pages

DEMO = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")


def shown(answer) -> str:
    assert answer.status_code in (200, 422), answer.status_code
    return answer.content.decode()


@pytest.fixture
def crew(db):
    return signed_in(person("Tomás Ruiz", "crew"))


def many(count: int, **more) -> None:
    Job.objects.bulk_create(
        Job(title=f"Lot {n}", customer=f"Customer {n % 7}", text=DEMO, **more) for n in range(count)
    )


@pytest.mark.django_db
def test_the_models_and_the_migrations_say_the_same():
    call_command("makemigrations", "office", check=True, dry_run=True, verbosity=0)


def test_every_word_that_is_typed_must_be_there_accents_or_not(each_database, db):
    Job.objects.create(title="Acera norte", customer="Núñez", text=DEMO)
    Job.objects.create(title="Walk", customer="Nunez", text=DEMO, state="poured")
    Job.objects.create(title="Patio", customer="Birk", text=DEMO)

    def titles(typed: str, lang: str = "en") -> set[str]:
        found = Job.objects.in_bulk(pages.searched(Job.objects.all(), typed, lang))
        return {one.title for one in found.values()}

    assert titles("NUNEZ") == {"Acera norte", "Walk"}
    assert titles("ñunez poured") == {"Walk"}
    assert titles("nunez COLADO", "es") == {"Walk"}
    assert titles("zebra") == set()


def test_nothing_found_says_what_to_try(crew):
    assert "No job is like that" in shown(crew.get("/", {"q": "zebra"}))


def test_states_are_counted_and_choose(crew):
    many(3, state="ready")
    many(2)
    page = shown(crew.get("/", {"state": "ready"}))
    assert page.count('class="what"') == 3
    assert "ready to pour (3)" in page
    assert "every state (5)" in page
    assert shown(crew.get("/", {"state": "no such"})).count('class="what"') == 5


def test_pages_keep_what_was_asked(crew):
    many(120, state="quoted")
    first = shown(crew.get("/", {"q": "lot", "state": "quoted"}))
    assert first.count('class="what"') == 50
    assert "?q=lot&amp;state=quoted&amp;page=2" in first
    last = shown(crew.get("/", {"q": "lot", "state": "quoted", "page": "99"}))
    assert last.count('class="what"') == 20
    assert "Page 3 of 3" in last


def test_a_long_list_asks_the_database_little_and_reads_no_text(crew):
    many(300)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        crew.get("/")
    jobs = [one["sql"] for one in asked if "office_job" in one["sql"]]
    assert len(jobs) <= 5
    assert not any('"office_job"."text"' in sql for sql in jobs)


def test_one_tap_changes_the_state_and_is_in_the_log(crew):
    walk = job()
    back = "/?q=walk&page=1"
    answer = crew.post(reverse("job-state", args=(walk.code,)), {"state": "poured", "back": back})
    assert answer.headers["Location"] == back
    walk.refresh_from_db()
    assert walk.state == "poured"
    row = Audit.objects.get(what="job-state")
    assert (row.by, row.more["before"], row.more["now"]) == ("Tomás Ruiz", "measure", "poured")
    crew.post(reverse("job-state", args=(walk.code,)), {"state": "poured"})
    assert Audit.objects.filter(what="job-state").count() == 1
    assert crew.post(reverse("job-state", args=(walk.code,)), {"state": "sold"}).status_code == 400


@pytest.mark.parametrize("lang", ["en", "es"])
def test_what_was_offered_and_agreed_is_the_owner_s_to_say(crew, lang):
    walk, owner = job(), signed_in(person())
    crew.cookies["slabwright-language"] = lang
    address = reverse("job-state", args=(walk.code,))
    only = {"en": "Only the owner can change that to: ", "es": "Solo el dueño puede cambiarlo a: "}[lang]

    def tap(who, state: str) -> str:
        page = shown(who.post(address, {"state": state}, follow=True))
        walk.refresh_from_db()
        return page

    for state in ("quoted", "accepted", "lost"):
        assert only in tap(crew, state)
        assert walk.state == "measure"
        tap(owner, state)
        assert walk.state == state
        assert only in tap(crew, "measure")
        assert walk.state == state
        tap(owner, "measure")
    assert Audit.objects.filter(what="job-state").exclude(by="Lena Ohm").count() == 0
    for state in ("ready", "poured", "done", "measure"):
        assert only not in tap(crew, state)
        assert walk.state == state


@pytest.mark.parametrize("now", ["measure", "quoted", "accepted", "ready", "poured", "done", "lost"])
def test_a_page_offers_only_the_states_that_a_person_may_set(crew, now):
    walk, owner = job(), signed_in(person())
    Job.objects.update(state=now)
    for page in ("/", reverse("job", args=(walk.code,))):
        offered = {
            who: set(re.findall(r'name="state" value="(\w+)"', shown(who.get(page)))) for who in (crew, owner)
        }
        work = {"ready", "poured", "done"} | ({"measure"} if now in ("ready", "poured", "done") else set())
        assert offered[crew] <= work
        if page == "/":
            assert offered[crew] == work - {now}
            assert offered[owner] == set(State.values) - {now}


@pytest.mark.parametrize(
    ("lang", "said", "poured"),
    [("en", "pour on November 25, 2026", "poured"), ("es", "se cuela el 25 de noviembre de 2026", "colado")],
)
def test_the_day_of_a_pour_does_not_read_as_poured(crew, lang, said, poured):
    walk = job()
    Job.objects.update(pours="2026-11-25", state="ready")
    crew.cookies["slabwright-language"] = lang
    pages = shown(crew.get("/")), shown(crew.get(reverse("job", args=(walk.code,))))
    top = [re.search(r'class="tag">.*?</time>', page, re.DOTALL)[0] for page in pages]
    for text in top:
        plain = re.sub(r"\s+", " ", re.sub("<[^>]+>", "", text))
        assert said in plain
        assert poured not in plain


def test_nobody_is_sent_to_another_site(crew):
    walk = job()
    for evil in ("https://evil.example/", "//evil.example", "javascript:alert(1)"):
        answer = crew.post(reverse("job-state", args=(walk.code,)), {"state": "ready", "back": evil})
        assert answer.headers["Location"] == "/"


def test_what_follows_what():
    owner, crew = Person(role="owner"), Person(role="crew")
    assert [job_list.after(owner, one) for one in ("measure", "done", "lost")] == ["quoted", "", ""]
    assert [job_list.after(crew, one) for one in ("measure", "accepted", "ready")] == ["", "ready", "poured"]


def test_put_away_and_back(crew):
    walk = job()
    crew.post(reverse("job-hide", args=(walk.code,)), {"hidden": "1"})
    page = shown(crew.get("/"))
    assert f"/jobs/{walk.code}/state/" not in page
    assert "Put away: 1" in page
    assert f"/jobs/{walk.code}/state/" in shown(crew.get("/", {"hidden": "1"}))
    crew.post(reverse("job-hide", args=(walk.code,)), {"hidden": "0"})
    assert f"/jobs/{walk.code}/state/" in shown(crew.get("/"))


def test_a_copy_has_the_notes_and_a_history_of_its_own(crew):
    walk = job()
    answer = crew.post(reverse("job-copy", args=(walk.code,)))
    made = Job.objects.exclude(pk=walk.pk).get()
    assert answer.headers["Location"] == reverse("job", args=(made.code,))
    assert made.title == f"{walk.title} (copy)"
    assert made.text.replace(" (copy)", "").replace('"', "") == walk.text.replace('"', "")
    assert Revision.objects.get(job=made).kind == "start"


def test_to_delete_is_asked_first_and_the_owners(crew):
    walk = job()
    at = reverse("job-delete", args=(walk.code,))
    assert crew.get(at).status_code == 403
    owner = signed_in(person())
    assert "kept versions of the notes: 1" in shown(owner.get(at))
    assert "Tick the box" in shown(owner.post(at))
    assert Job.objects.count() == 1
    assert owner.post(at, {"sure": "yes"}).headers["Location"] == "/"
    assert not Job.objects.exists()
    assert not Revision.objects.exists()
    assert Audit.objects.get(what="job-deleted").more["revisions"] == 1


def test_a_job_file_comes_in(crew):
    file = SimpleUploadedFile("job.yaml", b"\xef\xbb\xbf" + DEMO.encode(), "application/yaml")
    answer = crew.post(reverse("job-bring"), {"file": file, "text": ""})
    made = Job.objects.get()
    assert answer.headers["Location"] == reverse("job", args=(made.code,))
    assert made.text == DEMO
    assert made.plans


def test_mistakes_stand_by_line_and_the_text_stays(crew):
    wrong = DEMO.replace("units: imperial", "units: cubits") + "\nsurprise: 3\n"
    line = 1 + wrong[: wrong.index("surprise")].count("\n")
    page = shown(crew.post(reverse("job-bring"), {"text": wrong}))
    assert f"Line {line}:" in page
    assert "<code>surprise</code>" in page
    assert "surprise: 3\n</textarea>" in page
    assert not Job.objects.exists()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\x89PNG\r\n\x1a\n\xff\xfe", "no text in UTF-8"),
        (b"title: a\0b", "no text in UTF-8"),
        (b"  \n", "nothing in it"),
        (b"x" * 1_000_001, "over 1 MB"),
    ],
)
def test_what_is_no_job_file_is_refused_in_words(crew, content, said):
    answer = crew.post(reverse("job-bring"), {"file": SimpleUploadedFile("a.yaml", content)})
    assert answer.status_code == 422
    assert said in answer.content.decode() or content.strip() == b""
    assert not Job.objects.exists()
