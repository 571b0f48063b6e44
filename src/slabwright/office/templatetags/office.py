"""What templates may use besides Django's own: words."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django import template

from slabwright.notes import said
from slabwright.office import when
from slabwright.office.words import word

register = template.Library()


@register.simple_tag(takes_context=True)
def w(context: template.Context, key: str, **values: Any) -> str:
    """Return a word in the page's language: {% w "save" %}, {% w "revision-by" who=name %}."""
    return word(key, str(context.get("lang", "en")), **values)


@register.simple_tag(takes_context=True)
def wk(context: template.Context, prefix: str, key: str, **values: Any) -> str:
    """Return the word `prefix-key`, for keys that are data: {% wk "state" job.state %}."""
    return word(f"{prefix}-{key}", str(context.get("lang", "en")), **values)


@register.simple_tag(takes_context=True)
def told(context: template.Context, english: str) -> str:
    """Return why something could not be planned in the page's language: {% told planned.problem %}."""
    return said.told(english, str(context.get("lang", "en")))


@register.simple_tag(takes_context=True)
def day(context: template.Context, one: dt.date) -> str:
    """Return a day in the page's words: {% day quote.ends %}."""
    return when.day_text(one, str(context.get("lang", "en")))


@register.simple_tag(takes_context=True)
def moment(context: template.Context, one: dt.datetime) -> str:
    """Return a day and the time at the shop: {% moment quote.sent %}."""
    return when.moment_text(one, str(context.get("lang", "en")))
