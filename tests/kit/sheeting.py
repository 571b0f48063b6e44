"""What the tests of the long sheet share: its page, a change sent to it, what stands in the notes."""

from __future__ import annotations

import json

from django.urls import reverse

from slabwright.office.models import Job
from slabwright.office.planning import tree_of


def in_spanish(client):
    client.cookies["slabwright-language"] = "es"
    return client


def page(client, job, **more):
    return client.get(reverse("job", args=[job.code]), **more)


def change(client, job, *edits, base=None, sender="a1", **headers):
    sent = {"edits": list(edits), "base": base or Job.objects.get(pk=job.pk).number, "client": sender}
    at = reverse("job-change", args=[job.code])
    return client.post(at, json.dumps(sent), content_type="application/json", **headers)


def put(path, value, seen=None):
    return {"kind": "set", "path": path, "value": value, "seen": seen}


def now(job):
    return tree_of(Job.objects.get(pk=job.pk).text)


WIDTH = ["slabs", 0, "width"]
