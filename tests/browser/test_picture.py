"""The plan in a real browser: switches, zoom, what a press says, the keyboard, dragging a point."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from tests.kit import people

from slabwright.office.actions import jobs
from slabwright.office.actions.edits import Edit


@pytest.fixture(params=["phone", "desktop"])
def page(request, open_page, owner, job):
    one = open_page(request.param, person=owner)
    one.goto(f"/jobs/{job.code}/picture/")
    one.wait_for_selector('.picture[data-ready="yes"]')
    return one


def view(page):
    return [float(v) for v in page.get_attribute("svg.plan", "viewBox").split()]


def overlapping(page) -> int:
    """Return how many words that are shown lie on another, by their boxes on the screen."""
    return page.evaluate(
        """() => {
      const shown = [...document.querySelectorAll("svg.plan .words:not(.off) .word:not(.under)")]
        .flatMap((g) => [...g.querySelectorAll("text")].map((t) => [g, t.getBoundingClientRect()]));
      let n = 0;
      const meet = (a, b) =>
        a.left + 2 < b.right && b.left + 2 < a.right && a.top + 3 < b.bottom && b.top + 3 < a.bottom;
      for (const [g, a] of shown) for (const [h, b] of shown) if (g !== h && meet(a, b)) n++;
      return n / 2;
    }"""
    )


def test_switches_show_and_hide(page, check_accessible, picture):
    assert page.locator("svg.plan g.part-heights").first.is_hidden()
    page.get_by_role("checkbox", name="Heights", exact=True).check()
    assert page.locator("svg.plan g.part-heights").first.is_visible()
    for name in ("Stakes", "Joints", "Order", "Dig", "Water"):
        page.get_by_role("checkbox", name=name, exact=True).check()
    page.wait_for_timeout(100)
    assert page.locator("svg.plan .word:not(.under)").count() > 10
    assert overlapping(page) == 0
    page.get_by_role("checkbox", name="Heights", exact=True).uncheck()
    assert page.locator("svg.plan g.part-heights").first.is_hidden()
    check_accessible(page)
    picture(page, "picture-switches")


def test_letters_keep_their_size_when_zoomed(page):
    page.get_by_role("checkbox", name="Heights", exact=True).check()
    page.wait_for_timeout(100)

    def size():
        return page.evaluate(
            """() => {
          const t = document.querySelector("svg.plan .part-heights .word:not(.under) text");
          return t.getBoundingClientRect().height; }"""
        )

    before, wide = size(), view(page)[2]
    for _ in range(3):
        page.get_by_role("button", name="Closer").click()
    page.wait_for_timeout(100)
    assert view(page)[2] == pytest.approx(wide / 1.4**3, rel=0.02)
    assert size() == pytest.approx(before, rel=0.15)
    assert before > 10  # px
    page.get_by_role("button", name="Whole plan").click()
    assert view(page)[2] == pytest.approx(wide, rel=0.01)


def test_a_press_says_what_it_is(page, picture):
    spot = page.locator('[data-key="panel:side walk:4"]')
    page.get_by_label("Look up").select_option("panel:side walk:4")
    for _ in range(3):  # a panel is to be wider than the reach of its marks
        page.get_by_role("button", name="Closer").click()
    spot.scroll_into_view_if_needed()
    box = spot.bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    told = page.locator(".spot-box")
    assert told.locator("h3").inner_text() == "Panel 4"
    assert "12 ft2" in told.locator("dl").inner_text()
    assert spot.evaluate("e => e.classList.contains('chosen')")
    picture(page, "picture-pressed")
    told.get_by_role("button", name="Close").click()
    assert told.is_hidden()


def test_a_panel_says_its_hours_where_the_weather_is_known(page, job, owner):
    edit = Edit("set", ("weather",), people.WEATHER)
    assert jobs.change(person=owner, job=job, edits=[edit], base=1).saved
    page.reload()
    page.wait_for_selector('.picture[data-ready="yes"]')
    page.get_by_label("Look up").select_option("panel:side walk:2")
    expect(page.locator(".spot-box dl")).to_contain_text("Broom from", timeout=30_000)


def test_two_fingers_zoom(open_page, owner, job):
    page = open_page("phone", person=owner)
    page.goto(f"/jobs/{job.code}/picture/")
    page.wait_for_selector('.picture[data-ready="yes"]')
    page.locator(".plan-frame").scroll_into_view_if_needed()
    box = page.locator(".plan-frame").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    wide = view(page)[2]
    touch = page.context.new_cdp_session(page)

    def fingers(kind, apart):
        points = [{"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2}] if apart else []
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 30)
    for apart in (40, 50, 60):
        fingers("touchMove", apart)
    fingers("touchEnd", 0)
    assert view(page)[2] == pytest.approx(wide / 2, rel=0.2)


def test_the_keyboard_moves_zooms_and_chooses(page):
    frame = page.locator(".plan-frame")
    frame.focus()
    wide = view(page)[2]
    page.keyboard.press("+")
    page.keyboard.press("+")
    assert view(page)[2] < wide / 1.9
    x = view(page)[0]
    page.keyboard.press("ArrowRight")
    assert view(page)[0] > x
    page.keyboard.press("0")
    assert view(page)[2] == pytest.approx(wide, rel=0.01)
    page.keyboard.press("Enter")  # to the first mark
    first = page.evaluate("document.activeElement.dataset.key")
    assert first.startswith("mark:")
    page.keyboard.press("ArrowRight")
    second = page.evaluate("document.activeElement.dataset.key")
    assert second != first
    page.keyboard.press("Enter")
    assert page.locator(".spot-box").is_visible()
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.className").startswith("plan-frame")


def test_a_measured_point_says_that_it_stays(page):
    page.get_by_label("Look up").select_option("point::Q2")
    assert "measured with the tape" in page.locator(".spot-stays").inner_text()
    assert page.locator(".spot-move").is_hidden()


def test_a_point_is_dragged_saved_and_taken_back(page, job, owner, picture):
    page.get_by_label("Look up").select_option("point::N4")
    spot = page.locator('[data-key="point::N4"]')
    spot.scroll_into_view_if_needed()
    page.wait_for_timeout(150)
    box = spot.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 8, steps=4)
    with page.expect_response(lambda r: "/place/" in r.url):
        page.mouse.up()
    along = page.locator(".spot-move input[name=along]")
    expect(along).not_to_have_value("33'")
    typed = along.input_value()
    picture(page, "picture-dragged")
    with page.expect_response(lambda r: "/change/" in r.url):
        page.locator(".spot-move .go").click()
    page.wait_for_selector('.picture[data-number="2"]')
    job.refresh_from_db()
    assert job.number == 2
    assert typed in job.text
    jobs.undo(person=owner, job=job, number=2)
    job.refresh_from_db()
    assert typed not in job.text


@pytest.mark.parametrize("where", ["", "picture/"])
def test_print_has_the_plan_alone(open_page, owner, job, where):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/{where}")
    page.wait_for_selector('.picture[data-ready="yes"]')
    page.emulate_media(media="print")
    seen = page.evaluate(
        """() => new Promise((done) => {
      const shown = (e) => e.getClientRects().length > 0;
      window.print = () => done([...document.querySelectorAll("h1, h2, input, button, svg.plan")]
        .filter(shown).map((e) => e.tagName.toLowerCase()));
      document.querySelector('[data-do="print"]').click();
    })"""
    )
    assert seen == ["svg"]


def test_in_spanish_too(open_page, job, check_accessible, picture):
    page = open_page("phone", person=people.person("Rosa Vega", "crew", language="es"))
    page.goto(f"/jobs/{job.code}/picture/")
    page.wait_for_selector('.picture[data-ready="yes"]')
    page.get_by_role("checkbox", name="Alturas", exact=True).check()
    page.get_by_label("Buscar").select_option("mark:side walk:1")
    assert page.locator(".spot-box h3").inner_text() == "Marca 1"
    check_accessible(page)
    picture(page, "picture-es")


def test_a_corner_is_moved_by_its_numbers_and_its_tape_goes(page, job, picture):
    """P1 is the walk's own first point: decided, not found."""
    page.get_by_label("Look up").select_option("point::P1")
    expect(page.locator(".spot-stays")).to_contain_text("P1-P2")
    out = page.locator(".spot-move input[name=out]")
    out.fill("5' 6")
    picture(page, "picture-corner")
    with page.expect_response(lambda r: "/change/" in r.url):
        page.locator(".spot-move .go").click()
    page.wait_for_selector('.picture[data-number="2"]')
    job.refresh_from_db()
    assert "P1-P2" not in job.text
    assert "out: 5' 6}" in job.text


