"""kill -9 of workers and of the whole office, 200 times on each database, while four editors write.

Counts what was accepted, how often a line broke in the middle of an edit, and what was lost afterwards.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from tests.kit import ready  # noqa: E402

ready.django_ready()

from django.db import connection  # noqa: E402
from tests.kit import postgres  # noqa: E402
from tests.kit.databases import record, turned_to  # noqa: E402
from tests.kit.killing import killed_at_random, lost  # noqa: E402
from tests.kit.serving import Kind  # noqa: E402
from tests.kit.visitor import session_of  # noqa: E402

KILLS = 200


def once(name: str, kind: Kind) -> int:
    """Kill on one kind of database; return how much was lost."""
    office = kind.new(workers=2)
    with turned_to(record(office.database or str(office.home / "office.sqlite3"))):
        from slabwright.office.actions import jobs
        from slabwright.office.models import Person

        person = Person.objects.create_user("l@example.test", "wet grass at six", name="L", role="owner")
        job = jobs.start(person=person, title="Elm 4", use="walk")
        session = session_of(person)
        office.start()
        try:
            tally = killed_at_random(office, session, job.code, kills=KILLS, seed=11, whole_every=10)
        finally:
            office.stop()
        gone = [*tally.wrong, *lost(job.code, tally)]
        whole = "not asked"
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                whole = str(cursor.execute("PRAGMA integrity_check").fetchone()[0])
        print(
            f"{name:12} {tally.kills} kills ({tally.whole} of the whole office), {len(tally.accepted)} edits "
            f"accepted, {tally.broken} lines broken, {tally.again} edits sent again; "
            f"lost: {len(gone)}; integrity: {whole}"
        )
        for one in gone[:5]:
            print(f"  {one}")
        return len(gone)


def main() -> None:
    """Kill and tell."""
    folder = Path(tempfile.mkdtemp(prefix="slabwright-bench-"))
    try:
        wrong = once("SQLite", Kind(None, folder))
        if postgres.programs() is None:
            print("PostgreSQL is not installed here: left out")
        else:
            with postgres.running() as server:
                (folder / "pg").mkdir()
                wrong += once("PostgreSQL", Kind(server, folder / "pg"))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
