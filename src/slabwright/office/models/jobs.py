"""Jobs: the job file's text is the truth, and every text that ever held is kept."""

from __future__ import annotations

import secrets

from django.db import models
from django.utils import timezone

from slabwright.office.models.people import Person

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is read for another over the phone


def fresh_code() -> str:
    """Return a job's code as it stands in its address: ten letters."""
    return "".join(secrets.choice(_LETTERS) for _ in range(10))


class State(models.TextChoices):
    """Where a job stands, in the order of the work."""

    MEASURE = "measure"
    QUOTED = "quoted"
    ACCEPTED = "accepted"
    READY = "ready"
    POURED = "poured"
    DONE = "done"
    LOST = "lost"


class Job(models.Model):
    """One job. `text` is its job file, `number` that of its newest revision."""

    code = models.CharField(max_length=12, unique=True, default=fresh_code)
    title = models.CharField(max_length=200)
    customer = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=8, choices=State, default=State.MEASURE, db_index=True)
    text = models.TextField()
    number = models.PositiveIntegerField(default=1)
    plans = models.BooleanField(default=False)  # whether the newest text can be planned
    good = models.PositiveIntegerField(default=0)  # the newest revision that can; 0: none
    stops = models.PositiveIntegerField(default=0)  # findings of the newest plan that say stop
    starter = models.BooleanField(default=False)  # began as an example to write over
    begins = models.DateField(null=True, blank=True)  # first day on site, as agreed
    pours = models.DateField(null=True, blank=True, db_index=True)
    made = models.DateTimeField(default=timezone.now)
    touched = models.DateTimeField(default=timezone.now, db_index=True)
    hidden = models.BooleanField(default=False, db_index=True)

    class Meta:
        """What the list asks for stands in indexes: a row's text fills pages that it need not read."""

        indexes = (
            models.Index(fields=["hidden", "state"], name="job_by_state"),
            models.Index(fields=["hidden", "touched"], name="job_by_touch"),
        )

    def __str__(self) -> str:
        """Return the title."""
        return self.title


class Revision(models.Model):
    """One text of a job: who made it, when, and by what changes. Never changed afterwards."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    changes = models.JSONField(default=list)  # of actions.edits.Edit as data
    kind = models.CharField(max_length=12, default="edit")  # start, edit, undo, text, restore, customer
    plans = models.BooleanField(default=False)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    by = models.CharField(max_length=120, blank=True)  # the name, for when the person is gone
    when = models.DateTimeField(default=timezone.now)
    client = models.CharField(max_length=40, null=True)  # the sender's own number: sent twice, made once

    class Meta:
        """One number a job, one change a sender's number."""

        constraints = (
            models.UniqueConstraint(fields=["job", "number"], name="revision_number"),
            models.UniqueConstraint(fields=["job", "client"], name="revision_client"),
        )
        ordering = ("-number",)

    def __str__(self) -> str:
        """Return job and number."""
        return f"{self.job_id}/{self.number}"


class Photo(models.Model):
    """A photo on a job; its file holds no place and no device."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="photos")
    file = models.FileField(upload_to="%Y/%m")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    words = models.CharField(max_length=200, blank=True)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL)
    when = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        """Return what it shows."""
        return self.words or str(self.file)
