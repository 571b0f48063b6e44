"""What the sheet shows of a plan: its figures, findings and the tables of each section."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from slabwright.findings import Finding, Level, Text
from slabwright.office.html_tables import HtmlTable, html_table
from slabwright.office.sheet.sections import sections
from slabwright.office.words import word
from slabwright.result import Plan
from slabwright.sheets import job_blocks
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.pages import Figure
from slabwright.sheets.tables import Table
from slabwright.sheets.words import word as sheets_word

KEPT = 24  # plans whose tables a worker keeps


@dataclass(frozen=True, slots=True)
class Shown:
    """One plan in one language, ready for the page."""

    figures: tuple[Figure, ...]
    findings: tuple[Text, ...]
    tables: dict[str, HtmlTable]

    @property
    def stops(self) -> tuple[Text, ...]:
        """Return what says: do not build this."""
        return self._at(Level.STOP)

    @property
    def cautions(self) -> tuple[Text, ...]:
        """Return what to look at again."""
        return self._at(Level.CAUTION)

    @property
    def notes(self) -> tuple[Text, ...]:
        """Return what is good to know."""
        return self._at(Level.NOTE)

    def _at(self, level: Level) -> tuple[Text, ...]:
        return tuple(one for one in self.findings if one.level == level)

    def of(self, keys: tuple[str, ...]) -> tuple[HtmlTable, ...]:
        """Return the tables of a section, in its order."""
        return tuple(self.tables[key] for key in keys if key in self.tables)


class _Same:
    """A plan as a key: the very object, for to compare two plans takes longer than to draw one."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def __hash__(self) -> int:
        return id(self.plan)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.plan is self.plan


def shown_of(plan: Plan, lang: str) -> Shown:
    """Return what the page shows of a plan, kept while the plan is."""
    return _shown(_Same(plan), lang)


@lru_cache(maxsize=KEPT)
def _shown(same: _Same, lang: str) -> Shown:
    plan = same.plan
    system = plan.notes.units
    return Shown(
        figures=tuple(_on_page(one, lang) for one in job_blocks.figures(plan, lang)),
        findings=tuple(said(one, plan, lang) for one in plan.findings),
        tables={t.key: html_table(t, system=system, lang=lang) for t in tables_of(plan, lang)},
    )


def _on_page(figure: Figure, lang: str) -> Figure:
    """Return a figure with the page's own words where paper sends its reader to another sheet."""
    for key in ("see-stops", "see-findings"):
        if figure.below == sheets_word(key, lang):
            return replace(figure, below=word(f"sheet-{key}", lang))
    return figure


def said(finding: Finding, plan: Plan, lang: str) -> Text:
    """Return a finding's words in the job's units."""
    return finding.text(system=plan.notes.units, lang=lang)


def tables_of(plan: Plan, lang: str) -> tuple[Table, ...]:
    """Return the tables that some section shows."""
    wanted = {key for section in sections() for key in section.tables}
    return tuple(table for table in all_tables(plan, lang) if table.key in wanted)