def test_on_the_sheet_everything_follows_and_the_picture_stays_as_it_was(open_page, owner, job):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/")
    page.wait_for_selector('.picture[data-ready="yes"]')
    page.get_by_role("checkbox", name="Heights", exact=True).check()
    page.get_by_label("Look up").select_option("point::P1")
    page.evaluate("window.sameVisit = true")
    page.locator(".spot-move input[name=out]").fill("5' 6")
    page.locator(".spot-move .go").click()
    page.wait_for_selector('.picture[data-number="2"][data-ready="yes"]')
    assert page.evaluate("window.sameVisit === true")  # not loaded anew
    assert page.get_by_role("checkbox", name="Heights", exact=True).is_checked()
    assert page.locator(".spot-box h3").inner_text() == "Point P1"
    expect(page.locator(".spot-move input[name=out]")).to_have_value("5' 6")
    job.refresh_from_db()
    assert "out: 5' 6}" in job.text


def test_a_number_that_cannot_be_read_is_said_and_kept(page, faults, job):
    page.get_by_label("Look up").select_option("point::N4")
    page.locator(".spot-move input[name=along]").fill("about there")
    page.locator(".spot-move .go").click()
    expect(page.locator(".spot-move .wrong")).to_contain_text(
        "about there cannot be read. Write for example 12'"
    )
    assert page.locator(".spot-move input[name=along]").get_attribute("aria-invalid") == "true"
    assert page.locator(".spot-move input[name=along]").input_value() == "about there"
    job.refresh_from_db()
    assert job.number == 1
    faults[:] = [fault for fault in faults if "422" not in fault]


