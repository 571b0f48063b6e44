"""The ladder: every address by every method for everybody, made from the list of addresses itself.

What each gets is computed from the rung that the address stands on (`may`) and its methods; an address
without a rung fails. Each request is taken back, so that one of them deletes nothing for the next.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from tests.kit.people import job, person, signed_in

from slabwright.office.access import May
from slabwright.office.actions import people as people_actions
from slabwright.office.actions import prices
from slabwright.office.actions import quotes as quote_actions
from slabwright.office.models import Quote, QuoteState
from slabwright.office.models.people import hashed

pytestmark = pytest.mark.django_db
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE")
BY_CONVERTER = {"int": 1, "str": "x", "slug": "x", "path": "x", "uuid": "0" * 32}


def patterns(found: Any = None, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every address of the site with the way to it, those under an include too."""
    for one in (found or get_resolver()).url_patterns:
        at = before + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from patterns(one, at)
        else:
            yield at, one


EVERY = dict(sorted(patterns(), key=lambda pair: pair[0]))


@dataclass(slots=True)
class Yard:
    """People in their browsers, and one of everything that an address may name."""

    clients: dict[str, Client]
    values: dict[str, Any] = field(default_factory=dict)
    tokens: dict[str, str] = field(default_factory=dict)
    other: str = ""


@pytest.fixture(scope="module")
def yard(django_db_setup, django_db_blocker) -> Iterator[Yard]:
    """Return a shop with people, jobs and quotes, made once; it is taken back at the end."""
    with django_db_blocker.unblock(), transaction.atomic():
        owner, crew = person("Lena Ohm"), person("Tomás Ruiz", "crew")
        stranger = person("Ada Birk", "away")
        prices.use_demo_book(person=owner)
        own, theirs = job(owner), job(owner, "corner-patio")
        made, tokens = {}, {}
        for key, one in (("own", own), ("theirs", theirs)):
            made[key], _ = quote_actions.make(person=owner, job=one, revision=1, language="en", valid_days=30)
            tokens[key] = quote_actions.send(person=owner, quote=made[key])
        _, tokens["join"] = people_actions.invite(by=owner, name="Jo", role="crew")
        _, tokens["reset"] = people_actions.reset_link(by=owner, person=crew)
        everybody = {
            "owner": signed_in(owner),
            "crew": signed_in(crew),
            "stranger": signed_in(stranger),
            "signed out": Client(),
            "customer": Client(),
            "other customer": Client(),
        }
        yard = Yard(everybody, {"code": own.code, "pk": made["own"].pk}, tokens, tokens["theirs"])
        everybody["customer"].get(reverse("customer", args=(tokens["own"],)))
        everybody["other customer"].get(reverse("customer", args=(tokens["theirs"],)))
        yield yard
        transaction.set_rollback(True)


def address(yard: Yard, pattern: URLPattern, name: str) -> str:
    """Return the address with values that are there, where we know of one."""
    values: dict[str, Any] = {}
    for key, converter in pattern.pattern.converters.items():
        kind = type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        values[key] = yard.values.get(key, BY_CONVERTER.get(kind, "x"))
        if key == "token":
            values[key] = yard.tokens.get(name, yard.tokens["own"])
    return reverse(name, kwargs=values)


def is_in(who: str, may: May) -> bool:
    """Return whether the rung lets somebody in."""
    if may in (May.ANYONE, May.LINK, May.KEY):
        return True
    return who in ("owner",) or (who == "crew" and may is May.CREW)


def expected(who: str, may: May, method: str) -> str:
    """Return what somebody who is not let in gets: refused, or sent to the door."""
    if who == "stranger" or who == "crew":
        return "403"
    return "to sign-in" if method in ("GET", "HEAD") else "401"


def outcome(client: Client, method: str, at: str) -> tuple[str, Any]:
    """Ask, take back what it did, and return what came of it in words."""
    with transaction.atomic():
        answer = client.generic(method, at)
        if answer.streaming:
            b"".join(answer.streaming_content)
        transaction.set_rollback(True)
    to = answer.headers.get("Location", "")
    if answer.status_code == 302 and to.split("?")[0] == reverse("sign-in"):
        return "to sign-in", answer
    return str(answer.status_code), answer


