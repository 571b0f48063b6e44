"""The shop's own page, the kit that new jobs begin with, and boards that come back to the pile."""

from __future__ import annotations

import pytest
from django.urls import reverse
from tests.kit.people import job, person, signed_in

from slabwright.office.actions import jobs
from slabwright.office.actions import shop as actions
from slabwright.office.models import Shop
from slabwright.office.planning import planned

SHOP = {
    "name": "Kestrel Flatwork",
    "address": "4 Mill Lane",
    "phone": "555-0101",
    "licence": "C8-1",
    "language": "es",
    "units": "imperial",
    "currency": "USD",
    "zone": "America/Denver",
    "place": "US-CA",
}
KIT = {
    "kit-strike-off": "5'",
    "kit-edger": "1/4",
    "kit-barrows": "2",
    "kit-stock": "8', 12'",
    "kit-boards": "2x4, 12', 4\n2x6, 10'",
}


@pytest.fixture
def owner(db):
    return signed_in(person())


def test_new_jobs_begin_with_the_kit(owner):
    assert owner.post(reverse("shop"), {**SHOP, **KIT}).status_code == 302
    page = owner.get(reverse("shop")).content.decode()
    assert "2x4, 12&#x27;, 4" in page
    made = jobs.start(person=None, title="Walk", use="walk")
    kit = planned(made.text, "x").notes.kit
    assert [(one.size, one.count) for one in kit.boards] == [("2x4", 4), ("2x6", 1)]
    assert kit.barrows == 2
    assert kit.strike_off == pytest.approx(1.524)


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"kit-strike-off": "wide"}, "kit.strike-off"),
        ({"kit-boards": "2x5, 12', 4"}, "kit.boards.1.size"),
        ({"kit-boards": "four boards"}, "one board a line"),
        ({"zone": "Mars/Base"}, "America/Denver"),
        ({"place": "California"}, "US-CA"),
        ({"name": ""}, "name of the shop"),
        ({"currency": "XYZ"}, "choose one of the list"),
    ],
)
def test_what_cannot_be_read_is_not_kept_and_stays_typed(owner, sent, said):
    answer = owner.post(reverse("shop"), {**SHOP, **KIT, **sent})
    assert answer.status_code == 422
    page = answer.content.decode().split('id="wrong"')[1]
    assert said in page.split("</ul>")[0]
    assert "4 Mill Lane" in page
    assert Shop.own().name == ""


def test_boards_come_back_once(owner):
    walk = job()
    actions.keep(
        person=person("Ada Birk"),
        values=SHOP,
        kit="kit:\n  boards:\n    - {size: 2x4, length: 12', count: 4}\n",
    )
    back, took = actions.after_stripping(walk)
    assert sum(back.values()) > 0
    assert sum(took.values()) > 0
    at = reverse("job-boards", args=(walk.code,))
    assert "Put them on the pile" in owner.get(at).content.decode()
    owner.post(at)
    pile = actions.pile_of(actions.kit_of(Shop.own()))
    kept = 4 - took["2x4", "12'"]
    assert pile["2x4", "12'"] == kept + back["2x4", "12'"]
    assert not actions.kit_mistakes(Shop.own().kit, "imperial")
    owner.post(at)
    assert actions.pile_of(actions.kit_of(Shop.own())) == pile
    assert "They are on the pile" in owner.get(at).content.decode()
