"""The long sheet in a real browser: typing, saving, two at once, no signal, taking back."""

from __future__ import annotations

import json
import re
import time

import pytest
from playwright.sync_api import expect
from tests.browser.on_sheet import WIDTH, by_id, leave, now, opened, reached, saved, speaks, unfold, width

from slabwright.office.actions import jobs
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Revision


def test_a_value_is_read_while_it_is_typed_and_saved_when_it_is_left(open_page, job, owner):
    page = opened(open_page, job, owner)
    field = by_id(page, WIDTH)
    field.fill("3' 6 1/2")
    expect(by_id(page, f"{WIDTH}-r")).to_have_text("read as 3'-6 1/2\"")
    assert width(job) == "3'"
    area = page.locator(".figures dd").first
    before = area.inner_text()
    began = time.perf_counter()
    assert saved(page, field.blur).json()["saved"]
    expect(area).not_to_have_text(before)
    took = time.perf_counter() - began
    assert width(job) == "3' 6 1/2"
    expect(page.locator("#said")).to_have_text("Saved.")
    expect(page.locator('.picture[data-ready="yes"]')).to_have_count(1)
    assert took < 5.0  # a machine with other work; docs/bench.md has the figure


def test_enter_saves_too_and_the_field_keeps_the_hand(open_page, job, owner):
    page = opened(open_page, job, owner)
    field = by_id(page, WIDTH)
    field.fill("3' 6")
    assert saved(page, lambda: field.press("Enter")).json()["saved"]
    expect(field).to_be_focused()
    assert width(job) == "3' 6"


def test_a_mistake_stays_with_what_would_do_until_it_is_mended(
    open_page, job, owner, faults, check_accessible
):
    page = opened(open_page, job, owner)
    answer = leave(page, WIDTH, "three feet")
    assert answer.status == 422
    field = by_id(page, WIDTH)
    expect(field).to_have_value("three feet")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(by_id(page, f"{WIDTH}-w")).to_contain_text("Write for example")
    assert f"{WIDTH}-w" in (field.get_attribute("aria-describedby") or "")
    check_accessible(page)
    assert leave(page, WIDTH, "3' 6").json()["saved"]
    expect(field).not_to_have_attribute("aria-invalid", "true")
    assert width(job) == "3' 6"
    assert all("422" in one for one in faults)
    faults.clear()


def test_typing_goes_on_while_the_change_before_is_saved(open_page, job, owner):
    page = opened(open_page, job, owner)
    by_id(page, WIDTH).fill("3' 6")
    with page.expect_response("**/change/"):
        by_id(page, "f-slabs.0.fall.across").focus()
        page.keyboard.type("/9")
    page.wait_for_timeout(200)
    field = by_id(page, "f-slabs.0.fall.across")
    expect(field).to_be_focused()
    assert "/9" in field.input_value()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_rows_are_added_renamed_and_taken_away(open_page, job, owner, size):
    page = opened(open_page, job, owner, size)
    unfold(page, "g-tape.tape")
    group = by_id(page, "g-tape.tape")
    rows = group.locator("li.record")
    many = rows.count()
    group.locator("details.add > summary").click()
    new = group.locator(".adding")
    for control, text in zip(new.locator("input").all()[:3], ("A", "Q1", "1' 7"), strict=True):
        control.fill(text)
    assert saved(page, new.locator("button[name=add]").click).json()["saved"]
    expect(rows).to_have_count(many + 1)
    assert now(job)["tape"][-1] == {"A-Q1": "1' 7"}
    assert leave(page, f"f-tape.{many}.to", "Q4").json()["saved"]
    assert now(job)["tape"][-1] == {"A-Q4": "1' 7"}
    assert saved(page, rows.nth(many).locator("button[name=take]").click).json()["saved"]
    expect(rows).to_have_count(many)