def test_sizes_stand_off_the_edges_of_the_slab(page):
    """At any size of the screen a size is read beside its line, not on the slab's edge."""
    on_edges = page.evaluate(
        """() => {
      const [edge] = [...document.querySelectorAll("svg.plan .part-base .layer-slab path[stroke]")]
        .map((one) => one.getBoundingClientRect());
      const told = [...document.querySelectorAll("svg.plan .part-sizes.words .word:not(.under) text")];
      const cuts = (lo, hi, at) => lo + 2 < at && at < hi - 2;
      return [told.length, told.filter((text) => {
        const r = text.getBoundingClientRect();
        if (r.height > r.width) return false; // a short size up the page may have no room between its lines
        const beside = r.right < edge.left || r.left > edge.right;
        return !beside && (cuts(r.top, r.bottom, edge.top) || cuts(r.top, r.bottom, edge.bottom));
      }).map((text) => text.textContent)];
    }"""
    )
    assert on_edges[0] >= 2
    assert on_edges[1] == []


def test_a_truck_beyond_the_picture_is_named_at_its_edge(page):
    page.get_by_role("checkbox", name="Order", exact=True).check()
    page.wait_for_timeout(100)
    name = page.locator("svg.plan .part-order.words .word:not(.under) text", has_text="K1")
    frame, told = page.locator(".plan-frame").bounding_box(), name.bounding_box()
    assert frame["x"] <= told["x"]
    assert told["x"] + told["width"] <= frame["x"] + frame["width"]
    assert frame["y"] <= told["y"]
    assert told["y"] + told["height"] <= frame["y"] + frame["height"]
