"""The doors: headers, cookies, hosts, what the framework's own check says of a site behind HTTPS."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from tests.kit import ready
from tests.kit.people import PASSWORD, job, person, signed_in

from slabwright.office import settings as office
from slabwright.office.actions import audit
from slabwright.office.models import Audit
from slabwright.office.words import words

HERE = Path(office.__file__).parent


def check(*words: str, **more: str) -> str:
    """Return what the framework's check says of a site with these settings."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("DJANGO_", "SLABWRIGHT_", "PYTEST_"))}
    env |= {"DJANGO_SETTINGS_MODULE": ready.SETTINGS, "SLABWRIGHT_HOME": str(ready.home()), **more}
    call = [sys.executable, "-m", "django", "check", *words]
    run = subprocess.run(call, env=env, capture_output=True, text=True, check=False)
    return run.stdout + run.stderr


def test_the_check_before_going_live_has_nothing_to_say():
    secret = "s" * 20 + "0123456789abcdefghijklmnopqrstuvwxyz"
    said = check(
        "--deploy",
        "--fail-level",
        "WARNING",
        SLABWRIGHT_HTTPS="1",
        SLABWRIGHT_HOSTS="office.example",
        SLABWRIGHT_SECRET=secret,
    )
    assert "no issues" in said, said


def test_the_check_would_say_something():
    assert "security.W" in check("--deploy", SLABWRIGHT_DEBUG="1", SLABWRIGHT_SECRET="short")


def loaded(**more: str) -> dict[str, object]:
    """Return the settings as another process reads them."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("DJANGO_", "SLABWRIGHT_", "PYTEST_"))}
    env |= {"SLABWRIGHT_HOME": str(ready.home()), "SLABWRIGHT_SECRET": ready.SECRET, **more}
    names = (
        "SESSION_COOKIE_SECURE CSRF_COOKIE_SECURE SECURE_SSL_REDIRECT SECURE_HSTS_SECONDS "
        "SESSION_COOKIE_HTTPONLY SESSION_COOKIE_SAMESITE CSRF_TRUSTED_ORIGINS DEBUG"
    )
    code = (
        f"from slabwright.office import settings as s; print({{n: getattr(s, n) for n in '{names}'.split()}})"
    )
    run = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True)
    return eval(run.stdout)  # our own print of plain values


def test_behind_https_cookies_and_links_are_secure():
    on = loaded(SLABWRIGHT_HTTPS="1", SLABWRIGHT_HOSTS="office.example")
    off = loaded()
    for name in ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT"):
        assert (on[name], off[name]) == (True, False)
    assert on["SECURE_HSTS_SECONDS"] == 31_536_000
    assert on["CSRF_TRUSTED_ORIGINS"] == ["https://office.example"]
    assert on["SESSION_COOKIE_HTTPONLY"] is True
    assert on["SESSION_COOKIE_SAMESITE"] == "Lax"
    assert on["DEBUG"] is False


@pytest.mark.django_db
def test_every_page_comes_with_its_guards():
    owner = signed_in(person())
    made = job()
    for at in (
        reverse("jobs"),
        reverse("people"),
        reverse("me"),
        reverse("log"),
        reverse("job-price", args=(made.code,)),
        reverse("job", args=(made.code,)),
        "/no/such/page/",
    ):
        page = owner.get(at)
        rules = page.headers["Content-Security-Policy"]
        assert "default-src 'none'" in rules, at
        assert "script-src 'self'" in rules
        assert "unsafe" not in rules
        assert "frame-ancestors 'none'" in rules
        assert page.headers["X-Frame-Options"] == "DENY"
        assert page.headers["X-Content-Type-Options"] == "nosniff"
        assert page.headers["Referrer-Policy"] == "same-origin"
        assert "no-store" in page.headers["Cache-Control"]
        body = page.content.decode()
        assert not re.search(r"<script(?![^>]*(\bsrc=|type=.application/json))", body), at
        assert not re.search(r"<[^>]+\s(style|on\w+)=", body), at
        assert not re.search(r"(src|href)=[\"'](https?:)?//", body), at


@pytest.mark.django_db
def test_a_name_that_is_not_ours_is_not_answered():
    page = Client(headers={"Host": "evil.example"}).get("/sign-in/")
    assert page.status_code == 400
    assert "could not be read" in page.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "to", ["https://evil.example/", "//evil.example", "javascript:alert(1)", "/\\evil.example", "http:evil"]
)
def test_nobody_is_sent_elsewhere_after_signing_in(to):
    who = person()
    typed = {"username": who.email, "password": PASSWORD, "next": to}
    assert Client().post(reverse("sign-in"), typed).headers["Location"] == "/"
    assert Client().post(reverse("language"), {"lang": "es", "next": to}).headers["Location"] == "/"
    inside = Client().post(reverse("sign-in"), {**typed, "next": "/people/"})
    assert inside.headers["Location"] == "/people/"


@pytest.mark.django_db
def test_the_sessions_cookie_is_for_the_server_alone():
    who = person()
    client = Client()
    client.post(reverse("sign-in"), {"username": who.email, "password": PASSWORD})
    cookie = client.cookies["slabwright"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["max-age"] == 14 * 24 * 3600


@pytest.mark.django_db
def test_what_was_typed_is_never_a_part_of_the_page():
    owner = person()
    client = signed_in(owner)
    evil = "<script>alert(1)</script>\"'><img src=x>"
    made = job(owner)
    pages = [
        client.post(reverse("me"), {"name": evil, "language": "xx"}),
        client.post(reverse("invite"), {"name": evil, "role": "crew"}),
        client.post(reverse("job-price", args=(made.code,)), {"distance": evil[:24], "options": evil}),
        Client().post(reverse("sign-in"), {"username": evil, "password": "x"}),
        client.get(reverse("people")),
        client.get(reverse("log")),
    ]
    for page in pages:
        assert "<script>alert" not in page.content.decode()
        assert "<img src=x>" not in page.content.decode()


def test_what_is_told_in_the_log_has_words():
    """Every code that our own actions note has its words in both languages."""
    noted = set()
    for file in HERE.rglob("*.py"):
        noted |= set(re.findall(r'audit\.note\(\s*"([a-z-]+)"', file.read_text(encoding="utf-8")))
    assert len(noted) > 15
    assert {code for code in noted if f"did-{code}" not in words()} == set()


@pytest.mark.django_db
def test_the_log_holds_no_secret():
    owner = person()
    client = signed_in(owner)
    client.post(reverse("invite"), {"name": "Jo", "role": "crew"})
    client.post(reverse("me-password"), {"old": PASSWORD, "password": "two barrows of wet sand"})
    told = str(list(Audit.objects.values()))
    for secret in (PASSWORD, "two barrows", owner.password):
        assert secret not in told
    audit.note("invited", about="x" * 500)
    assert len(Audit.objects.order_by("-pk")[0].about) == 200
