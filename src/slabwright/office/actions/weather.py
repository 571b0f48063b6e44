"""What people do with the weather of a pour: bring a table of hours in, take it away."""

from __future__ import annotations

from django.db import transaction

from slabwright.office.actions import audit
from slabwright.office.actions.jobs import plan_of
from slabwright.office.models import Job, Person, WeatherTable
from slabwright.office.words import word
from slabwright.plan import PlanError, pour_site
from slabwright.pourday.weather import WeatherError
from slabwright.pourday.weather_files import read_csv

MOST_BYTES = 400_000  # ten days by the hour take 20 kB


def hours_of(job: Job) -> tuple[str, str]:
    """Return a job's table of hours and its name, both empty where none was brought in."""
    table = WeatherTable.objects.filter(job=job).only("text", "name").first()
    return (table.text, table.name) if table else ("", "")


def keep_weather(*, person: Person, job: Job, name: str, data: bytes, lang: str = "en") -> WeatherTable:
    """Keep a table of hours for a job's pour, in place of one that was there. Raises WeatherError."""
    if len(data) > MOST_BYTES:
        raise WeatherError(word("weather-too-big", lang, most=MOST_BYTES // 1000))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise WeatherError(word("weather-no-text", lang, byte=error.start + 1)) from error
    made = plan_of(job)
    if made.notes is None or made.plan is None:
        raise WeatherError(word("picture-none", lang))
    try:
        read_csv(text, pour_site(made.notes), origin=name)
    except PlanError as error:
        raise WeatherError(str(error)) from error
    with transaction.atomic():
        kept, _ = WeatherTable.objects.update_or_create(
            job=job, defaults={"name": name[:120], "text": text, "by": str(person)}
        )
        audit.note("weather-kept", person=person, about=job.title, job=job.code, file=name[:120])
    return kept


@transaction.atomic
def drop_weather(*, person: Person, job: Job) -> None:
    """Take a job's table of hours away; figures typed in count again. Nothing where there is none."""
    gone, _ = WeatherTable.objects.filter(job=job).delete()
    if gone:
        audit.note("weather-dropped", person=person, about=job.title, job=job.code)
