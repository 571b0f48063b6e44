"""Hourly weather that somebody brought in for a job's pour."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from slabwright.office.models.jobs import Job


class WeatherTable(models.Model):
    """A job's own table of hours; where there is one it goes before figures typed in."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="weather_table")
    name = models.CharField(max_length=120)
    text = models.TextField()
    by = models.CharField(max_length=120, blank=True)
    when = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        """Return the file's name."""
        return self.name
