"""What the sheet shows of a plan: its figures, findings and the tables of each section."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from slabwright.findings import Finding, Text
from slabwright.office.html_tables import HtmlTable, html_table
from slabwright.office.sheet.sections import sections
from slabwright.result import Plan
from slabwright.sheets import job_blocks
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.pages import Figure
from slabwright.sheets.tables import Table

KEPT = 24  # plans whose tables a worker keeps


@dataclass(frozen=True, slots=True)
class Shown:
    """One plan in one language, ready for the page."""

    figures: tuple[Figure, ...]
    findings: tuple[Text, ...]
    tables: dict[str, HtmlTable]

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
        figures=job_blocks.figures(plan, lang),
        findings=tuple(said(one, plan, lang) for one in plan.findings),
        tables={t.key: html_table(t, system=system, lang=lang) for t in tables_of(plan, lang)},
    )


def said(finding: Finding, plan: Plan, lang: str) -> Text:
    """Return a finding's words in the job's units."""
    return finding.text(system=plan.notes.units, lang=lang)


def tables_of(plan: Plan, lang: str) -> tuple[Table, ...]:
    """Return the tables that some section shows."""
    wanted = {key for section in sections() for key in section.tables}
    return tuple(table for table in all_tables(plan, lang) if table.key in wanted)
