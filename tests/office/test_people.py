"""People: invited by a link that ends, changed, given a new password; the log; the throttle at the door."""

from __future__ import annotations

import datetime as dt
import re
import threading

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from tests.kit.people import PASSWORD, job, person, signed_in

from slabwright.office.actions import jobs as job_actions
from slabwright.office.actions import misses
from slabwright.office.actions import people as actions
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Audit, Link, LinkKind, Misses, Person, Revision, Role, Token
from slabwright.office.models.people import hashed

NEW = "two barrows of wet sand"


def link_in(page: str) -> str:
    found = re.search(r'class="link" readonly value="http://testserver([^"]+)"', page)
    assert found, page
    return found.group(1)


@pytest.mark.django_db
def test_the_owner_invites_and_the_link_works_once():
    owner = signed_in(person())
    page = owner.post(reverse("invite"), {"name": "Tomás Ruiz", "role": "crew"})
    assert page.status_code == 200
    at = link_in(page.content.decode())
    token = at.rstrip("/").rsplit("/", 1)[1]
    kept = Link.objects.get()
    assert kept.digest == hashed(token)
    assert token not in str(Audit.objects.values_list("more", "about"))
    assert token not in owner.get(reverse("people")).content.decode()

    stranger = Client()
    page = stranger.get(at)
    assert page.status_code == 200
    assert page.headers["X-Robots-Tag"].startswith("noindex")
    assert "Tomás Ruiz" in page.content.decode()
    typed = {"name": "Tomás Ruiz", "email": "Tomas@Shop.example ", "password": NEW, "language": "es"}
    assert stranger.post(at, typed).headers["Location"] == "/"
    made = Person.objects.get(email="tomas@shop.example")
    assert (made.role, made.language, made.works_here) == (Role.CREW, "es", True)
    assert stranger.get(reverse("jobs")).status_code == 200
    assert Client().get(at).status_code == 404
    assert Client().post(at, {**typed, "email": "x@shop.example"}).status_code == 404


@pytest.mark.django_db
def test_a_weak_password_is_refused_and_what_was_typed_is_kept():
    _, token = actions.invite(by=person(), name="Jo", role="crew")
    at = reverse("join", args=(token,))
    typed = {"name": "Jo Berg", "email": "jo@shop.example", "password": "short", "language": "en"}
    page = Client().post(at, typed)
    assert page.status_code == 422
    body = page.content.decode()
    assert 'value="Jo Berg"' in body
    assert 'value="jo@shop.example"' in body
    assert "short" not in body.split("password-wrong")[0]
    assert "at least 10" in body
    assert Link.objects.get().used is None


@pytest.mark.django_db
def test_an_address_that_is_taken_says_so_and_leaves_the_link_open():
    owner = person()
    _, token = actions.invite(by=owner, name="Jo", role="crew")
    typed = {"name": "Jo", "email": owner.email.upper(), "password": NEW, "language": "en"}
    page = Client().post(reverse("join", args=(token,)), typed)
    assert page.status_code == 422
    assert "has an account already" in page.content.decode()
    assert Link.objects.get().used is None


@pytest.mark.django_db
@pytest.mark.parametrize("kind", list(LinkKind))
def test_a_link_that_is_over_is_no_page(kind):
    owner = person()
    link, token = (
        actions.invite(by=owner, name="Jo", role="crew")
        if kind is LinkKind.JOIN
        else actions.reset_link(by=owner, person=owner)
    )
    assert actions.link_of(token, kind) == link
    other = LinkKind.RESET if kind is LinkKind.JOIN else LinkKind.JOIN
    assert actions.link_of(token, other) is None
    Link.objects.update(ends=timezone.now() - dt.timedelta(seconds=1))
    at = reverse("join" if kind is LinkKind.JOIN else "reset", args=(token,))
    assert Client().get(at).status_code == 404


