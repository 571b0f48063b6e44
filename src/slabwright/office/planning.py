"""A job file's text to its plan, kept for as long as others ask for the same text."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from slabwright.findings import Finding, Level
from slabwright.notes import Mistake, Notes, NotesError, parse_notes
from slabwright.notes.nodes import plain_tree
from slabwright.plan import PlanError, make
from slabwright.result import Plan

KEPT = 48  # plans that a worker keeps; one of a house job takes about 1 MB
TEXTS = 96  # texts whose trees and notes a worker keeps
NAME = "notes"  # how messages call the text


@dataclass(frozen=True, slots=True)
class Planned:
    """What became of a text: a plan, or the mistakes (or the one problem) that stand in its way."""

    notes: Notes | None
    plan: Plan | None
    mistakes: tuple[Mistake, ...] = ()
    problem: str = ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return the plan's findings, none where there is no plan."""
        return self.plan.findings if self.plan is not None else ()

    @property
    def stops(self) -> int:
        """Return how many findings say: do not build it like this."""
        return sum(f.level is Level.STOP for f in self.findings)


def tree_of(text: str) -> Any:
    """Return a job file's text as plain dicts, lists and texts; {} where it is none.

    The same tree is given to all who ask: nobody writes into it.
    """
    try:
        tree = plain_tree(text)[0]
        return tree if isinstance(tree, dict) else {}  # one word is YAML too
    except NotesError:
        return {}


@lru_cache(maxsize=TEXTS)
def read(text: str) -> tuple[Notes | None, tuple[Mistake, ...]]:
    """Return a text's notes, or None with what is wrong with it."""
    try:
        return parse_notes(text, name=NAME), ()
    except NotesError as error:
        return None, error.mistakes


@lru_cache(maxsize=KEPT)
def planned(text: str, name: str) -> Planned:
    """Return what becomes of a job file's text; `name` stands on sheets. Bad notes never raise."""
    notes, mistakes = read(text)
    if notes is None:
        return Planned(None, None, mistakes)
    try:
        return Planned(notes, make(notes, name=name))
    except PlanError as error:
        return Planned(notes, None, (), str(error))
    except Exception as fault:  # a fault of ours must not keep a crew from their notes
        words = " ".join(str(fault).split())[:200]
        return Planned(notes, None, (), f"the plan could not be worked out ({type(fault).__name__}: {words})")
