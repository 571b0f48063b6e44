"""kill -9 at random moments under load: no accepted edit is lost, no database is broken.

The suite kills a few dozen times; `python -m bench office_kill` kills 200 times.
"""

from __future__ import annotations

from django.db import connection
from tests.kit.killing import killed_at_random, lost
from tests.kit.visitor import session_of

KILLS = 12


def test_nothing_accepted_is_lost_and_the_database_is_whole(each_database, own_office):
    from slabwright.office.actions import jobs
    from slabwright.office.models import Person

    office = own_office(workers=2)
    person = Person.objects.create_user("lena@example.test", "wet grass at six", name="Lena", role="owner")
    job = jobs.start(person=person, title="Elm 4", use="walk")
    session = session_of(person)
    office.start()
    tally = killed_at_random(office, session, job.code, kills=KILLS, seed=4, whole_every=6)
    assert tally.wrong == []
    assert tally.kills == KILLS
    assert tally.whole == KILLS // 6
    assert tally.broken > 0, "no line broke: nothing was killed while it worked"
    assert len(tally.accepted) > KILLS
    assert lost(job.code, tally) == []
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            assert cursor.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert cursor.execute("PRAGMA foreign_key_check").fetchall() == []
