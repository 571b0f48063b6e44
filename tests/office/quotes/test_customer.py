"""Quotes for the customer: read by the link and accepted once."""

from __future__ import annotations

import datetime as dt
import io
import re
import threading

import pypdf
import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from tests.kit.people import job, person, signed_in
from tests.kit.quoting import draft, signature, text_of

from slabwright.office import offer, when
from slabwright.office.actions import prices
from slabwright.office.actions import quotes as actions
from slabwright.office.models import Audit, Quote, QuoteState, Shop, State
from slabwright.office.models.people import hashed
from slabwright.office.when import today
from slabwright.office.words import word as said_in

# --- the customer ---------------------------------------------------------------------------------------


def test_the_customers_page(sent):
    _, token = sent
    page = Client().get(reverse("customer", args=(token,)))
    assert page.status_code == 200
    body, said = page.content.decode(), text_of(page)
    assert "<svg" in body
    for word in (
        "What the price covers",
        "What it does not cover",
        "Conditions",
        "Payments",
        "Kestrel Flatwork",
    ):
        assert word in said
    assert page.headers["X-Robots-Tag"].startswith("noindex")
    assert page.headers["Cache-Control"] == "no-store, private"
    assert page.headers["Referrer-Policy"] == "same-origin"
    assert page.headers["X-Frame-Options"] == "DENY"
    assert "style=" not in body
    assert "<script>" not in body
    # No way from here to anything else of the office.
    inside = set(re.findall(r'(?:href|action|src|data-sum)="(/[^"?]*)', body))
    assert {at for at in inside if not at.startswith("/static/")} <= {
        f"/q/{token}/",
        f"/q/{token}/accept/",
        f"/q/{token}/quote.pdf",
        f"/q/{token}/care.pdf",
    }
    spanish = Client().get(reverse("customer", args=(token,)), {"lang": "es"})
    assert 'lang="es"' in spanish.content.decode()
    assert "Lo que cubre el precio" in text_of(spanish) or "precio" in text_of(spanish)
    assert spanish.headers["Content-Language"] == "es"
    for name in ("customer-pdf", "customer-care"):
        paper = Client().get(reverse(name, args=(token,)))
        assert paper.content.startswith(b"%PDF")
        assert paper.headers["X-Robots-Tag"].startswith("noindex")


def test_opening_is_noted_once_and_not_for_the_owner(owner, sent):
    quote, token = sent
    at = reverse("customer", args=(token,))
    signed_in(owner).get(at)
    Client().head(at)
    quote.refresh_from_db()
    assert quote.opened is None
    Client().get(at)
    Client().get(at)
    quote.refresh_from_db()
    assert quote.opened is not None
    assert Audit.objects.filter(what="quote-opened").count() == 1


def test_accepting(each_database, owner, walk, sent):
    quote, token = sent
    at = reverse("customer-accept", args=(token,))
    keys = ["finish=exposed", "steel=fiber"]
    answer = Client().post(at, signature(quote, keys, name="  R.  Okafor "))
    assert answer.status_code == 302
    quote.refresh_from_db()
    walk.refresh_from_db()
    assert (quote.state, quote.signed, quote.signed_from) == (QuoteState.ACCEPTED, "R. Okafor", "127.0.0.1")
    assert quote.chosen == ["finish=exposed", "thicker=1 in", "steel=fiber"]
    assert quote.agreed == offer.chosen_of(quote.shown, keys, "en").total
    assert walk.state == State.ACCEPTED
    page = text_of(Client().get(reverse("customer", args=(token,))))
    assert "Accepted by R. Okafor" in page
    assert f"{quote.agreed:,.2f}" in page
    assert "Exposed stone finish" in page
    assert "<form" not in page
    own = text_of(signed_in(owner).get(reverse("quote", args=(walk.code, quote.pk))))
    assert "Accepted by R. Okafor" in own
    # Again, with another name: what was accepted stands.
    assert Client().post(at, signature(quote, [], name="Somebody Else")).status_code == 302
    quote.refresh_from_db()
    assert quote.signed == "R. Okafor"
    with pytest.raises(prices.QuoteError, match="not-open"):
        actions.withdraw(person=owner, quote=quote)


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        ({"name": " "}, "stands as your signature"),
        ({"name": "R"}, "stands as your signature"),
        ({"agree": None}, "Tick this to accept"),
        ({"total": "1.00"}, "the total is"),
        ({"total": ""}, "the total is"),
        ({"take": ["finish=salt"]}, "the total is"),
        ({"take": ["finish=gold"]}, "not in this quote"),
    ],
)
def test_nothing_is_accepted_by_half(sent, bad, said):
    quote, token = sent
    typed = {key: value for key, value in (signature(quote) | bad).items() if value is not None}
    page = Client().post(reverse("customer-accept", args=(token,)), typed)
    assert page.status_code == 422
    assert said in text_of(page)
    if len(typed["name"].strip()) > 1:
        assert 'value="R. Okafor"' in page.content.decode()
    quote.refresh_from_db()
    assert quote.state == QuoteState.SENT


def test_without_a_script_the_total_is_asked_for(sent):
    quote, token = sent
    typed = {"take": ["finish=salt"], "name": "R. Ok", "sum": "1", "total": str(quote.total)}
    page = Client().post(reverse("customer-accept", args=(token,)), typed)
    assert page.status_code == 200
    total = offer.chosen_of(quote.shown, ["finish=salt"], "en").total
    assert f'name="total" value="{total}"' in page.content.decode()
    assert 'value="R. Ok"' in page.content.decode()


