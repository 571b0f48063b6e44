"""Every part that pages are made of, on one page."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from slabwright.measure import Both, System
from slabwright.office.html_tables import html_table
from slabwright.office.pages.solid import KINDS
from slabwright.sheets.tables import Column, Table

SHEETS = ("office/picture.css", "office/solid.css", "office/hours.css")


def gallery(request: HttpRequest) -> HttpResponse:
    """Show every part once."""
    table = Table(
        "gallery",
        Both("Panels", "Paños"),
        (
            Column("panel", "Panel", "Paño"),
            Column("area", "Area", "Área", "area"),
            Column("concrete", "Concrete", "Concreto", "volume"),
        ),
        (("1", 1.11, 0.1), ("2", 1.11, 0.1)),
        total=("", 2.22, 0.2),
    )
    lang = str(getattr(request, "lang", "en"))
    shown = html_table(table, system=System.IMPERIAL, lang=lang)
    return render(request, "office/gallery/page.html", {"table": shown, "sheets": SHEETS, "kinds": KINDS})
