"""The shop itself: one row."""

from __future__ import annotations

from typing import cast

from django.db import models


class Shop(models.Model):
    """Who quotes, and what new jobs begin with."""

    name = models.CharField(max_length=120, blank=True)
    address = models.CharField(max_length=240, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    licence = models.CharField(max_length=60, blank=True)
    language = models.CharField(max_length=2, default="en")
    units = models.CharField(max_length=8, default="imperial")
    currency = models.CharField(max_length=3, default="USD")
    zone = models.CharField(max_length=60, blank=True)
    place = models.CharField(max_length=12, blank=True)  # such as US-CA, for limits on deposits
    kit = models.TextField(blank=True)  # the job file's `kit` record, as text
    feed = models.CharField(max_length=64, blank=True)  # hash of the calendar feed's token

    def __str__(self) -> str:
        """Return the name."""
        return self.name

    @classmethod
    def own(cls) -> Shop:
        """Return the one row, made when it is not there."""
        return cast(Shop, cls.objects.get_or_create(pk=1)[0])

    @property
    def party(self) -> str:
        """Return who quotes, as `priced` reads it: name; address; phone; licence."""
        return "; ".join(part for part in (self.name, self.address, self.phone, self.licence) if part)
