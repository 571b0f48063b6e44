"""An owner, one of the crew, and the demo job."""

from __future__ import annotations

import pytest
from tests.kit import people

from slabwright.office.models import Job, Role


@pytest.fixture
def owner():
    return people.person()


@pytest.fixture
def crew():
    return people.person("Tomás Ruiz", Role.CREW)


@pytest.fixture
def job(owner) -> Job:
    return people.job(owner)


@pytest.fixture
def client(owner):
    return people.signed_in(owner)