@pytest.mark.django_db
def test_an_invitation_can_be_ended():
    owner = person()
    link, token = actions.invite(by=owner, name="Jo", role="crew")
    signed_in(owner).post(reverse("link-end", args=(link.pk,)))
    assert Client().get(reverse("join", args=(token,))).status_code == 404


@pytest.mark.django_db
def test_a_new_password_by_link_ends_every_session():
    owner, crew = person(), person("Tomás Ruiz", "crew")
    phone = signed_in(crew)
    assert phone.get(reverse("jobs")).status_code == 200
    page = signed_in(owner).post(reverse("person-reset", args=(crew.pk,)))
    at = link_in(page.content.decode())
    fresh = Client()
    assert fresh.get(at).status_code == 200
    assert fresh.post(at, {"password": "1234567890"}).status_code == 422
    assert fresh.post(at, {"password": NEW}).status_code == 302
    assert fresh.get(reverse("jobs")).status_code == 200
    assert phone.get(reverse("jobs")).status_code == 302
    crew.refresh_from_db()
    assert crew.check_password(NEW)
    assert Client().get(at).status_code == 404


@pytest.mark.django_db
def test_a_second_reset_link_ends_the_first():
    owner = person()
    _, first = actions.reset_link(by=owner, person=owner)
    _, second = actions.reset_link(by=owner, person=owner)
    assert actions.link_of(first, LinkKind.RESET) is None
    assert actions.link_of(second, LinkKind.RESET) is not None


@pytest.mark.django_db
def test_changing_the_password_ends_other_sessions_and_keeps_this_one():
    crew = person("Tomás Ruiz", "crew")
    phone, laptop = signed_in(crew), signed_in(crew)
    before = laptop.session.session_key
    at = reverse("me-password")
    assert laptop.post(at, {"old": "wrong", "password": NEW}).status_code == 422
    assert phone.get(reverse("jobs")).status_code == 200
    assert laptop.post(at, {"old": PASSWORD, "password": NEW}).status_code == 302
    assert laptop.get(reverse("jobs")).status_code == 200
    assert laptop.session.session_key != before
    assert phone.get(reverse("jobs")).status_code == 302


@pytest.mark.django_db
def test_signing_out_everywhere():
    crew = person("Tomás Ruiz", "crew")
    phone, laptop = signed_in(crew), signed_in(crew)
    assert laptop.post(reverse("me-sign-out")).status_code == 302
    assert [c.get(reverse("jobs")).status_code for c in (phone, laptop)] == [302, 302]
    owner, phone = signed_in(person()), signed_in(crew)
    owner.post(reverse("person-out", args=(crew.pk,)))
    assert phone.get(reverse("jobs")).status_code == 302


@pytest.mark.django_db
def test_name_and_language_are_ones_own():
    crew = person("Tomás Ruiz", "crew")
    client = signed_in(crew)
    assert client.post(reverse("me"), {"name": "", "language": "es"}).status_code == 422
    assert client.post(reverse("me"), {"name": "Tomás R.", "language": "es"}).status_code == 302
    crew.refresh_from_db()
    assert (crew.name, crew.language) == ("Tomás R.", "es")
    assert 'lang="es"' in client.get(reverse("me")).content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("stood", "goes"),
    [("/people/invite/", "/people/"), ("/people/", "/people/"), ("/?find=a", "/?find=a"), ("/no/page/", "/")],
)
def test_the_language_is_changed_on_a_page_that_can_be_opened(stood, goes):
    answer = signed_in(person()).post(reverse("language"), {"lang": "es", "next": stood})
    assert (answer.status_code, answer.headers["Location"]) == (302, goes)


@pytest.mark.django_db
def test_an_address_that_only_takes_a_form_says_so_when_it_is_opened():
    answer = signed_in(person(language="es")).get(reverse("invite"))
    assert (answer.status_code, answer.headers["Allow"]) == (405, "POST")
    assert "no es una página" in answer.content.decode()


