"""What the tests of quotes share: a draft, a signature, a page as plain text."""

from __future__ import annotations

import re

from slabwright.office import offer
from slabwright.office.actions import quotes as actions

OPTIONS = ["finish=exposed", "finish=salt", "thicker=1 in", "steel=fiber after thicker=1 in"]


def draft(owner, walk, **more):
    given = {"language": "en", "options": OPTIONS, "valid_days": 30, **more}
    return actions.make(person=owner, job=walk, revision=walk.number, **given)[0]


def text_of(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def signature(quote, keys=(), **more):
    total = offer.chosen_of(quote.shown, keys, "en").total
    return {"name": "R. Okafor", "agree": "on", "take": list(keys), "total": str(total), **more}
