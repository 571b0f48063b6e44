"""Fixtures for tests in a real browser: Debian's Chromium, on a phone and on a desk, driven by Playwright.

`phone` and `desktop` are pages of those sizes, `screen` makes a test run on both, `language` in both
languages, and `open_page` opens any other. With `office` among the test's fixtures, addresses may begin with
"/". Every page is watched: a script's fault, a broken rule of the content-security policy, a file that is
missing, an answer of 500 or above, or a word to any other machine fails the test at its end. A test that
provokes one looks at `faults` and clears it. `check_accessible(page)` runs the accessibility engine.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import pytest
from tests.kit import databases

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, Response
    from tests.kit.serving import Office

    Opener = Callable[..., Page]

PICTURES = Path("out/browser")
SIZES: dict[str, dict[str, Any]] = {
    "phone": {
        "viewport": {"width": 360, "height": 740},
        "device_scale_factor": 2,
        "is_mobile": True,
        "has_touch": True,
    },
    "tablet": {"viewport": {"width": 820, "height": 1180}, "device_scale_factor": 2, "has_touch": True},
    "desktop": {"viewport": {"width": 1280, "height": 900}},
    "wide": {"viewport": {"width": 1920, "height": 1080}},
}
LOCALES = {"en": "en-US", "es": "es-US"}
PATIENCE = 20_000  # [ms] for anything that a page should do, on a machine with more to do than it has cores
# No word to anybody but the office: a closed network would only slow the start down.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]
# The rules of WCAG 2.2, levels A and AA, by the engine's own marks.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return the browser, started once in each process of the tests."""
    program = shutil.which("chromium")
    if program is None:
        databases.missing("Chromium", "tests in a browser")
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=program, headless=True, args=FLAGS, timeout=60_000
        )
        yield browser
        browser.close()


@pytest.fixture(params=list(LOCALES))
def language(request: pytest.FixtureRequest) -> str:
    """Return "en" or "es", in which the browser asks for pages; the test runs in both."""
    return str(request.param)


@pytest.fixture
def faults() -> list[str]:
    """Return what went wrong on the test's pages so far; what is left in it at the end fails the test."""
    return []


def _outside(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in {"http", "https", "ws", "wss"} and parts.hostname not in {"127.0.0.1", "localhost"}


def _watch(context: BrowserContext, faults: list[str]) -> None:
    """Write every fault of the context's pages into `faults`."""

    def asked(request: Request) -> None:
        if _outside(request.url):
            faults.append(f"asked another machine: {request.url}")

    def failed(request: Request) -> None:
        # A page that is left takes its open requests with it; that is no fault.
        if request.failure != "net::ERR_ABORTED" and not _outside(request.url):
            faults.append(f"{request.method} {request.url}: {request.failure}")

    def answered(response: Response) -> None:
        if response.status >= 500:
            faults.append(f"{response.request.method} {response.url}: {response.status}")

    def said(message: ConsoleMessage) -> None:
        where = message.location.get("url", "")
        # The browser asks for it by itself where a page, or an answer that is no page, names no icon.
        if message.type == "error" and not where.endswith("/favicon.ico"):
            faults.append(f"console: {message.text} {where}".rstrip())

    context.on("request", asked)
    context.on("requestfailed", failed)
    context.on("response", answered)
    context.on("weberror", lambda fault: faults.append(f"script: {fault.error}"))
    context.on("console", said)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Keep whether the test failed, for the picture that is taken of its pages then."""
    report = yield
    if report.when == "call" and report.failed:
        item.stash[FAILED] = True
    return report


FAILED = pytest.StashKey[bool]()


def _named(text: str) -> Path:
    PICTURES.mkdir(parents=True, exist_ok=True)
    return PICTURES / (re.sub(r"[^\w.-]+", "-", text).strip("-") + ".png")


@pytest.fixture
def open_page(request: pytest.FixtureRequest, chromium: Browser, faults: list[str]) -> Iterator[Opener]:
    """Return open_page(size="phone", language=None, person=None, **options): a page in a session of its own.

    `size` is one of SIZES. `language` is the test's own (see `language`), else English. `person` is signed in
    without the form (needs `office`). `options` are those of a Playwright context.
    """
    contexts: list[BrowserContext] = []
    office: Office | None = request.getfixturevalue("office") if "office" in request.fixturenames else None
    own = request.getfixturevalue("language") if "language" in request.fixturenames else "en"

    def make(size: str = "desktop", language: str | None = None, person: Any = None, **options: Any) -> Page:
        base = {"base_url": office.url} if office else {}
        known = {**SIZES[size], "locale": LOCALES[language or own], "timezone_id": "UTC", **base}
        context = chromium.new_context(**{**known, **options})
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        _watch(context, faults)
        if person is not None:
            assert office is not None, "signing in needs the fixture `office`"
            sign_in(context, office.url, person)
        return context.new_page()

    yield make
    pages = [page for context in contexts for page in context.pages]
    if request.node.stash.get(FAILED, False):
        for number, page in enumerate(pages, 1):
            page.screenshot(path=_named(f"failed-{request.node.name}-{number}"))
    for context in contexts:
        context.close()
    assert not faults, "on the pages of this test:\n" + "\n".join(faults)


@pytest.fixture
def phone(open_page: Opener) -> Page:
    """Return a page on a phone of 360 by 740."""
    return open_page("phone")


@pytest.fixture
def desktop(open_page: Opener) -> Page:
    """Return a page on a desk's screen of 1280 by 900."""
    return open_page("desktop")


@pytest.fixture(params=["phone", "desktop"])
def screen(request: pytest.FixtureRequest, open_page: Opener) -> Page:
    """Return a page; the test runs on the phone and on the desk."""
    return open_page(request.param)


def sign_in(context: BrowserContext, url: str, person: Any) -> None:
    """Give the context a session of the person's, as if they had signed in at `url`."""
    from django.conf import settings
    from tests.kit.visitor import session_of

    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session_of(person), "url": url}])


@pytest.fixture
def picture(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Return picture(page, "name", whole=True), which makes out/browser/name.png when PICTURES is set."""

    def take(page: Page, name: str, *, whole: bool = True) -> None:
        if os.environ.get("PICTURES"):
            page.screenshot(path=_named(name), full_page=whole)

    return take


@pytest.fixture(scope="session")
def _engine() -> Any:
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


@pytest.fixture
def check_accessible(_engine: Any) -> Callable[..., None]:
    """Return check_accessible(page, leave_out=()), which fails with each broken rule of WCAG 2.2 A, AA.

    `leave_out` names rules of the engine that the test has a reason to do without.
    """

    def check(page: Page, leave_out: tuple[str, ...] = ()) -> None:
        options = {
            "runOnly": {"type": "tag", "values": RULES},
            "resultTypes": ["violations"],
            "rules": {name: {"enabled": False} for name in leave_out},
        }
        found = _engine.run(page, options=options).response["violations"]
        lines = []
        for v in found:
            lines.append(f"{v['id']} ({v['impact']}): {v['help']}")
            for node in v["nodes"]:
                lines += [f"    {node['html'][:200]}", f"    {' '.join(node['failureSummary'].split())}"]
        assert not lines, f"{page.url} breaks rules of accessibility:\n" + "\n".join(lines)

    return check
