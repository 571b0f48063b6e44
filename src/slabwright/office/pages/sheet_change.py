"""Changes of the long sheet: from its script as JSON, or as a plain form of one part of it."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse

from slabwright.notes.mistakes import Mistake, dotted
from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import Clash, Edit, EditError
from slabwright.office.actions.job_list import follow
from slabwright.office.actions.jobs import BusyError, Outcome
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job
from slabwright.office.pages import sheet_parts as parts
from slabwright.office.pages.quotes_taken import told_took
from slabwright.office.pages.sheet_edits import EMPTY, Sent, TypedError, sent_form, sent_json
from slabwright.office.sheet.model import FieldView
from slabwright.office.sheet.sections import sections as all_sections
from slabwright.office.sheet.shape import KeyPath, PlaceError, spot
from slabwright.office.sheet.story import name_of, said_of
from slabwright.office.sheet.view import field_view, group_view, shown, spot_of, typed_example
from slabwright.office.sheet.words import label
from slabwright.office.words import word

EVERYWHERE = ("slabs", "units", "title")  # what stands in several parts of the page


def change(request: PersonRequest, code: str) -> JsonResponse:
    """Make the edits {edits, base, client} that the page's script sent; what changed comes back as parts."""
    job = get_object_or_404(Job, code=code)
    lang = request.lang
    try:
        sent = sent_json(request.body)
        outcome = actions.change(
            person=request.user, job=job, edits=sent.edits, base=sent.base, client=sent.client
        )
    except EditError as error:
        return JsonResponse({"saved": False, "error": "bad", "what": str(error)}, status=400)
    except TypedError as error:
        return JsonResponse({"saved": False, "mistakes": told(error.mistakes, lang)}, status=422)
    except BusyError:
        return JsonResponse({"saved": False, "error": "busy", "what": word("sheet-busy", lang)}, status=503)
    if not outcome.saved:
        return JsonResponse(refused(outcome, lang), status=409 if outcome.clashes or outcome.gone else 422)
    follow(person=request.user, job=job, edits=sent.edits)
    return JsonResponse(_saved(request, job, sent, outcome))


def _saved(request: PersonRequest, job: Job, sent: Sent, outcome: Outcome) -> dict[str, Any]:
    """Return what a page needs after its change was saved: fields and parts as they are now."""
    job.refresh_from_db()
    board = parts.board_of(job, request.lang)
    # Others saved in between, or the page's own rows moved: then its whole layout is made anew.
    others = outcome.number > sent.base + 1 or job.number != outcome.number
    rows = [edit for edit in sent.edits if edit.kind == "append" or _takes_row(edit)]
    state = parts.render(request, "side_state", board)
    beside = {"side": parts.side(request, board), "side-state": state, "thumb-state": state}
    took = {"took": told_took(request, job), "job": job, "back": "job"}
    beside["took"] = render_to_string("office/quotes/took.html", took, request)
    fresh: dict[str, str] = {**beside, **parts.tables(request, board)}
    whole = others or any(edit.path[0] in EVERYWHERE for edit in rows)
    if whole:
        sections = tuple(parts.section_parts(board, money=request.user.is_owner))
        fresh = {**beside, "sections": parts.render(request, "sections", board, parts=sections)}
    elif rows or _names(sent.edits):
        fresh |= dict(_groups(request, board, [edit.path for edit in sent.edits]))
    found = [] if whole else [field_view(board.sheet, e.path) for e in sent.edits if _is_field(e)]
    fields = [as_data(one, request.lang) for one in found]
    return {
        "saved": True,
        "number": job.number,
        "others": others,
        "parts": fresh,
        "fields": fields,
        # What a later change of the same field, still on its way, has seen by then.
        "kept": [{"path": list(e.path), "seen": e.value} for e in sent.edits if e.kind != "append"],
        "wrong": [_wrong(one) for one in parts.loose_mistakes(board) if one["id"]],
        "counts": parts.wrong_counts(board, money=request.user.is_owner),
        "said": word("sheet-saved", request.lang),
    }


def _wrong(one: dict[str, Any]) -> dict[str, str]:
    return {"id": one["id"], "why": one["mistake"].why, "example": one["mistake"].example or ""}


def _takes_row(edit: Edit) -> bool:
    if edit.kind != "delete":
        return False
    try:
        return isinstance(edit.path[-1], int) or spot(edit.path).named
    except PlaceError:
        return True


def _names(edits: list[Edit]) -> bool:
    """Whether an edit writes a value under a name of its own, which may be a new row."""
    for edit in edits:
        try:
            if edit.kind == "set" and spot(edit.path).named and edit.seen is None:
                return True
        except PlaceError:
            return True
    return False


def _is_field(edit: Edit) -> bool:
    if edit.kind == "append" or isinstance(edit.path[-1], int):
        return False
    try:
        spot(edit.path)
    except PlaceError:
        return False
    return True


def _groups(request: HttpRequest, board: parts.Board, paths: list[KeyPath]) -> list[tuple[str, str]]:
    """Return the groups (the outermost that hold a path) as they are now, by their ids."""
    out = []
    for section in all_sections():
        for group in section.groups:
            if group.at and any(path[: len(group.at)] == group.at for path in paths):
                view = group_view(board.sheet, group)
                out.append((view.id, parts.render(request, "group", board, group=view)))
    return out


