"""Quotes for the owner: priced, frozen, sent by a link; options and sums."""

from __future__ import annotations

import datetime as dt
import html
import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from tests.kit.people import job, person, signed_in
from tests.kit.quoting import OPTIONS, draft, signature, text_of

from slabwright.office import offer
from slabwright.office.actions import jobs, prices
from slabwright.office.actions import quotes as actions
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Audit, Job, Quote, QuoteState, Shop, State
from slabwright.office.models.people import hashed
from slabwright.office.when import today

# --- the owner's section --------------------------------------------------------------------------------


@pytest.mark.django_db
def test_without_a_book_the_section_offers_the_invented_one():
    owner = person()
    made, client = job(owner), signed_in(owner)
    at = reverse("job-price", args=(made.code,))
    page = text_of(client.get(at))
    assert "no price book yet" in page
    assert "invented" in page
    page = client.post(reverse("price-demo", args=(made.code,)), follow=True)
    assert "do not quote with them" in text_of(page)


def test_the_section_shows_the_way_to_the_price_the_band_and_the_options(owner, walk):
    client = signed_in(owner)
    at = reverse("job-price", args=(walk.code,))
    page = text_of(client.get(at))
    for said in ("From cost to price", "Band of the full cost", "Exposed stone finish", "Every line of cost"):
        assert said in page
    priced = prices.priced_now(walk, text=walk.text)
    assert f"{priced.made.total:,.2f}" in page
    assert f"{priced.made.full_cost:,.2f}" in page
    part = client.get(at, headers={"X-Part": "true"}).content.decode()
    assert "<html" not in part
    assert "From cost to price" in part
    client.post(reverse("language"), {"lang": "es"})
    assert "Del costo al precio" in text_of(client.get(at))


def test_the_risk_is_told_at_an_asked_price(owner, walk):
    client = signed_in(owner)
    at = reverse("job-price", args=(walk.code,))
    page = client.post(at, {"asked": "$900", "options": ""}, headers={"X-Part": "true"})
    assert page.status_code == 200
    assert "$900.00" in text_of(page)
    walk.refresh_from_db()
    assert prices.terms_of(walk).asked == "$900"
    assert prices.terms_of(walk).options == []


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("options", "finish=velvet cake = yes"),
        ("options", "colour=blue"),
        ("distance", "far"),
        ("distance", "-3 mi"),
        ("drive", "long"),
        ("trips", "two"),
        ("asked", "a lot"),
        ("asked", "-5"),
        ("permits", "no such"),
    ],
)
def test_what_cannot_be_read_is_kept_and_said(owner, walk, field, typed):
    before = prices.terms_of(walk)
    good = {"options": "finish=salt", "distance": "3 mi", "drive": "10 min", "trips": "2", "asked": "$2,000"}
    page = signed_in(owner).post(reverse("job-price", args=(walk.code,)), {**good, field: typed})
    body = page.content.decode()
    if (field, typed) == ("options", "finish=velvet cake = yes"):
        # A well-written option that the slab does not know is told where its price would stand.
        assert page.status_code == 302
        return
    assert page.status_code == 422
    assert "errorlist" in body or field == "permits"
    if field != "permits":
        assert typed in body
    after = prices.terms_of(walk)
    assert (after.options, after.distance) == (before.options, before.distance)


def test_a_book_with_mistakes_prices_nothing_and_names_the_row(owner, walk):
    book = prices.book_of(prices.terms_of(walk))
    book.csv = book.csv.replace("172.00", "-172.00", 1)
    book.save()
    page = text_of(signed_in(owner).get(reverse("job-price", args=(walk.code,))))
    assert "cannot be worked out" in page
    assert "-172" in page


def test_a_job_without_a_plan_says_so(owner):
    bad = job(owner)
    Job.objects.filter(pk=bad.pk).update(plans=False, good=0)
    page = text_of(signed_in(owner).get(reverse("job-price", args=(bad.code,))))
    assert "no plan yet" in page


def test_what_the_crew_really_does_is_used(owner, walk):
    from slabwright.office.models import DayRecord

    before = prices.priced_now(walk, text=walk.text).made.person_time
    for n in range(1, 7):
        DayRecord.objects.create(
            job=walk, day=dt.date(2026, 3, n), step="dig", condition="loam", unit="yd3", amount="1", hours="3"
        )
    after = prices.priced_now(walk, text=walk.text)
    assert after.learned is not None
    assert after.made.person_time > before
    assert "learned" in text_of(signed_in(owner).get(reverse("job-price", args=(walk.code,))))