@pytest.mark.django_db
def test_signing_in_gives_the_session_a_new_key():
    who = person()
    client = Client()
    client.get(reverse("sign-in"))
    session = client.session
    session["planted"] = 1
    session.save()
    before = session.session_key
    client.cookies["slabwright"] = before
    client.post(reverse("sign-in"), {"username": who.email, "password": PASSWORD})
    assert client.session.session_key != before
    assert client.get(reverse("jobs")).status_code == 200


@pytest.mark.django_db
def test_guessing_a_password_is_slowed_down(settings):
    who = person()
    person("Tomás Ruiz", "crew")
    at = reverse("sign-in")
    for _ in range(settings.AXES_FAILURE_LIMIT - 1):
        assert Client().post(at, {"username": who.email, "password": "no"}).status_code == 422
    assert Client().post(at, {"username": who.email, "password": "no"}).status_code == 429
    page = Client().post(at, {"username": who.email, "password": PASSWORD})
    assert page.status_code == 429
    assert "Too many tries" in page.content.decode()
    # Somebody else, and the same person from elsewhere, come in.
    fine = {"username": "tomas@shop.example", "password": PASSWORD}
    assert Client().post(at, fine).status_code == 302
    here = {"username": who.email, "password": PASSWORD}
    assert Client(REMOTE_ADDR="192.0.2.7").post(at, here).status_code == 302


def test_signing_in_over_a_local_socket_works_on_each_database(each_database, db):
    """There a request comes from no address at all."""
    who = person()
    typed = {"username": who.email, "password": PASSWORD}
    client = Client(REMOTE_ADDR="")
    assert client.post(reverse("sign-in"), {**typed, "password": "wrong"}).status_code == 422
    assert client.post(reverse("sign-in"), typed).status_code == 302


@pytest.mark.django_db
def test_behind_a_proxy_of_ours_only_its_word_counts(settings, rf):
    from slabwright.office.peer import origin

    request = rf.get("/", REMOTE_ADDR="10.0.0.1", HTTP_X_FORWARDED_FOR="6.6.6.6, 192.0.2.7")
    assert origin(request) == "10.0.0.1"
    settings.PROXIES = 1
    assert origin(request) == "192.0.2.7"
    settings.PROXIES = 3
    assert origin(request) == "10.0.0.1"
    assert origin(rf.get("/", REMOTE_ADDR="")) == "unknown"


@pytest.mark.django_db
def test_wrong_links_are_slowed_down_and_right_ones_with_them():
    _, token = actions.invite(by=person(), name="Jo", role="crew")
    wrong, right = reverse("join", args=("x" * 32,)), reverse("join", args=(token,))
    for _ in range(misses.MOST):
        assert Client().get(wrong).status_code == 404
    page = Client().get(right)
    assert page.status_code == 429
    assert page.headers["Retry-After"] == "900"
    assert Client(REMOTE_ADDR="192.0.2.7").get(right).status_code == 200
    Misses.objects.update(since=timezone.now() - misses.WITHIN)
    assert Client().get(right).status_code == 200


@pytest.mark.django_db
def test_the_last_owner_stays():
    owner = person()
    client = signed_in(owner)
    page = client.post(reverse("person-role", args=(owner.pk,)), {"role": "crew"})
    assert page.status_code == 422
    assert "last owner" in page.content.decode()
    page = client.post(reverse("person-forget", args=(owner.pk,)), {"name": owner.name})
    assert page.status_code == 422
    second = person("Ada Birk")
    client.post(reverse("person-role", args=(second.pk,)), {"role": "away"})
    second.refresh_from_db()
    assert second.role == Role.AWAY
    with pytest.raises(actions.PeopleError, match="last-owner"):
        actions.give_role(by=second, person=owner, role="away")


