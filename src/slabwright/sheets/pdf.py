"""Pages set by the typesetter: data in, PDF or PNG out, the same bytes for the same date.

What people wrote travels as JSON in a file that exists only in memory; it is never joined into markup.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from slabwright.sheets.lettering import FONT, font_folder
from slabwright.sheets.styles import colour

_NO_DATE = date(2000, 1, 1)


@cache
def _template() -> bytes:
    return files("slabwright").joinpath("sheets", "page.typ").read_bytes()


@cache
def _fonts() -> Any:
    import typst  # here: only a printed page needs it

    return typst.Fonts(font_paths=[str(font_folder())], include_system_fonts=False)


def _run(
    data: Mapping[str, Any], pictures: Mapping[str, str], how: Literal["pdf", "png"], **more: Any
) -> Any:
    import typst

    look = {"font": FONT, "ink": colour("ink"), "clay": colour("clay"), "straw": colour("straw")}
    source: dict[str, bytes] = {
        "main": _template(),
        "data.json": json.dumps({**data, **look}, sort_keys=True).encode(),
    }
    source.update({name: text.encode() for name, text in pictures.items()})
    when: date = more.pop("when", None) or _NO_DATE
    stamp = int(datetime(when.year, when.month, when.day, tzinfo=UTC).timestamp())
    return typst.compile(source, font_paths=_fonts(), format=how, timestamp=stamp, **more)


def pdf_bytes(data: Mapping[str, Any], pictures: Mapping[str, str], *, when: date | None = None) -> bytes:
    """Return pages as PDF from what page.typ reads and SVG texts by file name; `when` is the date inside."""
    return bytes(_run(data, pictures, "pdf", when=when))


def png_pages(
    data: Mapping[str, Any],
    pictures: Mapping[str, str],
    *,
    dots_per_inch: float = 110.0,
    when: date | None = None,
) -> list[bytes]:
    """Return each page as a PNG picture at a number of dots per inch [1/in]."""
    made = _run(data, pictures, "png", when=when, ppi=dots_per_inch)
    return [bytes(one) for one in made] if isinstance(made, list) else [bytes(made)]