# --- made -----------------------------------------------------------------------------------------------


def test_a_quote_is_frozen(owner, walk):
    quote = draft(owner, walk)
    assert quote.state == QuoteState.DRAFT
    assert quote.digest is None
    assert bytes(quote.pdf).startswith(b"%PDF")
    assert "<svg" in quote.picture
    assert "style=" not in quote.picture
    assert "<script" not in quote.picture
    total = quote.total
    book = prices.book_of(prices.terms_of(walk))
    book.csv = book.csv.replace("172.00,168,182", "372.00,368,382", 1)
    book.save()
    quote.refresh_from_db()
    assert quote.total == total == offer.chosen_of(quote.shown, [], "en").total
    assert draft(owner, walk).total > total


def test_numbers_are_told_apart(owner, walk):
    first, second = draft(owner, walk), draft(owner, walk)
    assert second.number == f"{first.number}-2"


def test_a_quote_that_is_not_ready_is_not_made(owner, walk):
    book = prices.book_of(prices.terms_of(walk))
    book.csv = "\n".join(line for line in book.csv.splitlines() if not line.startswith("plant,concrete"))
    book.save()
    page = signed_in(owner).post(
        reverse("quote-new", args=(walk.code,)), {"language": "en", "valid_days": "30", "revision": "1"}
    )
    assert page.status_code == 422
    assert "would not be ready to sign" in text_of(page)
    assert not Quote.objects.exists()


def test_an_option_that_cannot_be_had_is_not_offered(owner, walk):
    terms = prices.terms_of(walk)
    terms.options = ["finish=velvet"]
    prices.keep_terms(person=owner, job=walk, terms=terms)
    typed = {"language": "en", "valid_days": "30", "revision": "1", "take": ["finish=velvet"]}
    page = signed_in(owner).post(reverse("quote-new", args=(walk.code,)), typed)
    assert page.status_code == 422
    assert "cannot be priced" in text_of(page)


def test_what_was_typed_above_the_button_is_in_the_quote(owner, walk):
    """Options are kept and offered by the same press that makes the quote: none is left out in silence."""
    terms = {"terms": "1", "offer": ["finish=exposed"], "options": "1 in thicker", "distance": "5 mi"}
    asked = {"language": "en", "valid_days": "30", "revision": "1", "take": ["finish=exposed", "gone"]}
    at = reverse("quote-new", args=(walk.code,))
    assert signed_in(owner).post(at, {**terms, **asked}).status_code == 302
    assert prices.terms_of(walk).options == ["finish=exposed", "1 in thicker"]
    assert prices.terms_of(walk).distance == "5 mi"
    assert [o["key"] for o in Quote.objects.get().shown["options"]] == ["finish=exposed", "thicker=1 in"]
    # What is not ticked any more is not offered, although it is priced still.
    left = {**terms, **asked, "take": ["1 in thicker"], "known": ["finish=exposed", "1 in thicker"]}
    assert signed_in(owner).post(at, left).status_code == 302
    last = Quote.objects.order_by("-pk").first()
    assert last is not None
    assert [o["key"] for o in last.shown["options"]] == ["thicker=1 in"]


def test_what_cannot_be_read_above_the_button_makes_no_quote(owner, walk):
    terms = {"terms": "1", "options": "purple", "distance": "far"}
    asked = {"language": "es", "valid_days": "12", "revision": "1", "customer": "N. Ito"}
    answer = signed_in(owner).post(reverse("quote-new", args=(walk.code,)), {**terms, **asked})
    assert answer.status_code == 422
    assert not Quote.objects.exists()
    page = html.unescape(answer.content.decode())
    for kept in (">purple</textarea>", 'value="far"', 'value="12"', 'value="N. Ito"', "exposed stone finish"):
        assert kept in page


