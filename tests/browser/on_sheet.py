"""How tests move about the long sheet in a browser."""

from __future__ import annotations

from playwright.sync_api import expect

from slabwright.office.models import Job
from slabwright.office.planning import tree_of

WIDTH = "f-slabs.0.width"


def by_id(page, name):
    return page.locator(f'[id="{name}"]')


def opened(open_page, job, person, size="desktop", **more):
    page = open_page(size, person=person, **more)
    page.goto(f"/jobs/{job.code}/")
    expect(page.locator("html.script")).to_have_count(1)
    return page


def speaks(person, language):
    person.language = language
    person.save(update_fields=["language"])


def unfold(page, group):
    fold = by_id(page, group).locator("details.group-fold").first
    if fold.get_attribute("open") is None:
        fold.locator("summary").first.click()


def reached(page, name):
    """Return a field; its part is opened first where a phone has folded it."""
    field = by_id(page, name)
    fold = page.locator("details.group-fold", has=field)
    if fold.first.get_attribute("open") is None:
        fold.first.locator("> summary").click()
    return field


def saved(page, action):
    with page.expect_response("**/change/") as answer:
        action()
    return answer.value


def leave(page, name, text):
    field = reached(page, name)
    field.fill(text)
    return saved(page, field.blur)


def now(job):
    return tree_of(Job.objects.get(pk=job.pk).text)


def width(job):
    return now(job)["slabs"][0]["width"]
