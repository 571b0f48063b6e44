"""The packet: pages composed for their paper and set as PDF or as pictures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from slabwright.measure import System
from slabwright.sheets.finding_blocks import finding_block
from slabwright.sheets.furniture import compose
from slabwright.sheets.lettering import clean, shorten, typeset, width, wrapped
from slabwright.sheets.pages import (
    COLUMNS_MM,
    GUTTER_MM,
    MARGIN_MM,
    STRIP_GAP_MM,
    STRIP_HIGH_MM,
    Block,
    ChartBlock,
    DrawingBlock,
    Figure,
    FigureBlock,
    FindingBlock,
    Page,
    SideBySide,
    Strip,
    TableBlock,
    TextBlock,
)
from slabwright.sheets.pdf import pdf_bytes, png_pages
from slabwright.sheets.picture import Picture
from slabwright.sheets.scale import Scale
from slabwright.sheets.svg import svg
from slabwright.sheets.table_blocks import table_block
from slabwright.sheets.words import word

PT_MM = 25.4 / 72.0
# Cells of the title strip [mm] as page.typ sets them: date, checked by, count; then the title's share.
_DATE_MM, _CHECKED_MM, _COUNT_MM = 33.0, 40.0, 25.0
_DATE_ALONE_MM = 48.0
_TITLE_SHARE = 0.52
_INSET = 3.4
# What page.typ gives a heading [mm], and the letters of the list under a drawing [pt].
HEADING_MM = 12.0
_NOTE_PT = 10.0


@dataclass(frozen=True, slots=True)
class Composed:
    """A packet ready to be set: the template's data, SVG texts by file name, and the pictures themselves."""

    data: dict[str, Any]
    files: dict[str, str]
    pictures: tuple[Picture, ...]


@dataclass(slots=True)
class _Work:
    system: System
    lang: str
    body_high: float = 0.0
    files: dict[str, str] = field(default_factory=dict)
    pictures: list[Picture] = field(default_factory=list)


def _set(text: str) -> str:
    return typeset(clean(text))


def _unplaced(paper: Picture, lang: str) -> str:
    """Return the line under a drawing that lists what found no place on it; empty when all did."""
    left = "; ".join(text.replace("\n", " ") for text in paper.left_out)
    return f"{word('not-placed', lang)}: {left}" if left else ""


def _drawing(block: DrawingBlock, work: _Work, wide: float) -> dict[str, Any]:
    # Half a millimetre keeps rounding from starting a new page.
    high = work.body_high * block.share - (HEADING_MM if block.heading else 0.0) - 0.5

    def made(high: float, scale: Scale | None = None) -> Picture:
        return compose(
            block.drawing,
            width=wide,
            height=high,
            system=work.system,
            lang=work.lang,
            turn=block.turn,
            bearing=block.bearing,
            scale=scale or block.scale,
            snug=block.snug,
        )

    paper = made(high)
    note = _unplaced(paper, work.lang)
    if note:
        # The list needs room of its own; on the smaller frame it may grow a little, hence the spare lines.
        lines = 3 + math.ceil(width(note, _NOTE_PT * PT_MM) / wide)
        # A snug drawing keeps its scale: a smaller one would leave even more out.
        room = max(0.5 * high, high - 1.5 * _NOTE_PT * PT_MM * lines)
        paper = made(room, paper.view.scale if block.snug else None)
        note = _unplaced(paper, work.lang)
    return _pictured(paper, block.heading, note, work)


def _pictured(paper: Picture, heading: str, note: str, work: _Work) -> dict[str, Any]:
    name = f"drawing-{len(work.files) + 1}.svg"
    work.files[name] = svg(paper)
    work.pictures.append(paper)
    return {
        "kind": "drawing",
        "heading": _set(heading),
        "file": name,
        "w": paper.width,
        "h": paper.height,
        "alt": clean(paper.alt),
        "left_out": note,
    }


def _chart(block: ChartBlock, work: _Work, wide: float) -> dict[str, Any]:
    high = work.body_high * block.share - (HEADING_MM if block.heading else 0.0) - 0.5
    return _pictured(block.draw(wide, high), block.heading, "", work)


def _figure(one: Figure, room: float) -> dict[str, Any]:
    value = _set(one.value)
    # As large as its column allows, between 16 and 34 pt.
    size = 34.0
    while size > 16.0 and width(value, size * PT_MM, weight=700) > room:
        size -= 1.0
    return {"label": _set(one.label), "value": value, "below": _set(one.below), "size": size}


