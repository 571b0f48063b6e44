"""The pages round the jobs in a real browser: a tap changes a state; every page is right for everybody."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from tests.kit import people

from slabwright.office.actions import job_list, prices
from slabwright.office.models import Job
from slabwright.office.when import today

PAGES = (
    "/",
    "/jobs/bring/",
    "/calendar/",
    "/books/",
    "/shop/",
    "/me/keys/",
    "/jobs/{code}/records/",
    "/jobs/{code}/delete/",
)


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_every_page_fits_and_is_accessible(office, open_page, size, check_accessible, picture):
    lang = "es" if size == "phone" else "en"
    owner = people.person(language=lang)
    walk = people.job(owner)
    prices.use_demo_book(person=owner)
    job_list.agree(person=owner, job=walk, begins=today(), pours=today())
    page = open_page(size, person=owner, language=lang)
    for at in PAGES:
        page.goto(at.format(code=walk.code))
        assert page.get_attribute("html", "lang") == lang
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{at} is {over} px too wide"
        check_accessible(page)
        picture(page, f"shop-{size}-{at.strip('/').split('/')[-1] or 'list'}")


def test_one_tap_on_a_phone(office, open_page):
    owner = people.person()
    walk = people.job(owner)
    page = open_page("phone", person=owner)
    page.goto("/")
    page.get_by_role("button", name="Quoted").first.click()
    expect(page.get_by_text(f"{walk.title}: quoted.")).to_be_visible()
    assert Job.objects.get().state == "quoted"