@pytest.mark.parametrize(
    ("lang", "name"), [("en", "Exposed stone finish"), ("es", "Acabado de agregado expuesto")]
)
def test_the_usual_options_of_a_job_are_ticked_by_their_names(owner, walk, lang, name):
    owner.language = lang
    owner.save()
    client, at = signed_in(owner), reverse("job-price", args=(walk.code,))
    client.post(at, {"terms": "1", "offer": ["finish=exposed"], "options": "salt finish + 1 ft wider"})
    page = html.unescape(client.get(at).content.decode())
    assert re.search(rf'name="offer" value="finish=exposed" checked>{name}', page)
    assert 'name="offer" value="finish=salt">' in page
    assert 'value="finish=broom"' not in page  # it has that one
    assert ">salt finish + 1 ft wider</textarea>" in page


def test_every_option_with_a_price_can_be_offered_as_it_stands_on_the_page(owner, walk):
    client = signed_in(owner)
    page = client.get(reverse("job-price", args=(walk.code,))).content.decode()
    ticked = [html.unescape(v) for v in re.findall(r'name="take" value="([^"]*)" checked', page)]
    assert ticked == OPTIONS
    typed = {"language": "en", "valid_days": "30", "revision": "1", "take": ticked}
    assert client.post(reverse("quote-new", args=(walk.code,)), typed).status_code == 302
    assert [o["key"] for o in Quote.objects.get().shown["options"]][-1] == "steel=fiber"


@pytest.mark.parametrize(
    "bad", [{"valid_days": "0"}, {"valid_days": "x"}, {"language": "de"}, {"take": ["x"]}]
)
def test_a_form_that_is_wrong_makes_no_quote(owner, walk, bad):
    typed = {"language": "en", "valid_days": "30", "revision": "1", **bad}
    assert signed_in(owner).post(reverse("quote-new", args=(walk.code,)), typed).status_code == 422
    assert not Quote.objects.exists()


def test_nobody_sends_a_price_that_was_not_seen(owner, walk):
    client = signed_in(owner)
    edit = Edit("set", ("slabs", 0, "width"), "4 ft")
    assert jobs.change(person=owner, job=walk, edits=[edit], base=1).saved
    at, typed = reverse("quote-new", args=(walk.code,)), {"language": "en", "valid_days": "30"}
    page = client.post(at, typed | {"revision": "1"})
    assert page.status_code == 422
    assert "changed meanwhile" in text_of(page)
    assert 'name="revision" value="2"' in page.content.decode()
    assert client.post(at, typed | {"revision": "2"}).status_code == 302
    assert Quote.objects.get().revision == 2


def test_the_owner_makes_sends_and_sees_it(each_database, owner, walk):
    client = signed_in(owner)
    typed = {
        "language": "es",
        "valid_days": "14",
        "revision": "1",
        "take": OPTIONS,
        "customer": "Ana Ruiz; Calle 3",
    }
    page = client.post(reverse("quote-new", args=(walk.code,)), typed, follow=True)
    quote = Quote.objects.get()
    assert quote.ends == today() + dt.timedelta(days=14)
    assert "Ana Ruiz" in text_of(page)
    assert "Acabado de agregado expuesto" in text_of(page)
    page = client.post(reverse("quote-send", args=(walk.code, quote.pk)))
    address = re.search(r'value="http://testserver(/q/[^"]+)"', page.content.decode()).group(1)
    token = address.split("/")[2]
    quote.refresh_from_db()
    assert quote.digest == hashed(token)
    assert token not in client.get(reverse("quote", args=(walk.code, quote.pk))).content.decode()
    assert token not in str(list(Audit.objects.values()))
    assert Job.objects.get().state == State.QUOTED
    assert Client().get(address).status_code == 200


def test_a_newer_quote_replaces_the_older(owner, walk, sent):
    old, token = sent
    newer = draft(owner, walk)
    actions.send(person=owner, quote=newer)
    page = Client().get(reverse("customer", args=(token,)))
    assert page.status_code == 410
    assert "newer quote" in text_of(page)
    old.refresh_from_db()
    assert old.state == QuoteState.REPLACED
    with pytest.raises(prices.QuoteError, match="not-open"):
        actions.send(person=owner, quote=old)


def test_a_new_link_ends_the_old_one(owner, sent):
    quote, token = sent
    again = actions.send(person=owner, quote=quote)
    assert Client().get(reverse("customer", args=(token,))).status_code == 404
    assert Client().get(reverse("customer", args=(again,))).status_code == 200


