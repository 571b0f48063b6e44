"""A draft says what to look at before it goes out; nothing is said where all is the shop's own."""

from __future__ import annotations

import pytest

from slabwright.office.actions import jobs, prices
from slabwright.office.actions.before_sending import cautions, examples_left
from slabwright.office.actions.edits import Edit
from slabwright.office.models import Book, Person, Quote, Shop


@pytest.fixture
def lena(db):
    return Person.objects.create_user("lena@example.test", "wet grass at six", name="Lena", role="owner")


def draft(job, state="draft"):
    return Quote(job=job, revision=job.number, state=state)


def test_every_caution_is_said_of_a_fresh_shop_with_the_demo_book(lena):
    job = jobs.start(person=lena, title="Elm 4", use="walk")
    prices.use_demo_book(person=lena)
    assert [key for key, _ in cautions(draft(job))] == ["before-demo", "before-examples", "before-shop"]
    assert cautions(draft(job, "sent")) == []


def test_a_reading_that_was_taken_is_no_example_any_more(lena):
    job = jobs.start(person=lena, title="Elm 4", use="walk")
    before = examples_left(job, 1)
    assert before > 10
    done = jobs.change(person=lena, job=job, edits=[Edit("set", ("tape", 0, "A-B"), "32' 1")], base=1)
    assert done.saved
    assert examples_left(job, done.number) == before - 1
    rod = [Edit("set", ("levels", 0, "rod", "sill"), "4' 1 1/8")]
    done = jobs.change(person=lena, job=job, edits=rod, base=done.number)
    assert done.saved
    assert examples_left(job, done.number) == before - 2


def test_nothing_is_said_of_a_job_brought_in_an_own_book_and_a_shop_with_an_address(lena):
    job = jobs.start(person=lena, title="Elm 4", use="walk")
    job.starter = False
    Book.objects.create(name="own", csv=prices.demo_csv().replace("invented", "asked for"), used=True)
    shop = Shop.own()
    shop.phone, shop.address = "503 555 0100", "Alder Lane 12"
    shop.save()
    assert cautions(draft(job)) == []
