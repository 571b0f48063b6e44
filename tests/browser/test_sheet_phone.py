"""The long sheet under a thumb: its parts, its folds, what is kept, where the job lies."""

from __future__ import annotations

from playwright.sync_api import expect
from tests.browser.on_sheet import WIDTH, by_id, leave, now, opened, reached, saved, unfold, width


def test_a_phone_goes_to_any_part_and_to_the_plan_from_under_the_thumb(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    bar = page.locator(".thumb")
    expect(bar).to_be_in_viewport(ratio=1)
    page.evaluate("scrollTo(0, 1200)")
    expect(bar).to_be_in_viewport(ratio=1)
    bar.locator("summary").tap()
    bar.get_by_role("link", name="Pour day").tap()
    expect(page.locator("#pour h2")).to_be_in_viewport()
    expect(bar.locator("#thumb-here")).to_have_text("Pour day")
    expect(bar.get_by_role("link", name="Order")).to_be_hidden()
    bar.get_by_role("link", name="Plan").tap()
    expect(page.locator("#side .picture")).to_be_in_viewport()
    page.go_back()
    expect(page.locator("#pour h2")).to_be_in_viewport()


def test_a_phone_folds_what_is_done_and_keeps_what_was_opened(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    fold = by_id(page, "g-crew").locator("details.group-fold")
    expect(fold).not_to_have_attribute("open", "")
    expect(fold.locator(".gist")).to_be_visible()
    assert "·" in fold.locator(".gist").inner_text()
    fold.locator("> summary").tap()
    people_field = by_id(page, "f-crew.people")
    people_field.fill("5")
    assert saved(page, people_field.blur).json()["saved"]
    expect(fold).to_have_attribute("open", "")
    page.reload()
    expect(fold).to_have_attribute("open", "")
    fold.locator("> summary").tap()
    expect(fold.locator(".gist")).to_contain_text("5 ·")
    assert page.evaluate("document.documentElement.scrollHeight") < 9_000


def test_a_slip_is_said_under_the_thumb_and_stands_before_the_picture(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    state = page.locator("#thumb-state")
    expect(state).to_be_empty()
    first = now(job)["tape"][0]
    ((_, reads),) = first.items()
    assert leave(page, "f-tape.0.reads", f"{int(reads.split(chr(39))[0]) + 1}'").json()["saved"]
    expect(state).to_contain_text("STOP 1")
    expect(state).to_be_in_viewport()
    page.locator(".thumb-plan").tap()
    expect(page.locator("#side .stop").first).to_be_in_viewport()
    above = page.locator("#side .stop").first.bounding_box()["y"]
    assert above < page.locator("#side .picture").bounding_box()["y"]


def test_a_reading_that_was_not_left_goes_with_a_page_that_is_left(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    reached(page, WIDTH).fill("3' 6")
    page.goto("/")
    page.goto(f"/jobs/{job.code}/")
    page.wait_for_function("() => window.slabSheet && !window.slabSheet.list().length")
    expect(by_id(page, WIDTH)).to_have_value("3' 6")
    assert width(job) == "3' 6"


def test_the_phone_says_where_the_job_lies_and_its_calendar_the_day(open_page, job, owner):
    page = opened(
        open_page, job, owner, "phone", geolocation={"latitude": 45.43217, "longitude": -122.61234},
        permissions=["geolocation"], timezone_id="America/Los_Angeles",
    )  # fmt: skip
    reached(page, "f-place.latitude")
    page.get_by_role("button", name="The job is here, where I stand").tap()
    page.wait_for_function("() => !window.slabSheet.list().length")
    expect(by_id(page, "f-place.longitude")).to_have_value("-122.6123")
    assert now(job)["place"]["latitude"] == "45.4322"
    assert now(job)["place"]["zone"] == "America/Los_Angeles"
    assert leave(page, "f-weather.day", "2026-07-14").json()["saved"]
    assert by_id(page, "f-weather.day").get_attribute("type") == "date"
    assert now(job)["weather"]["day"] == "2026-07-14"


def test_a_phone_that_gives_no_place_is_told_what_else_to_do(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    reached(page, "f-place.latitude")
    page.get_by_role("button", name="The job is here, where I stand").tap()
    expect(by_id(page, "g-place").get_by_role("status")).to_contain_text("Write latitude")


def test_the_owners_sums_stand_whole_on_a_phone(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    page.get_by_role("button", name="Try the demo book").tap()
    expect(page.locator(".price table").first).to_be_visible()
    page.goto(f"/jobs/{job.code}/price/")
    table = page.locator(".price .wide").first
    expect(table.get_by_role("columnheader", name="Amount")).to_be_visible()
    over = table.evaluate("(one) => one.scrollWidth - one.clientWidth")
    assert over <= 0


def test_a_row_that_was_not_added_yet_stands_there_again(open_page, job, owner):
    page = opened(open_page, job, owner, "phone")
    unfold(page, "g-tape.tape")
    group = by_id(page, "g-tape.tape")
    group.locator("details.add > summary").tap()
    group.locator(".adding input").first.fill("Q2")
    page.reload()
    expect(group.locator(".adding input").first).to_be_visible()
    expect(group.locator(".adding input").first).to_have_value("Q2")
    many = len(now(job)["tape"])
    for control, text in zip(group.locator(".adding input").all()[1:3], ("Q4", "9' 1"), strict=True):
        control.fill(text)
    assert saved(page, group.locator(".adding button[name=add]").tap).json()["saved"]
    assert len(now(job)["tape"]) == many + 1
    expect(group.locator(".adding input").first).to_have_value("")
    page.reload()
    assert group.locator(".adding input").first.input_value() == ""
