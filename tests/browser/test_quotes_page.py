"""A quote in a real browser: made and sent by the owner; read, chosen and accepted by the customer."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect
from tests.kit import people

from slabwright.office import offer
from slabwright.office.actions import prices
from slabwright.office.actions import quotes as actions
from slabwright.office.models import Job, Quote, Shop, State
from slabwright.office.words import word

OPTIONS = ["finish=exposed", "finish=salt", "steel=fiber after finish=exposed"]


@pytest.fixture
def owner(office, request):
    shop = Shop.own()
    shop.name, shop.phone, shop.address = "Kestrel Flatwork", "555 0142", "12 Mill Lane, Alder"
    shop.save()
    speaks = request.getfixturevalue("language") if "language" in request.fixturenames else "en"
    who = people.person(language=speaks)
    prices.use_demo_book(person=who)
    return who


@pytest.fixture
def job(owner) -> Job:
    made = people.job(owner)
    terms = prices.terms_of(made)
    terms.options = OPTIONS
    prices.keep_terms(person=owner, job=made, terms=terms)
    return made


@pytest.fixture
def link(owner, job, language) -> tuple[str, Quote]:
    quote, _ = actions.make(
        person=owner, job=job, revision=1, language=language, options=OPTIONS, valid_days=30
    )
    return f"/q/{actions.send(person=owner, quote=quote)}/", quote


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_the_customer_chooses_and_accepts(size, language, open_page, link, check_accessible, picture):
    address, quote = link
    page = open_page(size)
    page.goto(address)
    assert page.get_attribute("html", "lang") == language
    expect(page.locator(".plan svg")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    check_accessible(page)
    picture(page, f"quote-open-{size}-{language}")
    for box in page.locator(".accept label.tick, .accept .go").all():
        assert box.bounding_box()["height"] >= 44

    page.locator("input[name=take]").nth(2).check()  # fibre stands on the exposed finish
    both = offer.chosen_of(quote.shown, ["steel=fiber"], language)
    expect(page.locator("#sum .total strong")).to_have_text(both.shown)
    expect(page.locator("#sum .sum dt")).to_have_count(2)
    page.locator("input[name=take]").nth(1).check()  # a second finish
    expect(page.locator("#sum [role=alert]")).to_have_text(word("offer-not-together", language))
    page.locator("input[name=take]").nth(1).uncheck()
    expect(page.locator("#sum .total strong")).to_have_text(both.shown)

    page.get_by_role("button", name=word("customer-do", language)).click()
    expect(page.locator(".stop[role=alert]")).to_contain_text(word("customer-look", language))
    assert page.locator("input[name=take]").nth(2).is_checked()
    picture(page, f"quote-refused-{size}-{language}")
    check_accessible(page)
    page.get_by_label(word("customer-name", language)).fill("R. Okafor")
    page.get_by_label(word("customer-agree", language)).check()
    page.get_by_role("button", name=word("customer-do", language)).click()
    told = page.locator(".told")
    expect(told).to_contain_text("R. Okafor")
    expect(told).to_contain_text(both.shown)
    expect(page.locator("form")).to_have_count(0)
    check_accessible(page)
    picture(page, f"quote-accepted-{size}-{language}")
    quote.refresh_from_db()
    assert quote.chosen == ["finish=exposed", "steel=fiber"]
    assert quote.agreed == both.total
    assert Job.objects.get().state == State.ACCEPTED


@pytest.fixture(autouse=True)
def _refusals_are_no_faults(open_page, faults):
    """Leave out what the browser notes of answers that refuse a form, before the pages are judged."""
    yield
    faults[:] = [one for one in faults if not re.search(r"status of (410|422)", one)]


def test_the_language_can_be_switched(link, language, phone):
    address, _ = link
    other = "es" if language == "en" else "en"
    phone.goto(address)
    phone.locator(f".language a[lang={other}]").click()
    assert phone.get_attribute("html", "lang") == other
    expect(phone.get_by_role("button", name=word("customer-do", other))).to_be_visible()


def test_without_a_script_it_can_be_accepted_too(link, language, open_page):
    address, quote = link
    page = open_page("phone", java_script_enabled=False)
    page.goto(address)
    page.locator("input[name=take]").first.check()
    page.get_by_label(word("customer-name", language)).fill("R. Okafor")
    page.get_by_label(word("customer-agree", language)).check()
    page.get_by_role("button", name=word("customer-do", language)).click()
    one = offer.chosen_of(quote.shown, ["finish=exposed"], language)
    expect(page.locator(".stop[role=alert]")).to_contain_text(one.shown)
    page.get_by_role("button", name=word("customer-do", language)).click()
    expect(page.locator(".told")).to_contain_text(one.shown)


def test_a_quote_taken_back_says_so(owner, link, language, phone, picture, check_accessible):
    address, quote = link
    actions.withdraw(person=owner, quote=quote)
    phone.goto(address)
    expect(phone.locator("h1")).to_have_text(word("closed-title-withdrawn", language))
    check_accessible(phone)
    picture(phone, f"quote-closed-{language}")


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_the_owner_prices_and_sends(size, language, open_page, owner, job, picture, check_accessible):
    page = open_page(size, person=owner)
    page.goto(f"/jobs/{job.code}/price/")
    check_accessible(page)
    picture(page, f"price-{size}-{language}")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.get_by_role("button", name=word("quote-make", language)).click()
    page.get_by_role("button", name=word("quote-send", language)).click()
    address = page.locator("input.link").input_value()
    check_accessible(page)
    picture(page, f"quote-own-{size}-{language}")
    guest = open_page(size)
    guest.goto(address)
    expect(
        guest.get_by_role("button", name=word("customer-do", Quote.objects.get().language))
    ).to_be_visible()
    page.goto(f"/jobs/{job.code}/price/")
    expect(page.locator(".jobs .tag")).to_have_text(word("standing-open", language))


def test_the_price_comes_into_the_long_sheet_and_its_forms_stay_there(open_page, owner, job):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/")
    part = page.locator("#price-part")
    expect(part.locator(".figures")).to_be_visible()
    part.get_by_label(word("terms-asked", "en")).fill("$900")
    part.get_by_role("button", name=word("price-again", "en")).click()
    expect(part).to_contain_text("$900.00")
    part.get_by_label(word("terms-asked", "en")).fill("a lot")
    part.get_by_role("button", name=word("price-again", "en")).click()
    expect(part.locator("[aria-invalid=true]")).to_have_value("a lot")
    assert page.url.endswith(f"/jobs/{job.code}/")
    page.wait_for_timeout(100)  # what the browser notes of the refusal comes a little later


@pytest.mark.parametrize("round_", range(4))
def test_make_right_after_keep_makes_the_quote_with_what_was_typed(round_, open_page, owner, job):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/")
    part = page.locator("#price-part")
    expect(part.locator(".figures")).to_be_visible()
    part.get_by_label(word("terms-options", "en")).fill("1 in thicker")
    part.get_by_role("button", name=word("price-again", "en")).click()
    if round_:
        page.wait_for_timeout(120 * round_)  # the answer comes before, at, and after the press
    part.get_by_role("button", name=word("quote-make", "en")).click()
    page.wait_for_url("**/quotes/*/")
    expect(page.locator("article.offer")).to_contain_text('1" thicker')


def test_nothing_is_swapped_under_a_pressed_button(open_page, owner, job):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/")
    part = page.locator("#price-part")
    expect(part.locator(".figures")).to_be_visible()
    part.get_by_label(word("terms-options", "en")).fill("1 in thicker")
    make = part.get_by_role("button", name=word("quote-make", "en"))
    make.scroll_into_view_if_needed()
    with page.expect_response("**/price/"):  # the answer is there while the button is held down
        part.get_by_role("button", name=word("price-again", "en")).evaluate("keep => keep.click()")
        box = make.bounding_box()
        page.mouse.move(box["x"] + 9, box["y"] + 9)
        page.mouse.down()
    page.wait_for_timeout(200)
    page.mouse.up()
    page.wait_for_url("**/quotes/*/")
    expect(page.locator("article.offer")).to_contain_text('1" thicker')


@pytest.mark.parametrize("allowed", [True, False])
def test_the_link_is_copied_or_selected(allowed, open_page, owner, job):
    page = open_page("desktop", person=owner)
    refuse = "Object.defineProperty(navigator, 'clipboard', {}); document.execCommand = () => false"
    if allowed:
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    else:
        page.add_init_script(refuse)
    page.goto(f"/jobs/{job.code}/price/")
    page.get_by_role("button", name=word("quote-make", "en")).click()
    page.get_by_role("button", name=word("quote-send", "en")).click()
    address = page.locator("input.link").input_value()
    page.get_by_role("button", name=word("copy-do", "en")).click()
    expect(page.locator("main .row [role=status]")).to_have_text(
        word("copy-done" if allowed else "copy-selected", "en")
    )
    if allowed:
        assert page.evaluate("navigator.clipboard.readText()") == address
    else:
        field = "document.activeElement"
        assert page.evaluate(f"{field}.value.slice({field}.selectionStart, {field}.selectionEnd)") == address


def test_the_price_follows_the_notes(open_page, owner, job):
    page = open_page("desktop", person=owner)
    page.goto(f"/jobs/{job.code}/")
    price = page.locator("#price-part .figures dd").first
    expect(price).to_be_visible()
    before = price.inner_text()
    width = page.locator("""[name='v:["slabs", 0, "width"]']""")
    width.fill("4 ft")
    width.press("Tab")
    expect(price).not_to_have_text(before)
    expect(page.locator("#price-part input[name=revision]")).to_have_value("2")


def test_photos_in_the_long_sheet(open_page, owner, job, tmp_path, picture):
    from PIL import Image

    file = tmp_path / "yard.jpg"
    Image.new("RGB", (640, 480), "#6f8f5a").save(file)
    page = open_page("phone", person=owner)
    page.goto(f"/jobs/{job.code}/")
    part = page.locator("#photos-part")
    part.locator("input[type=file]").set_input_files(file)
    part.get_by_label(word("photo-words", "en")).fill("base compacted")
    part.get_by_role("button", name=word("photo-add", "en")).click()
    shown = part.get_by_role("img", name="base compacted")
    expect(shown).to_be_visible()
    assert shown.evaluate("one => one.complete && one.naturalWidth") == 480
    part.get_by_role("button", name=word("photo-delete", "en")).click()
    expect(part.get_by_text(word("photos-none", "en"))).to_be_visible()


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_people_pages(size, language, open_page, owner, check_accessible, picture):
    page = open_page(size, person=owner)
    page.goto("/people/")
    page.get_by_label(word("invite-name", language)).fill("Tomás Ruiz")
    page.get_by_role("button", name=word("invite-do", language)).click()
    address = page.locator("input.link").input_value()
    check_accessible(page)
    picture(page, f"people-{size}-{language}")
    guest = open_page(size)
    guest.goto(address)
    check_accessible(guest)
    guest.get_by_label(word("email", language)).fill("tomas@shop.example")
    guest.get_by_label(word("password", language)).fill("two barrows of wet sand")
    guest.get_by_role("button", name=word("join-do", language)).click()
    guest.wait_for_url("**/")
    for at in ("/me/", "/people/", "/log/"):
        page.goto(at)
        check_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), at
        picture(page, f"people{at.replace('/', '-')}{size}-{language}")
