"""The parts of the long sheet that a change makes anew, each rendered by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from django.http import HttpRequest
from django.template.loader import render_to_string

from slabwright.measure import System
from slabwright.notes.layout import canonical
from slabwright.office.actions import jobs as actions
from slabwright.office.html_tables import HtmlTable
from slabwright.office.models import Job, Revision
from slabwright.office.planning import Planned, planned, tree_of
from slabwright.office.sheet.model import GroupView, Sheet
from slabwright.office.sheet.places import places_of
from slabwright.office.sheet.sections import Section, sections
from slabwright.office.sheet.shown import Shown, shown_of
from slabwright.office.sheet.story import name_of
from slabwright.office.sheet.view import fields_of, section_view, sheet_of, typed_example
from slabwright.office.words import word


@dataclass(frozen=True, slots=True)
class Board:
    """A job as its page needs it: the fields, the newest plan that there is and its revision's number."""

    job: Job
    lang: str
    sheet: Sheet
    newest: Planned
    planned: Planned
    number: int
    shown: Shown | None

    @property
    def old(self) -> bool:
        """Whether the plan shown is not of the newest notes."""
        return self.newest.plan is None and self.shown is not None


def board_of(job: Job, lang: str) -> Board:
    """Return a job's fields and plan."""
    newest = actions.plan_of(job)
    good, number = (newest, job.number) if newest.plan is not None else actions.good_plan_of(job)
    tree = tree_of(job.text)
    sheet = sheet_of(
        tree,
        system=_system(tree),
        lang=lang,
        mistakes=[one.say(lang) for one in newest.mistakes],
        first=_first(job) if job.starter else None,
    )
    shown = shown_of(good.plan, lang) if good.plan is not None else None
    return Board(job, lang, sheet, newest, good, number, shown)


def _system(tree: Any) -> System:
    said = next((v for k, v in tree.items() if canonical(k) == "units"), "imperial")
    return System.METRIC if str(said).strip().casefold() in ("metric", "si") else System.IMPERIAL


def _first(job: Job) -> Any:
    """Return the tree that a starter began as."""
    text = Revision.objects.filter(job=job, number=1).values_list("text", flat=True).first()
    return tree_of(text) if text else None


@dataclass(frozen=True, slots=True)
class SectionPart:
    """One section as the page shows it."""

    section: Section
    groups: tuple[GroupView, ...]
    wrong: int
    tables: tuple[HtmlTable, ...] = ()

    @property
    def key(self) -> str:
        """Return the section's key."""
        return self.section.key

    @property
    def paper(self) -> str:
        """Return the name of the file of its sheets."""
        return f"sheets-{self.section.key}.pdf"


def section_parts(board: Board, *, money: bool) -> Iterator[SectionPart]:
    """Yield the sections that a person sees."""
    for one in sections():
        if one.money and not money:
            continue
        groups = section_view(board.sheet, one)
        listed = board.shown.of(one.tables) if board.shown is not None else ()
        yield SectionPart(one, groups, sum(g.wrong for g in groups), listed)


def context(board: Board, **more: Any) -> dict[str, Any]:
    """Return what every part's template may use."""
    return {
        "job": board.job,
        "board": board,
        "shown": board.shown,
        "planned": board.planned,
        "newest": board.newest,
        "plan_number": board.number,
        "loose": loose_mistakes(board),
        "price_section": ("office/quotes/price_section.html", "office/sheet/nothing.html"),
        "photo_section": ("office/photos/photo_section.html", "office/sheet/nothing.html"),
        **more,
    }


def loose_mistakes(board: Board) -> list[dict[str, Any]]:
    """Return the mistakes of the notes, each with the field of the page that it belongs to, if any."""
    if board.newest.plan is not None or not board.newest.mistakes:
        return []
    every = (f for part in section_parts(board, money=False) for g in part.groups for f in fields_of(g))
    known = {one.place_name: one for one in every}
    found = []
    for mistake in sorted(board.newest.mistakes, key=lambda m: m.line or 0):
        at = known.get(mistake.field)
        name = name_of(at.path, board.lang) if at is not None else mistake.field
        said = mistake.say(board.lang)
        if at is not None:
            said = replace(said, example=typed_example(said.field, said.example))
        found.append({"mistake": said, "id": at.id if at is not None else "", "name": name})
    return found


def wrong_counts(board: Board, *, money: bool) -> dict[str, str]:
    """Return how much is to put right in sections and groups that have anything, by the id of its place."""
    if not board.newest.mistakes:
        return {}
    every = [(one.key, one.wrong, one.groups) for one in section_parts(board, money=money)]
    found = [(key, n) for key, n, _ in every] + [(g.id, g.wrong) for *_, groups in every for g in groups]
    return {f"wrong-{key}": word("sheet-wrong-count", board.lang, n=n) for key, n in found if n}


def render(request: HttpRequest, template: str, board: Board, **more: Any) -> str:
    """Return one part of the page as HTML."""
    return render_to_string(f"office/sheet/{template}.html", context(board, **more), request)


def side(request: HttpRequest, board: Board) -> str:
    """Return the picture, figures and findings beside the sheet."""
    return render(request, "side", board, places=places_of(board.sheet))


def tables(request: HttpRequest, board: Board) -> dict[str, str]:
    """Return the tables of each section that has any, by the id of their place in the page."""
    found = {}
    for one in sections():
        if one.tables:
            listed = board.shown.of(one.tables) if board.shown else ()
            found[f"tables-{one.key}"] = render(request, "tables", board, tables=listed)
    return found


def planned_of(revision: Revision, job: Job) -> Planned:
    """Return what became of an old revision's text."""
    return planned(revision.text, actions.name_of(job))
