"""The first visit: the owner's account, and the shop's clock as the browser has it."""

from __future__ import annotations

import pytest
from django.test import Client

from slabwright.office.actions import jobs
from slabwright.office.models import Person, Shop

pytestmark = pytest.mark.django_db
SENT = {
    "shop": "Kestrel Flatwork",
    "name": "Rosa",
    "email": "rosa@example.test",
    "password": "wet grass at half past six",
    "units": "imperial",
}


@pytest.mark.parametrize(
    ("zone", "kept"), [("America/Boise", "America/Boise"), ("Mars/Olympus", ""), ("", ""), ("x" * 999, "")]
)
def test_the_shop_goes_by_the_clock_of_the_browser(zone, kept):
    answer = Client(SERVER_NAME="localhost").post("/first/", {**SENT, "zone": zone})
    assert answer.status_code == 302
    assert Shop.own().zone == kept
    job = jobs.start(person=Person.objects.get(), title="Oak Street 3")
    assert (f"zone: {kept}" in job.text) is bool(kept)
    assert jobs.plan_of(job).plan is not None