@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_total_goes_there_and_back_in_every_language(sent, lang):
    quote, token = sent
    client = Client(headers={"Accept-Language": lang})
    page = client.get(reverse("customer", args=(token,)), {"lang": lang}).content.decode()
    (total,) = re.findall(r'name="total" value="([^"]*)"', page)
    assert re.findall(r'data-total="([^"]*)"', page) == [total]
    typed = signature(quote, total=total, lang=lang)
    assert client.post(reverse("customer-accept", args=(token,)), typed).status_code == 302
    quote.refresh_from_db()
    assert quote.state == QuoteState.ACCEPTED


def test_a_quote_past_its_date_cannot_be_accepted(owner, sent):
    quote, token = sent
    typed = signature(quote)
    Quote.objects.update(ends=today())
    assert Client().get(reverse("customer", args=(token,))).status_code == 200
    Quote.objects.update(ends=today() - dt.timedelta(days=1))
    page = Client().get(reverse("customer", args=(token,)))
    assert page.status_code == 410
    assert "past its date" in text_of(page)
    assert "555 0142" in text_of(page)
    page = Client().post(reverse("customer-accept", args=(token,)), typed, follow=True)
    assert page.status_code == 410
    quote.refresh_from_db()
    assert quote.state == QuoteState.SENT
    with pytest.raises(prices.QuoteError, match="not-open"):
        actions.accept(quote=quote, name="R. Okafor", keys=[], origin="")
    for name in ("customer-pdf", "customer-care"):
        assert Client().get(reverse(name, args=(token,))).status_code == 410
    with pytest.raises(prices.QuoteError, match="quote-ended"):
        actions.send(person=owner, quote=quote)


def test_the_day_is_the_shops(shop, monkeypatch):
    late = dt.datetime(2026, 5, 5, 3, 0, tzinfo=dt.UTC)
    monkeypatch.setattr(when.timezone, "now", lambda: late)
    assert today() == dt.date(2026, 5, 5)
    shop.zone = "America/Chicago"
    shop.save()
    assert today() == dt.date(2026, 5, 4)
    shop.zone = "Nowhere/At all"
    shop.save()
    assert today() == dt.date(2026, 5, 5)


def test_a_draft_has_no_page(owner, walk):
    quote = draft(owner, walk)
    Quote.objects.update(digest=hashed("t"))
    assert actions.quote_of("t") is None
    assert quote.state == QuoteState.DRAFT


def test_two_at_once_accept_once(each_database, transactional_db):
    owner = person()
    prices.use_demo_book(person=owner)
    walk = job(owner)
    quote = draft(owner, walk, options=[])
    actions.send(person=owner, quote=quote)
    ready, said = threading.Barrier(4), []

    def sign(name: str) -> None:
        mine = Quote.objects.get(pk=quote.pk)
        ready.wait()
        try:
            said.append((actions.accept(quote=mine, name=name, keys=[], origin="192.0.2.1"), name))
        finally:
            connection.close()

    threads = [threading.Thread(target=sign, args=(f"Name {n}",)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    first = [name for was_first, name in said if was_first]
    assert len(said) == 4
    assert len(first) == 1
    quote.refresh_from_db()
    assert quote.signed == first[0]
    assert Audit.objects.filter(what="quote-accepted").count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize(("lang", "said"), [("en", "leads to no quote"), ("es", "no lleva a ninguna")])
def test_a_link_with_a_letter_wrong_says_what_to_do(client, lang, said):
    shop = Shop.own()
    shop.name, shop.phone = "Kestrel Flatwork", "555 0142"
    shop.save()
    page = client.get(reverse("customer", args=("x" * 32,)) + f"?lang={lang}")
    text = page.content.decode()
    assert page.status_code == 404
    assert page.headers["Cache-Control"] == "no-store, private"
    assert page.headers["Content-Language"] == lang
    for one in (said, "Kestrel Flatwork", 'href="tel:555 0142"'):
        assert one in text
    assert said_in("to-jobs", lang) not in text  # a customer has no list of jobs


@pytest.mark.django_db
@pytest.mark.parametrize("lang", ["en", "es"])
def test_the_paper_after_signing_says_what_was_signed(client, lang):
    """The quote's PDF stays as it was sent; what was agreed is a paper of its own, for both."""
    owner = person("Lena Ohm")
    prices.use_demo_book(person=owner)
    quote = draft(owner, job(owner))
    token = actions.send(person=owner, quote=quote)
    at = reverse("customer-agreed", args=(token,))
    assert client.get(at).status_code == 302  # nothing is agreed yet
    actions.accept(quote=quote, name="R. Okafor", keys=["finish=salt"], origin="10.0.0.1")
    chosen = offer.chosen_of(quote.shown, ["finish=salt"], lang)
    own = signed_in(owner).get(reverse("quote-own-agreed", args=(quote.job.code, quote.pk)))
    for answer in (client.get(f"{at}?lang={lang}"), own):
        assert answer.headers["Cache-Control"] == "no-store, private"
        pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
        text = " ".join(" ".join(page.extract_text() for page in pages).split())
        for said in ("R. Okafor", chosen.shown, quote.number):
            assert said in text
    assert chosen.total != quote.total
    page = client.get(reverse("customer", args=(token,)) + f"?lang={lang}").content.decode()
    assert f'href="{at}?lang={lang}"' in page