def test_a_rod_reading_is_added_under_its_point(open_page, job, owner):
    page = opened(open_page, job, owner)
    box = by_id(page, "g-levels.levels").locator(".card").first
    box.locator("details.add > summary").click()
    new = box.locator(".adding")
    new.locator("input").nth(0).fill("T1")
    new.locator("input").nth(1).fill("5' 1")
    assert saved(page, new.locator("button[name=add]").click).json()["saved"]
    expect(by_id(page, "f-levels.0.rod.T1")).to_have_value("5' 1")
    assert now(job)["levels"][0]["rod"]["T1"] == "5' 1"


@pytest.mark.parametrize("whose", ["theirs", "mine"])
def test_two_at_once_are_asked_and_neither_is_lost(
    open_page, job, owner, crew, faults, whose, check_accessible
):
    hers, his = opened(open_page, job, owner), opened(open_page, job, crew, "phone")
    assert leave(his, WIDTH, "3' 6").json()["saved"]
    assert leave(hers, WIDTH, "4'").status == 409
    box = hers.locator(".clash")
    expect(box).to_contain_text("Tomás Ruiz changed this while you were typing")
    expect(box).to_contain_text("Slabs 1, Width")
    keep, take = box.locator("button").all()
    check_accessible(hers)
    expect(keep).to_have_text("Keep theirs: 3' 6")
    expect(take).to_have_text("Take mine: 4'")
    if whose == "mine":
        assert saved(hers, take.click).json()["saved"]
        assert width(job) == "4'"
        expect(hers.locator(".clash")).to_have_count(0)
    else:
        with hers.expect_navigation():
            keep.click()
        expect(by_id(hers, WIDTH)).to_have_value("3' 6")
        assert width(job) == "3' 6"
    assert all("409" in one for one in faults)
    faults.clear()


def test_a_row_taken_away_by_another_does_not_move_what_is_typed(open_page, job, owner, crew):
    hers, his = opened(open_page, job, owner), opened(open_page, job, crew)
    third = now(job)["tape"][2]
    row = by_id(his, "g-tape.tape").locator("li.record").first
    assert saved(his, row.locator("button[name=take]").click).json()["saved"]
    assert leave(hers, "f-tape.2.reads", "47' 11").json()["saved"]
    assert now(job)["tape"][1] == {next(iter(third)): "47' 11"}
    expect(by_id(hers, "f-tape.1.reads")).to_have_value("47' 11")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_without_a_signal_changes_are_kept_through_a_reload_and_sent_later(
    open_page, job, owner, faults, size
):
    page = opened(open_page, job, owner, size)
    page.context.set_offline(True)
    reached(page, WIDTH).fill("3' 6")
    by_id(page, WIDTH).blur()
    reached(page, "f-slabs.0.finish").select_option("salt")
    by_id(page, WIDTH).fill("3' 7")  # the first may have reached the office: it is not written over
    by_id(page, WIDTH).blur()
    expect(page.locator("#kept")).to_contain_text("3 changes are kept on this phone, not sent yet.")
    expect(by_id(page, WIDTH).locator("xpath=..")).to_contain_text("kept on this phone, not sent yet")
    assert width(job) == "3'"
    # The page comes from the office again, the signal for changes does not.
    page.context.set_offline(False)
    page.route("**/change/", lambda route: route.abort())
    page.reload()
    expect(page.locator("html.script")).to_have_count(1)
    expect(by_id(page, WIDTH)).to_have_value("3' 7")
    expect(page.locator("#kept")).to_be_visible()
    page.unroute("**/change/")
    page.locator("#kept button").click()
    expect(page.locator("#kept")).to_be_hidden()
    expect(page.locator("#said")).to_have_text("Saved.")
    page.wait_for_function("() => !window.slabSheet.list().length")
    assert width(job) == "3' 7"
    assert now(job)["slabs"][0]["finish"] == "salt"
    assert [r.changes[0]["was"] for r in Revision.objects.filter(job=job, number=2)] == ["3'"]
    assert all("ERR" in one or "net::" in one for one in faults)
    faults.clear()


