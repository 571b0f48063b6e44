"""The fixtures themselves: each run of a test is on the database it names, and leaves nothing behind."""

from __future__ import annotations

import datetime as dt
import os
import threading
import urllib.request

import pytest
from django.contrib.sessions.models import Session
from django.db import DatabaseError, connection, transaction
from tests.kit import ready

from slabwright.office.models import Person

LATER = dt.datetime(2030, 1, 1, tzinfo=dt.UTC)


@pytest.mark.parametrize("turn", [1, 2])
def test_a_transaction_is_taken_back_on_each_database(each_database, db, turn):
    assert connection.vendor == each_database
    assert not Session.objects.exists()
    Session.objects.create(session_key=f"k{turn}", session_data="", expire_date=LATER)
    assert Session.objects.count() == 1


@pytest.mark.django_db
def test_the_mark_asks_for_the_same(each_database):
    assert connection.vendor == each_database
    assert connection.in_atomic_block


@pytest.mark.parametrize("turn", [1, 2])
def test_what_was_committed_is_emptied_after_the_test(each_database, transactional_db, turn):
    assert not connection.in_atomic_block
    assert not Session.objects.exists()
    with transaction.atomic():
        Session.objects.create(session_key="k", session_data="", expire_date=LATER)
    seen = []

    def other() -> None:
        seen.append((connection.vendor, Session.objects.count()))
        connection.close()

    thread = threading.Thread(target=other)
    thread.start()
    thread.join()
    assert seen == [(each_database, 1)]


def test_without_the_parameter_a_test_is_on_a_sqlite_file_with_a_log_beside_it(db):
    assert connection.vendor == "sqlite"
    assert connection.settings_dict["NAME"].startswith(str(ready.home()))
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_test_that_asks_for_no_database_gets_none():
    with pytest.raises((RuntimeError, DatabaseError), match="Database access not allowed"):
        Session.objects.count()


def test_nobodys_own_office_is_touched():
    assert ready.home().name.startswith("slabwright-office-")
    assert "SLABWRIGHT_DATABASE" not in os.environ


@pytest.mark.parametrize("turn", [1, 2])
def test_the_live_server_answers_from_the_same_database(each_database, live_server, turn):
    def shown() -> str:
        with urllib.request.urlopen(f"{live_server.url}/sign-in/", timeout=20) as answer:
            return answer.url.removeprefix(live_server.url)

    assert shown() == "/first/"  # nobody is there yet
    Person.objects.create_user("ana@example.com", "nine wide gravel roads", name="Ana")
    assert shown() == "/sign-in/"
