"""The tailgate card as plain lines, for a terminal or a message."""

from __future__ import annotations

from datetime import date

from slabwright.result import Plan
from slabwright.sheets import pour_tables as tables
from slabwright.sheets.pour_clock import day_text
from slabwright.sheets.pour_pages import figures, forecast_lines, learned, warnings, who
from slabwright.sheets.tables import Table, page_rows
from slabwright.sheets.words import word as say


def card_lines(plan: Plan, lang: str = "en") -> tuple[str, ...]:
    """Return the card's essentials in lines: when, warnings, panel by panel, who, and that it forecasts.

    ValueError where no weather was given.
    """
    pour, _ = tables.told(plan)
    day = day_text(date.fromisoformat(pour.date), lang)
    lines = [f"{plan.notes.title}: {say('page-pour-card', lang)}, {day}"]
    lines += [f"  {say('pour-updated', lang)}. {text}" for text in learned(plan, lang)]
    lines += [f"  {one.label}: {one.value} ({one.below})" for one in figures(plan, lang)]
    lines += [f"  {text}" for text in warnings(plan, lang)]
    card = tables.card(plan, lang)
    lines += ["", *(f"  {row}" for row in columns(card, plan, lang)), ""]
    lines += [f"  {text}" for text in (say("pour-fast", lang), *who(plan, lang))]
    return (*lines, "", *(f"  {text}" for text in forecast_lines(plan, lang)), "")


def columns(made: Table, plan: Plan, lang: str) -> list[str]:
    """Return a table as lines of even columns, the headings first."""
    rows = [[c.heading(lang) for c in made.columns], *page_rows(made, system=plan.notes.units, lang=lang)]
    widths = [max(len(row[x]) for row in rows) for x in range(len(made.columns))]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]
