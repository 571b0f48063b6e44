"""Fixtures for tests that touch the office's database, on SQLite or on both.

`db`, `transactional_db`, `client`, `live_server` and the mark `django_db` are pytest-django's, on a SQLite
file. A test (or a fixture of it) that names `each_database` runs twice, the second time on PostgreSQL, with
the same fixtures.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from tests.kit import postgres

DATABASES = ("sqlite", "postgresql")


def missing(what: str, who_wants: str) -> None:
    """Skip the test for want of a program, or fail it where nothing may be left out (CI is set)."""
    words = f"{who_wants} need {what}: tests/setup-debian.sh installs it, or says why it cannot"
    if os.environ.get("CI"):
        pytest.fail(words)
    pytest.skip(words)


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[postgres.Server]:
    """Return a PostgreSQL server of this process's own (each xdist worker has one); about half a second."""
    if postgres.programs() is None:
        missing("PostgreSQL's server", "tests on both databases")
    with postgres.running() as server:
        yield server


@pytest.fixture(params=DATABASES)
def each_database(request: pytest.FixtureRequest) -> str:
    """Return "sqlite" or "postgresql": the database that this run of the test is on."""
    return str(request.param)


@contextlib.contextmanager
def turned_to(settings: dict[str, Any]) -> Iterator[None]:
    """Make `default` another database, for this thread and for those that open a connection meanwhile."""
    from django.db import connections

    before, kept = connections["default"], connections.settings["default"]
    connections.settings["default"] = settings
    del connections["default"]
    try:
        yield
    finally:
        connections["default"].close()
        connections.settings["default"] = kept
        connections["default"] = before


def record(address: str) -> dict[str, Any]:
    """Return Django's full record of a database, by the office's own reading of its address."""
    from django.db import connections

    from slabwright.office import settings as office

    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SLABWRIGHT_DATABASE", address)
        made = office.database()
    # Connections that outlive a request would keep the emptied database of the test before open.
    made["CONN_MAX_AGE"] = 0
    return dict(connections.configure_settings({"default": made})["default"])


@pytest.fixture(scope="session")
def _on_postgres(
    postgres_server: postgres.Server, django_db_setup: None, django_db_blocker: Any
) -> Callable[[], contextlib.AbstractContextManager[None]]:
    """Return a way to turn to PostgreSQL, all migrations run there once."""
    from django.core.management import call_command

    own = record(postgres_server.create("in_tests"))
    with django_db_blocker.unblock(), turned_to(own):
        call_command("migrate", verbosity=0, interactive=False)
    return lambda: turned_to(own)


@pytest.fixture
def _database_chosen(request: pytest.FixtureRequest, django_db_setup: None) -> Iterator[None]:
    """Turn to the database that the test's parameter names, before any transaction begins."""
    callspec = getattr(request.node, "callspec", None)
    if callspec is None or callspec.params.get("each_database", "sqlite") == "sqlite":
        yield
        return
    turned = request.getfixturevalue("_on_postgres")
    with turned():
        yield


@pytest.fixture
def _django_db_helper(_database_chosen: None, _django_db_helper: None) -> None:
    """Stand before pytest-django's fixture of this name, which begins the test's transaction."""
