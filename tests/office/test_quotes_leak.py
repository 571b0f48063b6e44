"""Nothing of cost, rate or margin reaches a customer or the crew: by construction, and by looking."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader
from tests.kit.people import job, person, signed_in

from slabwright.measure import write_money
from slabwright.office import offer
from slabwright.office.actions import prices
from slabwright.office.actions import quotes as actions
from slabwright.office.models import Shop
from slabwright.priced import party_of, quote_job

OPTIONS = ["finish=exposed", "thicker=1 in"]
OWNERS_WORDS = {
    "en": ("margin", "markup", "overhead", "profit", "burden", "full cost", "direct cost", "wage", "payroll"),
    "es": ("margen", "utilidad", "gastos generales", "ganancia", "costo completo", "costo directo", "nómina"),
}


@pytest.fixture
def priced(db):
    owner = person()
    shop = Shop.own()
    shop.name = "Kestrel Flatwork"
    shop.save()
    prices.use_demo_book(person=owner)
    walk = job(owner, "corner-patio")
    terms = prices.terms_of(walk)
    terms.options, terms.distance = OPTIONS, "12 mi"
    prices.keep_terms(person=owner, job=walk, terms=terms)
    quote, _ = actions.make(person=owner, job=walk, revision=1, language="en", options=OPTIONS, valid_days=30)
    token = actions.send(person=owner, quote=quote)
    quote.refresh_from_db()
    return owner, walk, quote, token, prices.priced_now(walk, text=walk.text)


def words_of_pdf(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


def everything_shown(walk, quote, token) -> dict[str, str]:
    client = Client()
    at = reverse("customer", args=(token,))
    seen = {
        "page en": client.get(at, {"lang": "en", "take": OPTIONS}).content.decode(),
        "page es": client.get(at, {"lang": "es"}).content.decode(),
        "sum": client.get(at, {"take": OPTIONS}, headers={"X-Part": "sum"}).content.decode(),
        "refused": client.post(reverse("customer-accept", args=(token,)), {"take": OPTIONS}).content.decode(),
        "json": json.dumps(quote.shown, ensure_ascii=False),
        "picture": quote.picture,
        "quote.pdf": words_of_pdf(client.get(reverse("customer-pdf", args=(token,))).content),
        "care.pdf": words_of_pdf(client.get(reverse("customer-care", args=(token,)), {"lang": "es"}).content),
    }
    typed = {
        "name": "R. Okafor",
        "agree": "on",
        "total": str(offer.chosen_of(quote.shown, [], "en").total),
    }
    assert client.post(reverse("customer-accept", args=(token,)), typed).status_code == 302
    seen["accepted"] = client.get(at).content.decode()
    return seen


def secrets_of(job_priced) -> set[str]:
    """Return the owner's amounts, as written, that are no amount of the quote too."""
    made = job_priced.made
    amounts = {made.direct, made.full_cost, made.price - made.full_cost}
    amounts |= {step.amount for step in made.steps} | {line.cost for line in made.lines}
    amounts |= {line.price for line in made.lines}
    amounts |= {option.cost_difference for option in job_priced.options}
    told = {write_money(amount, made.currency) for amount in amounts if abs(amount) >= 5}
    return told | {str(amount) for amount in amounts if abs(amount) >= 100}


def test_no_amount_and_no_word_of_the_owners_is_shown(priced):
    _, walk, quote, token, made = priced
    seen = everything_shown(walk, quote, token)
    own = {write_money(Decimal(quote.shown["price"]), "USD"), quote.shown["price"]}
    secrets = secrets_of(made) - own
    assert len(secrets) > 40
    for where, text in seen.items():
        plain = re.sub(r"csrfmiddlewaretoken[^>]*>", "", text)
        shown = {
            secret for secret in secrets if re.search(rf"(?<![\d,.]){re.escape(secret)}(?![\d,])", plain)
        }
        assert not shown, where
        for lang, words in OWNERS_WORDS.items():
            for word in words:
                assert not re.search(rf"\b{word}\b", plain, re.IGNORECASE), (where, lang, word)


def test_the_offer_is_the_same_whatever_the_job_costs(priced):
    """Not interference: other costs, rates and margins under the same price change not one byte."""
    _, _, _, _, made = priced
    dear = replace(
        made.made,
        direct=Decimal("1.11"),
        full_cost=Decimal("2.22"),
        lines=(),
        steps=(),
        markup=Decimal("0.99"),
        margin=Decimal("0.98"),
        person_time=1.0,
    )
    other = replace(
        made,
        made=dear,
        options=tuple(replace(option, cost_difference=Decimal("3.33"), lines=()) for option in made.options),
    )
    shown = []
    for one in (made, other):
        quote, files = quote_job(
            one, dated=prices.today(), business=party_of("Kestrel Flatwork"), place="US-CA"
        )
        papers = dict(files)
        frozen = offer.frozen(quote, one, pairs=(), place="US-CA", paper="letter")
        shown.append((json.dumps(frozen), papers["quote.pdf"], papers["care.pdf"]))
    assert shown[0] == shown[1]


def test_the_crew_sees_no_price_on_any_page_of_the_job(priced):
    _, walk, quote, _, made = priced
    crew = signed_in(person("Tomás Ruiz", "crew"))
    page = crew.get(reverse("job", args=(walk.code,))).content.decode()
    assert reverse("job-price", args=(walk.code,)) not in page
    for amount in (made.made.price, made.made.total, made.made.full_cost):
        assert write_money(amount, "USD") not in page
    for name, args in (
        ("job-price", (walk.code,)),
        ("quote", (walk.code, quote.pk)),
        ("quote-own-pdf", (walk.code, quote.pk)),
    ):
        assert crew.get(reverse(name, args=args)).status_code == 403


def test_one_link_opens_one_quote(priced):
    owner, walk, _, token, _ = priced
    other = job(owner, "side-walk")
    made, _ = actions.make(person=owner, job=other, revision=1, language="en", valid_days=30)
    theirs = actions.send(person=owner, quote=made)
    client = Client()
    assert "Juniper Court" in client.get(reverse("customer", args=(theirs,))).content.decode()
    page = client.get(reverse("customer", args=(token,))).content.decode()
    assert "Juniper Court" not in page
    assert made.number not in page
    for at in (
        reverse("quote", args=(other.code, made.pk)),
        reverse("quote", args=(walk.code, made.pk)),
        reverse("job", args=(walk.code,)),
        reverse("jobs"),
    ):
        assert client.get(at).status_code == 302
    assert signed_in(owner).get(reverse("quote", args=(walk.code, made.pk))).status_code == 404
    # With the token of one, the amount of another cannot be accepted.
    typed = {"name": "R. Okafor", "agree": "on", "total": str(made.total)}
    assert client.post(reverse("customer-accept", args=(token,)), typed).status_code == 422
