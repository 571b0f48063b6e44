"""A shop with its owner, a walk with options, and a quote that was sent."""

from __future__ import annotations

import pytest
from tests.kit.people import job, person
from tests.kit.quoting import OPTIONS, draft

from slabwright.office.actions import prices
from slabwright.office.actions import quotes as actions
from slabwright.office.models import Shop


@pytest.fixture
def shop(db):
    shop = Shop.own()
    shop.name, shop.phone, shop.address = "Kestrel Flatwork", "555 0142", "12 Mill Lane"
    shop.save()
    return shop


@pytest.fixture
def owner(shop):
    who = person()
    prices.use_demo_book(person=who)
    return who


@pytest.fixture
def walk(owner):
    made = job(owner)
    terms = prices.terms_of(made)
    terms.options, terms.distance = OPTIONS, "12 mi"
    prices.keep_terms(person=owner, job=made, terms=terms)
    return made


@pytest.fixture
def sent(owner, walk):
    quote = draft(owner, walk)
    token = actions.send(person=owner, quote=quote)
    quote.refresh_from_db()
    return quote, token