def as_data(view: FieldView, lang: str) -> dict[str, str]:
    """Return a field as its script takes it."""
    read = word("sheet-read-as", lang, what=view.read) if view.read else ""
    return {"id": view.id, "value": view.value, "seen": view.seen, "read": read}


def told(mistakes: list[Mistake] | tuple[Mistake, ...], lang: str) -> list[dict[str, str]]:
    """Return mistakes as a page shows them: which field, why not, what would do."""
    return [
        {
            "field": one.field,
            "name": _label(one.field, lang),
            "why": word("sheet-needed", lang) if one.why == EMPTY else one.why,
            "example": typed_example(one.field, one.example),
        }
        for one in (mistake.say(lang) for mistake in mistakes)
    ]


def _label(field: str, lang: str) -> str:
    at = spot_of(field)
    return label(at, lang) if at is not None else ""


def refused(outcome: Outcome, lang: str) -> dict[str, Any]:
    """Return why a change was not saved: clashes as questions, mistakes, rows that are gone."""
    return {
        "saved": False,
        "number": outcome.number,
        "clashes": [question(one, outcome.by, lang) for one in outcome.clashes],
        "mistakes": told(outcome.mistakes, lang),
        "gone": [
            {
                "field": dotted(one.path),
                "ask": word("clash-gone", lang, value=_said(one.path, one.value, lang)),
            }
            for one in outcome.gone
        ],
    }


def question(clash: Clash, by: str, lang: str) -> dict[str, Any]:
    """Return a clash as a question with two answers."""
    who = by or word("clash-somebody", lang)
    return {
        "field": dotted(clash.path),
        "path": list(clash.path),
        "title": word("clash-title", lang, what=name_of(clash.path, lang)),
        "ask": word("clash-ask", lang, who=who),
        "theirs": word("clash-theirs", lang, value=_said(clash.path, clash.now, lang)),
        "mine": word("clash-mine", lang, value=_said(clash.path, clash.wanted, lang)),
        "now": clash.now,
        "wanted": clash.wanted,
    }


def _said(path: KeyPath, value: Any, lang: str) -> str:
    if value is None:
        return word("clash-nothing", lang)
    return said_of(path, value, lang)


def change_form(request: PersonRequest, code: str) -> HttpResponse:
    """Make the changes of a plain form, for browsers without scripts; questions and mistakes as a page."""
    job = get_object_or_404(Job, code=code)
    form, lang = request.POST.dict(), request.lang
    clashes: list[dict[str, Any]] = []
    gone: list[dict[str, Any]] = []
    try:
        sent = sent_form({k: str(v) for k, v in form.items()})
        if sent.edits:
            outcome = actions.change(
                person=request.user, job=job, edits=sent.edits, base=sent.base, client=sent.client
            )
            if outcome.saved:
                follow(person=request.user, job=job, edits=sent.edits)
        if not sent.edits or outcome.saved:
            return redirect(f"{reverse('job', args=[code])}#{form.get('part', '')}")
        answer = refused(outcome, lang)
        mistakes, clashes, gone = answer["mistakes"], answer["clashes"], answer["gone"]
    except TypedError as error:
        mistakes = told(error.mistakes, lang)
    except EditError:
        from slabwright.office.pages.errors import bad_request

        return bad_request(request)
    except BusyError:
        mistakes = [{"field": "", "name": "", "why": word("sheet-busy", lang), "example": ""}]
    job.refresh_from_db()
    for one in clashes:
        one["place"], one["now_text"] = json.dumps(one["path"]), json.dumps(one["now"])
        one["wanted_text"] = shown_or_text(tuple(one["path"]), one["wanted"])
    kept = [(k, v) for k, v in form.items() if k[:2] in ("v:", "s:", "o:", "n:") or k in ("add", "part")]
    rows = [typed_row(name, text, mistakes, lang) for name, text in form.items() if name[:2] in ("v:", "n:")]
    more = {"mistakes": mistakes, "clashes": clashes, "gone": gone, "kept": kept, "rows": rows, "form": form}
    return render(
        request, "office/sheet_retry.html", {"job": job, **more}, status=409 if clashes or gone else 422
    )


def shown_or_text(path: KeyPath, value: Any) -> str:
    """Return a wanted value as it stands in its field."""
    try:
        return shown(spot(path), value)
    except PlaceError:
        return str(value)


def typed_row(name: str, text: str, mistakes: list[dict[str, str]], lang: str) -> dict[str, str]:
    """Return one typed field of a refused form: its name, its text, its label, and what is wrong with it."""
    kind, key = name[:2], name[2:]
    try:
        path = tuple(json.loads(key)) if kind == "v:" else (key,)
        label = name_of(path, lang)
    except (ValueError, TypeError):
        path, label = (key,), key
    place = dotted(path)
    wrong = next((m for m in mistakes if m["field"] == place or m["field"].endswith(f".+.{key}")), None)
    return {
        "name": name,
        "text": text,
        "label": label,
        "why": wrong["why"] if wrong else "",
        "example": wrong["example"] if wrong else "",
    }
