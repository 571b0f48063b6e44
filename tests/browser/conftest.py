"""The tests in a real browser talk to the office, so they have Django; their fixtures are in tests/kit."""

from __future__ import annotations

import pytest
from tests.kit import ready


def pytest_configure(config: pytest.Config) -> None:
    """Make Django ready before a test module imports its models."""
    ready.django_ready()
    ready.blocked(config)


@pytest.fixture
def owner(office):
    """Return the owner of the office."""
    from tests.kit import people

    return people.person()


@pytest.fixture
def crew(office):
    """Return somebody of the crew."""
    from tests.kit import people

    from slabwright.office.models import Role

    return people.person("Tomás Ruiz", Role.CREW)


@pytest.fixture
def job(owner):
    """Return the demo job, brought in by the owner."""
    from tests.kit import people

    return people.job(owner)
