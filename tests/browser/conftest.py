"""The tests in a real browser talk to the office, so they have Django; their fixtures are in tests/kit."""

from __future__ import annotations

import pytest
from tests.kit import ready


def pytest_configure(config: pytest.Config) -> None:
    """Make Django ready before a test module imports its models."""
    ready.django_ready()
    ready.blocked(config)