def test_a_draft_can_be_thrown_away_and_a_sent_one_taken_back(owner, walk, sent):
    quote, token = sent
    client = signed_in(owner)
    page = client.post(reverse("quote-delete", args=(walk.code, quote.pk)))
    assert page.status_code == 422
    client.post(reverse("quote-withdraw", args=(walk.code, quote.pk)))
    page = Client().get(reverse("customer", args=(token,)))
    assert page.status_code == 410
    assert "taken back" in text_of(page)
    assert Job.objects.get().state == State.MEASURE
    assert client.post(reverse("quote-withdraw", args=(walk.code, quote.pk))).status_code == 422
    other = draft(owner, walk)
    assert client.post(reverse("quote-delete", args=(walk.code, other.pk))).status_code == 302
    assert not Quote.objects.filter(pk=other.pk).exists()


# --- options and sums -----------------------------------------------------------------------------------


def test_a_choice_adds_up_to_the_cent_and_its_payments_too(owner, walk):
    shown = draft(owner, walk).shown
    by_key = {option["key"]: Decimal(option["difference"]) for option in shown["options"]}
    base = offer.chosen_of(shown, [], "en")
    both = offer.chosen_of(shown, ["finish=exposed", "thicker=1 in"], "en")
    assert both.total == base.total + by_key["finish=exposed"] + by_key["thicker=1 in"]
    for choice in (base, both):
        paid = sum(Decimal(re.sub(r"[^0-9.]", "", amount)) for _, _, amount in choice.payments)
        assert paid == choice.total


def test_an_option_brings_what_it_stands_on(owner, walk):
    shown = draft(owner, walk).shown
    taken = offer.chosen_of(shown, ["steel=fiber"], "en")
    assert taken.keys == ("thicker=1 in", "steel=fiber")


def test_two_finishes_cannot_be_had_together(owner, walk, sent):
    quote, token = sent
    with pytest.raises(offer.OfferError, match="not-together"):
        offer.chosen_of(quote.shown, ["finish=exposed", "finish=salt"], "en")
    with pytest.raises(offer.OfferError, match="unknown"):
        offer.chosen_of(quote.shown, ["finish=gold"], "en")
    both = {"take": ["finish=exposed", "finish=salt"]}
    page = Client().get(reverse("customer", args=(token,)), both, headers={"X-Part": "sum"})
    assert page.status_code == 422
    assert "cannot be had together" in text_of(page)
    page = Client().post(reverse("customer-accept", args=(token,)), signature(quote) | both)
    assert page.status_code == 422
    assert page.content.decode().count("checked") == 3
    quote.refresh_from_db()
    assert quote.state == QuoteState.SENT


def test_options_that_cost_otherwise_together_are_told_to_the_owner(owner, walk):
    priced = prices.priced_now(walk, text=walk.text, options=["wider=2 ft", "thicker=2 in"])
    pairs = offer.apart(priced)
    exact = [pair for pair in pairs if pair.keys == ("wider=2 ft", "thicker=2 in")]
    assert exact
    assert exact[0].together is not None
    assert exact[0].together > exact[0].summed


def test_a_tax_on_the_price_follows_the_choice(owner, walk):
    book = prices.book_of(prices.terms_of(walk))
    book.csv += "\ntax,gross tax,on price,%,5.00,,,,,USD,2026-03-01,,,gross tax,impuesto total"
    book.save()
    shown = draft(owner, walk).shown
    base, one = (offer.chosen_of(shown, keys, "es") for keys in ([], ["finish=exposed"]))
    assert Decimal(shown["total"]) == base.total
    price = Decimal(shown["price"]) + Decimal(shown["options"][0]["difference"])
    assert one.total == price + (price * Decimal("0.05")).quantize(Decimal("0.01"))
    assert any("impuesto total" in name for name, _ in one.rows)


def test_a_deposit_never_passes_the_limit_of_the_place(owner, walk, shop):
    shop.place = "US-CA"
    shop.save()
    quote = draft(owner, walk)
    shown = {**quote.shown, "price": "50000.00"}
    first = offer.chosen_of(shown, [], "en").payments[0]
    assert first[2] == "$1,000.00"


def test_the_book_to_try_is_in_the_shops_currency(owner, walk):
    shop = Shop.own()
    shop.currency = "EUR"
    shop.save()
    prices.use_demo_book(person=owner)
    assert prices.priced_now(walk, text=walk.text).made.currency == "EUR"
    assert "€" in signed_in(owner).get(reverse("job-price", args=(walk.code,))).content.decode()
