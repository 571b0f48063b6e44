"""The office's tests have Django; fixtures that they share with the browser's are in tests/kit."""

from __future__ import annotations

import pytest
from tests.kit import ready

# At once, not when pytest is configured: the folders below import models in their own conftest.
ready.django_ready()


def pytest_configure(config: pytest.Config) -> None:
    """Let no test speak to a database that it did not ask for."""
    ready.blocked(config)