def test_the_signal_that_comes_back_sends_by_itself(open_page, job, owner, faults):
    page = opened(open_page, job, owner, "phone")
    page.context.set_offline(True)
    reached(page, WIDTH).fill("3' 6")
    by_id(page, WIDTH).blur()
    expect(page.locator("#kept")).to_contain_text("1 change is kept on this phone")
    with page.expect_response("**/change/") as answer:
        page.context.set_offline(False)
    assert answer.value.json()["saved"]
    expect(page.locator("#kept")).to_be_hidden()
    assert width(job) == "3' 6"
    faults.clear()


def test_an_answer_that_never_came_is_asked_for_again_and_made_once(open_page, job, owner, faults):
    page = opened(open_page, job, owner)

    def lost(route):
        route.fetch()  # the office saves it; its answer is lost on the way
        route.abort()

    page.route("**/change/", lost, times=1)
    by_id(page, WIDTH).fill("3' 6")
    by_id(page, WIDTH).blur()
    expect(page.locator("#kept")).to_be_visible()
    assert saved(page, page.locator("#kept button").click).json()["saved"]
    assert width(job) == "3' 6"
    assert Revision.objects.filter(job=job).count() == 2
    faults.clear()


def test_signed_out_while_typing_keeps_what_was_typed(open_page, job, owner, faults):
    from tests.kit.browser import sign_in

    page = opened(open_page, job, owner)
    session = [c for c in page.context.cookies() if c["name"] == "slabwright"]
    page.context.clear_cookies(name="slabwright")
    assert leave(page, WIDTH, "3' 6").status == 401
    expect(page.locator("#kept")).to_contain_text("You are signed out")
    expect(by_id(page, WIDTH)).to_have_value("3' 6")
    assert session
    sign_in(page.context, page.url.split("/jobs")[0], owner)
    assert saved(page, page.locator("#kept button").click).json()["saved"]
    assert width(job) == "3' 6"
    faults.clear()


def test_another_tab_is_told_what_was_changed(open_page, job, owner, crew):
    page = open_page("desktop", person=owner)
    page.clock.install()
    page.goto(f"/jobs/{job.code}/")
    expect(page.locator("html.script")).to_have_count(1)
    from slabwright.office.actions.edits import Edit

    jobs.change(person=crew, job=job, edits=[Edit("set", ("slabs", 0, "width"), "3' 6", "3'")], base=1)
    with page.expect_response("**/since/1/"):
        page.clock.run_for(16_000)
    expect(page.locator("#news")).to_contain_text("Tomás Ruiz changed Slabs 1, Width.")
    page.locator("#news button").click()
    expect(by_id(page, WIDTH)).to_have_value("3' 6")


def test_a_change_is_undone_from_the_history(open_page, job, owner, language, check_accessible, picture):
    speaks(owner, language)
    page = opened(open_page, job, owner, "phone")
    leave(page, WIDTH, "3' 6")
    page.goto(f"/jobs/{job.code}/history/")
    check_accessible(page)
    picture(page, f"sheet-history-{language}")
    name = {"en": "Undo the last change", "es": "Deshacer el último cambio"}[language]
    page.get_by_role("button", name=name).click()
    expect(page.locator(".told")).to_be_visible()
    assert width(job) == "3'"