def _block(block: Block, work: _Work, wide: float) -> dict[str, Any]:
    match block:
        case DrawingBlock():
            return _drawing(block, work, wide)
        case ChartBlock():
            return _chart(block, work, wide)
        case TableBlock():
            return table_block(block, wide=wide, high=work.body_high, system=work.system, lang=work.lang)
        case TextBlock():
            return {
                "kind": "text",
                "heading": _set(block.heading),
                "style": block.style,
                "small": block.small,
                "paragraphs": [clean(p) if block.small else _set(p) for p in block.paragraphs],
            }
        case FindingBlock():
            column = (wide - COLUMNS_MM) / 2.0
            after = [_block(b, work, column) for b in block.after]
            return {
                **finding_block(block, system=work.system, lang=work.lang),
                "after": after,
                "gutter": COLUMNS_MM,
            }
        case FigureBlock():
            count = max(1, len(block.figures))
            room = (wide - 4.0 * (count - 1)) / count
            return {"kind": "figures", "figures": [_figure(one, room) for one in block.figures]}
        case SideBySide():
            left = (wide - GUTTER_MM) * block.share
            return {
                "kind": "side",
                "left_w": left,
                "keep": block.keep,
                "gutter": GUTTER_MM,
                "left": [_block(b, work, left) for b in block.left],
                "right": [_block(b, work, wide - GUTTER_MM - left) for b in block.right],
            }


def _lines(text: str, room: float, points: float, weight: int) -> str:
    """Return what a cell of the strip can hold of a text: two lines of `room` [mm] at a size in points."""
    shown = _set(" ".join(text[:2000].split()))
    # a hundredth less, so that rounding in the typesetter never breaks a third line
    return wrapped(shown, room=0.99 * room, lines=2, size=points * PT_MM, weight=weight)


def _page(page: Page, strip: Strip, work: _Work) -> dict[str, Any]:
    wide, high = page.size()
    body_w, work.body_high = page.body()
    dated = _DATE_MM + _CHECKED_MM if strip.signed else _DATE_ALONE_MM
    free = body_w - dated - _COUNT_MM
    title_w = free * _TITLE_SHARE
    title_size = 17.0 if width(page.title, 17.0 * PT_MM, weight=700) <= title_w - _INSET else 12.5
    job_room = free - title_w - _INSET
    made_from = f"{word('drawn-from', work.lang)} {strip.drawn_from}" if strip.drawn_from else ""
    return {
        "w": wide,
        "h": high,
        "title": _set(
            shorten(page.title, room=1.7 * (title_w - _INSET), size=title_size * PT_MM, weight=700)
        ),
        "title_w": title_w,
        "title_size": title_size,
        "job": _lines(strip.job, job_room, 12.0, 600),
        "drawn_from": shorten(made_from, room=0.97 * job_room, size=8.0 * PT_MM),
        "blocks": [_block(b, work, body_w) for b in page.blocks],
    }


def compose_pages(
    pages: Sequence[Page], strip: Strip, *, system: System = System.IMPERIAL, lang: str = "en"
) -> Composed:
    """Return pages composed for their paper: drawings scaled and labelled, tables and findings written.

    Raises ValueError when there is no page, for an unknown paper, or for a drawing with nothing on it.
    """
    if not pages:
        raise ValueError("a packet needs at least one page")
    work = _Work(system, lang)
    made = [_page(page, strip, work) for page in pages]
    data = {
        "job": shorten(strip.job, room=400.0, size=12.0 * PT_MM),
        "lang": lang,
        "margin": MARGIN_MM,
        "pages": made,
        "strip": {
            "high": STRIP_HIGH_MM,
            "gap": STRIP_GAP_MM,
            "signed": strip.signed,
            "date_w": _DATE_MM if strip.signed else _DATE_ALONE_MM,
            "checked_w": _CHECKED_MM,
            "count_w": _COUNT_MM,
            "date": strip.dated or (strip.date.isoformat() if strip.date else ""),
            "revision": shorten(strip.revision, room=28.0, size=10.0 * PT_MM),
            "checked": shorten(strip.checked_by, room=35.0, size=11.0 * PT_MM),
        },
        "words": {
            "job": word("job", lang),
            "sheet": word("sheet", lang),
            "of": word("sheet-of", lang),
            "date": word("date", lang),
            "revision": word("revision", lang),
            "checked": word("checked-by", lang),
            "continued": word("continued", lang),
            "why": word("why", lang),
            "do": word("do", lang),
        },
    }
    return Composed(data, work.files, tuple(work.pictures))


def write_pdf(
    pages: Sequence[Page], strip: Strip, *, system: System = System.IMPERIAL, lang: str = "en"
) -> bytes:
    """Return a packet as PDF bytes; the same pages with the same strip give the same bytes.

    Errors as for `compose_pages`.
    """
    made = compose_pages(pages, strip, system=system, lang=lang)
    return pdf_bytes(made.data, made.files, when=strip.date)


def write_png(
    pages: Sequence[Page],
    strip: Strip,
    *,
    system: System = System.IMPERIAL,
    lang: str = "en",
    dots_per_inch: float = 110.0,
) -> list[bytes]:
    """Return each page of a packet as PNG bytes at a number of dots per inch [1/in]."""
    made = compose_pages(pages, strip, system=system, lang=lang)
    return png_pages(made.data, made.files, dots_per_inch=dots_per_inch, when=strip.date)
