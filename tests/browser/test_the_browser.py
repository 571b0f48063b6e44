"""The browser's fixtures themselves: sizes, languages, what is watched, what the engine finds."""

from __future__ import annotations

import pytest

from slabwright.office.models import Person

GOOD = """<!doctype html><html lang=en><title>t</title><main><h1>Walk</h1>
<label for=a>Width</label> <input id=a></main></html>"""


def test_sizes(phone, desktop):
    for page, size in ((phone, [360, 740, 2]), (desktop, [1280, 900, 1])):
        page.set_content("<meta name=viewport content='width=device-width'>")
        assert page.evaluate("[innerWidth, innerHeight, devicePixelRatio]") == size
    assert phone.evaluate("navigator.maxTouchPoints") > 0


def test_the_language_that_is_asked_for(screen, language):
    assert screen.evaluate("navigator.language")[:2] == language


def test_the_office_answers_and_knows_who_is_there(office, open_page, each_database):
    page = open_page("phone")
    assert page.goto("/health/").status == 200
    ana = Person.objects.create_user("ana@example.com", "nine wide gravel roads", name="Ana", role="owner")
    known = open_page("phone", person=ana)
    known.goto("/")
    assert "sign-in" not in known.url


@pytest.mark.parametrize(
    ("html", "said"),
    [
        ("<script>throw new Error('wet')</script>", "Content Security Policy"),
        ("<img src='http://example.com/a.png'>", "asked another machine: http://example.com/a.png"),
        ("<img src='/static/nothing-of-this-name.png'>", "404"),
    ],
)
def test_what_a_page_may_not_hold_is_noticed(office, desktop, faults, html, said):
    desktop.goto("/health/")
    desktop.set_content(f"<!doctype html><html><body>{html}</body></html>")
    assert any(said in fault for fault in faults), faults
    faults.clear()


def test_what_goes_wrong_in_a_script_is_noticed(desktop, faults):
    with desktop.expect_event("pageerror"):
        desktop.evaluate("setTimeout(() => { throw new Error('wet') })")
    desktop.evaluate("console.error('dry')")
    assert [fault.split(":")[0] for fault in faults] == ["script", "console"]
    assert "wet" in faults[0]
    assert "dry" in faults[1]
    faults.clear()


def test_the_engine_finds_a_field_without_a_name(desktop, check_accessible):
    desktop.set_content(GOOD)
    check_accessible(desktop)
    desktop.set_content(GOOD.replace("<label for=a>Width</label>", "Width"))
    with pytest.raises(AssertionError, match="label"):
        check_accessible(desktop)
    check_accessible(desktop, leave_out=("label",))