def test_two_owners_cannot_let_each_other_go_at_once(each_database, transactional_db):
    pair = [person("Lena Ohm"), person("Ada Birk")]
    ready, said = threading.Barrier(2), []

    def go(by: Person, whom: Person) -> None:
        ready.wait()
        try:
            actions.give_role(by=by, person=whom, role="crew")
            said.append("done")
        except actions.PeopleError:
            said.append("refused")
        finally:
            connection.close()

    threads = [threading.Thread(target=go, args=(pair[n], pair[1 - n])) for n in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(said) == ["done", "refused"]
    assert Person.objects.filter(role=Role.OWNER).count() == 1


@pytest.mark.django_db
def test_somebody_away_sees_nothing_and_loses_their_keys():
    owner, crew = person(), person("Tomás Ruiz", "crew")
    Token.objects.create(person=crew, name="k", digest="d", ends=timezone.now() + dt.timedelta(days=1))
    phone = signed_in(crew)
    actions.give_role(by=owner, person=crew, role="away")
    assert phone.get(reverse("jobs")).status_code == 302
    assert signed_in(Person.objects.get(pk=crew.pk)).get(reverse("jobs")).status_code == 403
    assert not Token.objects.exists()


def test_what_is_kept_of_a_person_can_be_taken_out(each_database, db):
    owner, crew = person(), person("Tomás Ruiz", "crew")
    made = job(crew)
    Client().post(reverse("sign-in"), {"username": crew.email, "password": "wrong"})
    answer = signed_in(owner).get(reverse("person-data", args=(crew.pk,)))
    data = answer.json()
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert data["account"]["email"] == crew.email
    assert data["revisions"][0]["job"] == made.title
    assert [row["from"] for row in data["sign_ins"]] == ["127.0.0.1"]
    assert crew.password not in answer.content.decode()
    own = signed_in(crew).get(reverse("me-data")).json()
    assert own["account"]["name"] == "Tomás Ruiz"
    assert own["revisions"] == data["revisions"]
    assert signed_in(crew).get(reverse("person-data", args=(owner.pk,))).status_code == 403


def test_forgetting_leaves_a_word_in_place_of_the_name(each_database, db):
    owner, crew = person(), person("Tomás Ruiz", "crew")
    made = job(crew)
    edit = Edit("set", ("customer",), "the Lindqvists")
    assert job_actions.change(person=crew, job=made, edits=[edit], base=1).saved
    Client().post(reverse("sign-in"), {"username": crew.email, "password": "wrong"})
    phone = signed_in(crew)
    actions.reset_link(by=owner, person=crew)
    actions.give_role(by=owner, person=crew, role="owner")
    client = signed_in(owner)
    at = reverse("person-forget", args=(crew.pk,))
    assert client.get(at).status_code == 200
    assert client.post(at, {"name": "Tomas"}).status_code == 422
    assert client.post(at, {"name": " tomás  ruiz "}).status_code == 302
    assert not Person.objects.filter(pk=crew.pk).exists()
    assert phone.get(reverse("jobs")).status_code == 302
    assert set(Revision.objects.values_list("by", flat=True)) == {"somebody who left"}
    # No table of the database holds the name or the address any more.
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT * FROM "{table}"')
            held = str(cursor.fetchall())
            assert "Tomás" not in held, table
            assert crew.email not in held, table
    assert made.title in client.get(reverse("jobs")).content.decode()


@pytest.mark.django_db
def test_the_log_tells_in_both_languages():
    owner = person()
    actions.invite(by=owner, name="Jo", role="crew")
    client = signed_in(owner)
    assert "made a link to join" in client.get(reverse("log")).content.decode()
    client.post(reverse("language"), {"lang": "es"})
    assert "hizo un enlace para entrar" in client.get(reverse("log")).content.decode()
    assert signed_in(person("Tomás Ruiz", "crew")).get(reverse("log")).status_code == 403


@pytest.mark.django_db
def test_the_log_is_shown_by_pages():
    owner = person()
    for n in range(70):
        actions.audit.note("invited", person=owner, about=f"person {n}")
    client = signed_in(owner)
    first, second = (client.get(reverse("log"), {"page": n}).content.decode() for n in (1, 2))
    assert "person 69" in first
    assert "person 0<" in second
    assert client.get(reverse("log"), {"page": "x"}).status_code == 200
