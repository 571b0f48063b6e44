"""What was done, and who did what in the office."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from slabwright.office.models.jobs import Job
from slabwright.office.models.people import Person


class DayRecord(models.Model):
    """Hours of a step on a day, as `money.records` reads them: amount and unit as they were written."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    step = models.CharField(max_length=40)
    condition = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=12)
    amount = models.CharField(max_length=24)
    hours = models.CharField(max_length=24)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    when = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        """Return day and step."""
        return f"{self.day} {self.step}"


class LoadRecord(models.Model):
    """What became of an order: drawn on the plan, delivered, left over (or missing, negative)."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="loads")
    day = models.DateField()
    unit = models.CharField(max_length=12)
    drawn = models.CharField(max_length=24)
    delivered = models.CharField(max_length=24)
    left = models.CharField(max_length=24)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    when = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        """Return day and amount."""
        return f"{self.day} {self.delivered} {self.unit}"


class Audit(models.Model):
    """Who did what: sign-ins, people, links, quotes, exports, deletions. Rows are only ever added."""

    when = models.DateTimeField(default=timezone.now, db_index=True)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    by = models.CharField(max_length=120, blank=True)
    what = models.CharField(max_length=40, db_index=True)
    about = models.CharField(max_length=200, blank=True)
    more = models.JSONField(default=dict)

    def __str__(self) -> str:
        """Return what was done."""
        return f"{self.what} {self.about}"
