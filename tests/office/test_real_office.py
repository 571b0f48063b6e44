"""The fixtures that start a real office: it answers, it is empty for each test, a killed one comes back."""

from __future__ import annotations

import urllib.request

import pytest
from django.db import connection

from slabwright.office.models import Person


def read(url: str) -> bytes:
    with urllib.request.urlopen(url, timeout=20) as answer:
        return answer.read()


@pytest.mark.parametrize("turn", [1, 2])
def test_a_running_office_is_empty_for_each_test(each_database, office, turn):
    assert connection.vendor == each_database
    assert not Person.objects.exists()
    Person.objects.create_user("ana@example.com", "nine wide gravel roads", name="Ana", role="owner")
    assert read(f"{office.url}/health/") == b'{"status": "ok"}'


def test_an_office_of_its_own_is_killed_and_keeps_its_data(each_database, own_office):
    office = own_office(workers=2)
    office.start()
    Person.objects.create_user("ana@example.com", "nine wide gravel roads", name="Ana", role="owner")
    office.kill()
    assert not office.answers()
    office.start()
    assert office.answers()
    assert Person.objects.get().name == "Ana"
