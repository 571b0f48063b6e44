"""The office's tests have Django; fixtures that they share with the browser's are in tests/kit."""

from __future__ import annotations

import pytest
from tests.kit import ready


def pytest_configure(config: pytest.Config) -> None:
    """Make Django ready before a test module imports its models."""
    ready.django_ready()
    ready.blocked(config)