@pytest.mark.parametrize("route", list(EVERY))
def test_every_address_stands_on_a_rung(route):
    pattern = EVERY[route]
    assert pattern.name, f"{route} has no name"
    assert isinstance(getattr(pattern.callback, "may", None), May), f"{route} was not made by access.way"
    assert set(pattern.callback.methods) <= set(METHODS)
    assert ("HEAD" in pattern.callback.methods) == ("GET" in pattern.callback.methods)


def test_names_are_told_apart():
    names = [pattern.name for pattern in EVERY.values()]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("route", list(EVERY))
def test_everybody_gets_what_the_rung_says(route, yard):
    pattern = EVERY[route]
    may, allowed = pattern.callback.may, pattern.callback.methods
    at = address(yard, pattern, pattern.name)
    for who, client in yard.clients.items():
        key = dict(client.cookies)
        for method in METHODS:
            client.cookies.clear()
            client.cookies.update(key)
            got, answer = outcome(client, method, at)
            told = f"{who}: {method} {at} ({may.value}) got {got}"
            if method not in allowed:
                assert got == "405", told
                continue
            assert int(answer.status_code) < 500, told
            if not is_in(who, may):
                assert got == expected(who, may, method), told
            elif may in (May.CREW, May.OWNER):
                assert got not in ("401", "403", "405"), told
                if who != "owner" or pattern.name not in ("sign-out", "me-sign-out"):
                    assert got != "to sign-in" or pattern.name == "me-sign-out", told
            elif may is May.LINK:
                assert got not in ("401", "403", "405", "to sign-in"), told
            if method == "HEAD":
                assert not b"".join([] if answer.streaming else [answer.content]), told
        client.cookies.clear()
        client.cookies.update(key)


@pytest.mark.parametrize("route", [r for r, p in EVERY.items() if set(p.callback.methods) - {"GET", "HEAD"}])
def test_nothing_is_changed_by_a_forged_form(route, yard):
    """Every form that a signed-in browser sends needs the page's token; a program's key needs none."""
    pattern = EVERY[route]
    if pattern.callback.may is May.KEY:
        return  # carries no cookie that a foreign page could use
    at = address(yard, pattern, pattern.name)
    strict = Client(enforce_csrf_checks=True)
    strict.cookies.update(yard.clients["owner"].cookies)
    for method in set(pattern.callback.methods) - {"GET", "HEAD"}:
        got, answer = outcome(strict, method, at)
        assert got == "403", f"{method} {at}"
        assert "too old" in answer.content.decode() or answer.headers["Content-Type"] == "application/json"


LINKED = [route for route, pattern in EVERY.items() if pattern.callback.may is May.LINK]


def test_there_are_links():
    assert len(LINKED) >= 6


@pytest.mark.parametrize("route", LINKED)
def test_a_wrong_link_is_no_page_by_any_method(route, yard):
    """Somebody with the link of another thing, or none, gets the same as for an address that is not there."""
    pattern = EVERY[route]
    if "token" not in pattern.pattern.converters:
        pytest.fail(f"{route} is behind a link, and its address has no token")
    for wrong in ("x" * 32, "0", hashed(yard.tokens["own"]), yard.tokens["own"][:-1], "%00", "' OR 1=1"):
        for method in set(pattern.callback.methods):
            got, answer = outcome(
                Client(REMOTE_ADDR="192.0.2.99"), method, reverse(pattern.name, args=(wrong,))
            )
            assert got == "404", f"{method} {route} {wrong}: {got}"
            assert answer.headers["Cache-Control"] == "no-store, private"


@pytest.mark.parametrize("route", LINKED)
def test_a_link_of_one_kind_opens_nothing_of_another(route, yard):
    pattern = EVERY[route]
    right = {"join": "join", "reset": "reset"}.get(pattern.name, "own" if "customer" in pattern.name else "")
    for key, token in yard.tokens.items():
        if key == right or (right == "own" and key == "theirs"):
            continue
        got, _ = outcome(Client(REMOTE_ADDR="192.0.2.98"), "GET", reverse(pattern.name, args=(token,)))
        assert got in ("404", "405"), f"{route} opened by the link '{key}'"


def test_the_holder_of_one_quote_sees_nothing_of_the_other(yard):
    client = yard.clients["other customer"]
    mine = client.get(reverse("customer", args=(yard.tokens["theirs"],))).content.decode()
    quotes = {quote.job.code: quote for quote in Quote.objects.filter(state=QuoteState.SENT)}
    own = quotes.pop(yard.values["code"])
    assert own.number not in mine
    assert own.job.title not in mine
    assert next(iter(quotes.values())).job.title in mine
