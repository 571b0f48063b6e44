"""Price books, and quotes as they were sent."""

from __future__ import annotations

from django.db import models
from django.utils import timezone

from slabwright.office.models.jobs import Job
from slabwright.office.models.people import Person


class Book(models.Model):
    """A price book as CSV; a new upload is a new row, so that an old quote can be told from."""

    name = models.CharField(max_length=120)
    csv = models.TextField()
    lines = models.PositiveIntegerField(default=0)
    used = models.BooleanField(default=False)  # new estimates take this one
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    when = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        """Return the name."""
        return self.name


class Terms(models.Model):
    """What a job's price hangs on besides its notes and the book; sizes and times as they were written."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="terms")
    book = models.ForeignKey(Book, null=True, on_delete=models.SET_NULL)  # None: the one in use
    options = models.JSONField(default=list)  # such as "finish=exposed"
    distance = models.CharField(max_length=24, blank=True)
    drive = models.CharField(max_length=24, blank=True)
    trips = models.PositiveSmallIntegerField(null=True)
    permits = models.JSONField(default=list)  # codes of the book
    asked = models.CharField(max_length=24, blank=True)  # the price whose risk is told

    def __str__(self) -> str:
        """Return the job's number."""
        return f"terms of {self.job_id}"


class QuoteState(models.TextChoices):
    """What became of a quote."""

    DRAFT = "draft"
    SENT = "sent"
    ACCEPTED = "accepted"
    WITHDRAWN = "withdrawn"
    REPLACED = "replaced"  # a newer one was sent


class Quote(models.Model):
    """A quote: what the customer was shown, byte for byte, and what the customer answered."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="quotes")
    number = models.CharField(max_length=60)
    revision = models.PositiveIntegerField()  # of the job that it was made from
    state = models.CharField(max_length=10, choices=QuoteState, default=QuoteState.DRAFT)
    language = models.CharField(max_length=2, default="en")
    shown = models.JSONField()  # what its page shows: texts and amounts, no cost, rate or margin
    pdf = models.BinaryField()
    picture = models.TextField(blank=True)  # the plan as SVG
    total = models.DecimalField(max_digits=14, decimal_places=2)
    currency = models.CharField(max_length=3, default="USD")
    ends = models.DateField()
    digest = models.CharField(max_length=64, unique=True, null=True)  # of the link's token
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    made = models.DateTimeField(default=timezone.now)
    sent = models.DateTimeField(null=True)
    opened = models.DateTimeField(null=True)
    accepted = models.DateTimeField(null=True)
    signed = models.CharField(max_length=120, blank=True)  # the name that was typed
    signed_from = models.CharField(max_length=60, blank=True)  # the address that it came from
    chosen = models.JSONField(default=list)  # options that were taken
    agreed = models.DecimalField(max_digits=14, decimal_places=2, null=True)  # the total with them

    class Meta:
        """One number, one quote."""

        constraints = (models.UniqueConstraint(fields=["job", "number"], name="quote_number"),)

    def __str__(self) -> str:
        """Return the number."""
        return self.number
