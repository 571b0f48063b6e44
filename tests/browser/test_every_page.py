"""Every page of the office under the accessibility engine, made from the list of addresses itself.

On the phone in Spanish and on the desk in English; those that are looked at most in the other two as well.
Also: no page is wider than the phone, at 200 % of its letters too, and none needs colours or motion.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db.models import Max
from django.test import Client
from tests.kit import people
from tests.office.test_ladder import EVERY

from slabwright.office.access import May
from slabwright.office.actions import jobs
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Job, Person, Revision

MOST_LOOKED_AT = ("/", "/jobs/{code}/", "/jobs/{code}/picture/", "/jobs/{code}/hours/", "/gallery/")
# Ends as soon as it is opened by somebody who is signed in, or is not for people.
NO_PAGES = ("api/", "first/", "health/", "sign-in/")


@pytest.fixture
def job(owner) -> Job:
    one = people.job(owner)
    done = jobs.change(person=owner, job=one, edits=[Edit("set", ("weather",), people.WEATHER)], base=1)
    assert done.saved
    one.refresh_from_db()
    return one


def pages(owner: Person, job: Job) -> Iterator[str]:
    """Yield the address of every page that the owner can open about this job."""
    client: Client = people.signed_in(owner)
    last = Revision.objects.filter(job=job).aggregate(n=Max("number"))["n"]
    values = {"code": job.code, "number": last}
    for route, pattern in EVERY.items():
        may = getattr(pattern.callback, "may", None)
        if may not in (May.ANYONE, May.CREW, May.OWNER) or route.startswith(NO_PAGES):
            continue
        wanted = set(pattern.pattern.converters)
        if "GET" not in pattern.callback.methods or not wanted <= set(values):
            continue
        address = "/" + route
        for name in wanted:
            for written in (f"<{name}>", f"<int:{name}>", f"<str:{name}>", f"<slug:{name}>"):
                address = address.replace(written, str(values[name]))
        answer = client.get(address)
        kind = answer.headers.get("Content-Type", "")
        if answer.status_code == 200 and kind.startswith("text/html") and b"<html" in answer.content[:400]:
            yield address


def settle(page) -> None:
    """Wait until what a page fetches by itself is there."""
    page.wait_for_load_state("networkidle")


def test_every_page_is_accessible(office, open_page, owner, job, check_accessible, picture):
    every = list(pages(owner, job))
    assert len(every) >= 10
    assert {f"/jobs/{job.code}/", "/gallery/", "/"} <= set(every)
    rosa = people.person("Rosa Vega", language="es")
    known = {address.format(code=job.code) for address in MOST_LOOKED_AT}
    faults = []
    for size, who, language in (
        ("phone", rosa, "es"),
        ("desktop", owner, "en"),
        ("phone", owner, "en"),
        ("desktop", rosa, "es"),
    ):
        page = open_page(size, person=who, language=language)
        usual = (size, language) in (("phone", "es"), ("desktop", "en"))
        for address in every if usual else known:
            page.goto(address)
            settle(page)
            try:
                check_accessible(page)
            except AssertionError as error:
                faults.append(f"{size} {language}: {error}")
            if page.evaluate("document.documentElement.scrollWidth > innerWidth + 1"):
                faults.append(f"{size} {language}: {address} is wider than the screen")
            assert page.get_attribute("html", "lang") == language
            name = address.strip("/").replace(job.code, "job").replace("/", "-") or "jobs"
            picture(page, f"page-{name}-{size}-{language}")
    assert not faults, "\n".join(faults)


def test_letters_of_twice_the_size_still_fit(office, open_page, owner, job):
    page = open_page("phone", person=owner)
    for address in MOST_LOOKED_AT:
        page.goto(address.format(code=job.code))
        settle(page)
        page.evaluate("document.documentElement.style.fontSize = '200%'")  # as a phone's own setting does
        assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 1, f"{address} is {over} px too wide at twice the size"


def test_colours_of_the_system_and_no_motion(office, open_page, owner, job, check_accessible):
    page = open_page("desktop", person=owner, forced_colors="active", reduced_motion="reduce")
    for address in ("/gallery/", f"/jobs/{job.code}/picture/", f"/jobs/{job.code}/solid/"):
        page.goto(address)
        settle(page)
        assert page.evaluate("matchMedia('(forced-colors: active)').matches")
        running = page.evaluate("document.getAnimations().filter((a) => a.playState === 'running').length")
        assert running == 0
    page.goto("/gallery/")
    # the mark of a stop keeps its shape where the system takes its colour
    mark = "getComputedStyle(document.querySelector('.stop'), '::before').clipPath"
    assert "polygon" in page.evaluate(mark)


def test_everything_on_the_gallery_is_large_enough_to_touch(office, open_page, owner):
    page = open_page("phone", person=owner)
    page.goto("/gallery/")
    small = page.evaluate(
        """() => [...document.querySelectorAll("main button, main .button, main summary, main select, "
      + "main input:not([type=checkbox]):not([type=radio]):not([type=range]), main .tick")]
      .map((e) => [e.outerHTML.slice(0, 60), e.getBoundingClientRect().height])
      .filter(([, high]) => high > 0 && high < 44)"""
    )
    assert not small
