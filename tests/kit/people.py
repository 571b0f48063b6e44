"""People, jobs and quotes for tests of the office; call them inside a test that may use the database."""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from django.test import Client

    from slabwright.office.models import Job, Person

PASSWORD = "a long walk in wet grass"
# A day's weather as a job file holds it, typed in.
WEATHER = {
    "day": "2026-07-14",
    "low": "58 F",
    "high": "84 F",
    "humidity": "50%",
    "wind": "6 mph",
    "sky": "clear",
}
EXAMPLES = Path(__file__).parents[2] / "examples"


def person(name: str = "Lena Ohm", role: str = "owner", **more: Any) -> Person:
    """Return a saved person; the address comes from the name."""
    from slabwright.office.models import Person

    first = unicodedata.normalize("NFKD", name.split()[0].lower()).encode("ascii", "ignore").decode()
    email = f"{first}@shop.example"
    return Person.objects.create_user(email, PASSWORD, name=name, role=role, **more)


def signed_in(who: Person | None, **more: Any) -> Client:
    """Return a client in which a person is signed in; None is nobody."""
    from django.test import Client

    client = Client(**more)
    if who is not None:
        client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    return client


def job(who: Person | None = None, example: str = "side-walk") -> Job:
    """Return a job with the notes of an example."""
    from slabwright.office.actions import jobs

    return jobs.bring_in(person=who, text=(EXAMPLES / example / "job.yaml").read_text(encoding="utf-8"))


def hours_table(hours: int = 96) -> str:
    rows = ["time,temperature [F],dew point [F],wind [mph],cloud [%]"]
    for n in range(hours):
        warm = 60 + 20 * max(0.0, 1 - abs(n % 24 - 15) / 9)
        rows.append(f"2026-07-{13 + n // 24:02d}T{n % 24:02d}:00,{warm:.1f},52,5,20")
    return "\n".join(rows) + "\n"
