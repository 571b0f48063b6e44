"""Fields of the long sheet as HTML: a page has some five hundred, too many for a template each."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from django import template
from django.utils.safestring import SafeString, mark_safe

from slabwright.office.sheet.model import FieldView
from slabwright.office.sheet.places import linked
from slabwright.office.words import word

register = template.Library()
_FIGURES = ("measured", "number")


@register.simple_tag(takes_context=True)
def fields(context: template.Context, listed: Iterable[FieldView], *, tight: bool = False) -> SafeString:
    """Return the fields one after another; `tight` leaves out their help, which `hints` then says once."""
    lang = str(context.get("lang", "en"))
    return mark_safe("".join(_field(one, lang, tight=tight) for one in listed))


@register.simple_tag(takes_context=True)
def hints(context: template.Context, listed: Iterable[FieldView]) -> SafeString:
    """Return what tight fields mean, once for a group, for them to be described by."""
    lang = str(context.get("lang", "en"))
    return mark_safe("".join(f'<span id="{escape(one.help_id)}">{_hint(one, lang)}</span>' for one in listed))


@register.simple_tag(takes_context=True)
def where(context: template.Context, said: str) -> SafeString:
    """Return where a finding is, each reading that it names a link to its field."""
    return mark_safe(linked(said, context.get("places") or {}))


def _hint(one: FieldView, lang: str) -> str:
    example = "" if one.choices else f" {word('sheet-for-example', lang)} {one.example}"
    return escape(f"{one.help}{example}".strip())


def _field(one: FieldView, lang: str, *, tight: bool) -> str:
    """Return a field: its label, its control, how it was read, what is wrong with it, what it means."""
    n = escape(one.id)
    hint = escape(one.help_id) if tight else f"{n}-h"
    read = word("sheet-read-as", lang, what=one.read) if one.read else ""
    wrong = f"{one.why}. {word('sheet-write', lang)} {one.example}" if one.why and one.example else one.why
    more = f"{' required' if one.needed and one.is_new else ''}"
    more += ' aria-invalid="true"' if one.why else ""
    named = f'id="{n}" name="{"n" if one.is_new else "v"}:{escape(one.place)}"'
    told = f'aria-describedby="{n}-r {n}-w {hint}"{more}'
    if one.choices:
        control = f"<select {named} {told}>{_options(one, lang)}</select>"
    else:
        figure = ' class="figure"' if one.wants in _FIGURES else ""
        figure += ' type="date" max="2100-12-31"' if one.day else ""
        control = (
            f'<input {named} value="{escape(one.value)}"{figure} autocapitalize="off" spellcheck="false"'
            f' maxlength="2000" {told}>'
        )
    seen = (
        "" if one.is_new else f'<input type="hidden" name="s:{escape(one.place)}" value="{escape(one.seen)}">'
    )
    return (
        f'<div class="field wants-{one.wants}"><label for="{n}">{escape(one.label)}</label>{control}{seen}'
        f'<span class="read" id="{n}-r">{escape(read)}</span>'
        f'<span class="wrong" id="{n}-w"{"" if wrong else " hidden"}>{escape(wrong)}</span>'
        + ("" if tight else f'<span class="hint" id="{hint}">{_hint(one, lang)}</span>')
        + "</div>"
    )


def _options(one: FieldView, lang: str) -> str:
    listed = one.choices
    if not (one.needed and one.value):
        listed = (("", word("sheet-empty-choice", lang)), *listed)
    return "".join(
        f'<option value="{escape(value)}"{" selected" if value == one.value else ""}>{escape(said)}</option>'
        for value, said in listed
    )