def test_the_notes_as_text_say_what_is_wrong_by_line(open_page, job, owner, check_accessible, faults):
    page = open_page("phone", person=owner)
    page.goto(f"/jobs/{job.code}/notes/")
    check_accessible(page)
    box = page.locator("textarea")
    box.fill(box.input_value().replace("width: 3'\n    thickness", "width: wide\n    thickness"))
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#wrong")).to_contain_text(re.compile(r"line \d+: slabs.1.width"))
    expect(box).to_have_value(re.compile("width: wide"))
    check_accessible(page)
    faults.clear()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_the_sheet_is_right_on_both_sizes(open_page, job, owner, language, size, check_accessible, picture):
    speaks(owner, language)
    page = opened(open_page, job, owner, size)
    page.wait_for_load_state("networkidle")
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    small = page.evaluate(
        """() => [...document.querySelectorAll("#sections :is(button, summary, select, input)")]
        .filter((one) => one.type !== 'hidden' && one.checkVisibility())
        .filter((one) => one.getBoundingClientRect().height < 43.5)
        .map((one) => one.outerHTML.slice(0, 120))"""
    )
    assert small == []
    page.evaluate("scrollTo(0, document.body.scrollHeight)")  # here the bar under the thumb lies over nothing
    page.wait_for_timeout(100)
    check_accessible(page)
    picture(page, f"sheet-{size}-{language}")


def test_every_field_can_be_reached_and_left_by_keys(open_page, job, owner):
    page = opened(open_page, job, owner)
    by_id(page, "f-title").focus()
    seen = []
    for _ in range(12):
        page.keyboard.press("Tab")
        seen.append(page.evaluate("document.activeElement.id || document.activeElement.tagName"))
    assert seen[:4] == ["f-customer", "f-measured", "f-units", "f-paper"]
    assert json.dumps(seen).count("f-place") >= 5


def test_without_a_script_every_part_still_saves(open_page, job, owner, faults):
    page = open_page("phone", person=owner, java_script_enabled=False)
    page.goto(f"/jobs/{job.code}/")
    group = by_id(page, "g-slabs.slabs")
    by_id(page, WIDTH).fill("3' 6")
    group.get_by_role("button", name="Save this part").click()
    expect(by_id(page, WIDTH)).to_have_value("3' 6")
    assert width(job) == "3' 6"
    by_id(page, WIDTH).fill("wide")
    by_id(page, "g-slabs.slabs").get_by_role("button", name="Save this part").click()
    expect(page.locator("[aria-invalid=true]")).to_have_value("wide")
    page.locator("[aria-invalid=true]").fill("3' 8")
    page.locator("form.card button").click()
    assert width(job) == "3' 8"
    assert all("422" in one for one in faults)
    faults.clear()


def test_a_job_that_cannot_be_planned_leads_to_what_is_wrong(open_page, job, owner, check_accessible):
    page = opened(open_page, job, owner)
    row = page.locator("[data-row='[\"levels\", 0]']")
    assert saved(page, row.locator("> .row button[name=take]").click).json()["saved"]
    row = page.locator("[data-row='[\"levels\", 0]']")
    assert saved(page, row.locator("> .row button[name=take]").click).json()["saved"]
    told = page.locator("#side .stop").first
    expect(told).to_be_visible()
    check_accessible(page)
    link = told.locator("a").first
    if link.count():
        link.click()
        expect(page.locator(":target")).to_have_count(1)


def test_what_is_left_to_put_right_is_counted_anew_after_each_change(open_page, job, owner):
    at = ["weather", "day"]
    outcome = jobs.change(
        person=owner,
        job=job,
        edits=[Edit("set", tuple(at), "2026-07-14", None)],
        base=job.number,
        client="day",
    )
    assert outcome.saved
    page = opened(open_page, job, owner)
    group, section = by_id(page, "wrong-g-weather"), by_id(page, "wrong-pour")
    left = ["low", "high", "humidity", "wind", "sky"]
    expect(group).to_have_text(f"{len(left)} to put right")
    typed = {"low": "58 F", "high": "84 F", "humidity": "50 %", "wind": "6 mph", "sky": "clear"}
    for n, (key, text) in enumerate(typed.items(), 1):
        assert leave(page, f"f-weather.{key}", text).json()["saved"]
        if n < len(typed):
            expect(group).to_have_text(f"{len(typed) - n} to put right")
            expect(section).to_have_text(f"{len(typed) - n} to put right")
    for place in (group, section):
        expect(place).to_be_hidden()
        expect(place).to_have_text("")
    expect(page.locator("#sections [aria-invalid]")).to_have_count(0)
