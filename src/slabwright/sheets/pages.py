"""Pages of a packet as records: blocks of drawings, tables, words, findings and big figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, TypeAlias

from slabwright.findings import Finding
from slabwright.sheets.drawing import Drawing
from slabwright.sheets.picture import Picture
from slabwright.sheets.scale import Scale, papers
from slabwright.sheets.tables import Table

# Margins, the strip along the bottom edge and the gap above it [mm]; our own choice (source: sheet-looks).
MARGIN_MM = 9.0
STRIP_HIGH_MM = 17.0
STRIP_GAP_MM = 2.5
GUTTER_MM = 6.0
COLUMNS_MM = 7.0  # between the two columns of findings


@dataclass(frozen=True, slots=True)
class Strip:
    """What the title strip says; without `checked_by` it leaves a line to sign on.

    dated: the date in words, where it should not stand as YYYY-MM-DD. signed: False leaves out the cells of
    the revision and of who checked it, which only sheets to build from need.
    """

    job: str
    date: date | None = None
    revision: str = ""
    drawn_from: str = ""
    checked_by: str = ""
    dated: str = ""
    signed: bool = True


@dataclass(frozen=True, slots=True)
class DrawingBlock:
    """A drawing to scale. `share` is its part of the height of the page's body [-].

    `snug` takes no more height than the drawing needs at the scale that the share allows.
    turn [rad, counter-clockwise], bearing of north [rad, clockwise from the drawing's y axis] and scale are
    as for `furniture.compose`.
    """

    drawing: Drawing
    share: float = 1.0
    turn: float = 0.0
    bearing: float | None = 0.0
    scale: Scale | None = None
    heading: str = ""
    snug: bool = False


@dataclass(frozen=True, slots=True)
class ChartBlock:
    """A chart that is drawn for its room: `draw` takes width and height [mm]; `share` as for a drawing."""

    draw: Callable[[float, float], Picture]
    share: float = 1.0
    heading: str = ""


@dataclass(frozen=True, slots=True)
class TableBlock:
    """A table; `big` sets it in larger figures, `columns` keeps only the columns with these keys.

    `small` sets it in small letters, for what is looked up rather than read. A narrow table runs on in up
    to `groups` groups of columns beside each other, as many as the width holds; `heading` stands in place
    of the table's title.
    """

    table: Table
    big: bool = False
    columns: tuple[str, ...] = ()
    small: bool = False
    groups: int = 1
    heading: str | None = None


@dataclass(frozen=True, slots=True)
class TextBlock:
    """A heading and paragraphs: plain, in numbered 'steps', a 'list', or 'checks' with boxes to tick.

    `small` sets it in small letters, for what is looked up rather than read.
    """

    paragraphs: tuple[str, ...]
    heading: str = ""
    style: Literal["plain", "list", "steps", "checks"] = "plain"
    small: bool = False


@dataclass(frozen=True, slots=True)
class FindingBlock:
    """Findings, the gravest first, with why, what to do, and the source.

    `after`: blocks that go on in the same columns, below the last finding.
    """

    findings: tuple[Finding, ...]
    heading: str = ""
    after: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """One big figure: what it is, the figure as written, and a line below it."""

    label: str
    value: str
    below: str = ""


@dataclass(frozen=True, slots=True)
class FigureBlock:
    """Big figures side by side, to be read standing."""

    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two stacks of blocks beside each other; `share` is the left one's part of the width [-].

    `keep` never breaks it over two pages; it must then be lower than a page.
    """

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.62
    keep: bool = False


Block: TypeAlias = (
    DrawingBlock | ChartBlock | TableBlock | TextBlock | FindingBlock | FigureBlock | SideBySide
)


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet: its title, its blocks from the top down, and its paper; `key` is what it is in a packet."""

    title: str
    blocks: tuple[Block, ...] = field(default_factory=tuple)
    paper: str = "letter"
    landscape: bool = True
    key: str = ""

    def size(self) -> tuple[float, float]:
        """Return width and height [mm] of the paper, named in any case; ValueError lists those there are."""
        sizes = {name.lower(): size for name, size in papers().items()}
        if self.paper.lower() not in sizes:
            raise ValueError(f"no paper {self.paper!r}; take one of {', '.join(papers())}")
        wide, high = sizes[self.paper.lower()]
        return (high, wide) if self.landscape else (wide, high)

    def body(self) -> tuple[float, float]:
        """Return width and height [mm] of what is free between the margins and above the strip."""
        wide, high = self.size()
        return wide - 2.0 * MARGIN_MM, high - 2.0 * MARGIN_MM - STRIP_HIGH_MM - STRIP_GAP_MM


def flat(blocks: Sequence[Block]) -> list[Block]:
    """Return blocks with the stacks of every side-by-side opened, from the left."""
    found: list[Block] = []
    for block in blocks:
        if isinstance(block, SideBySide):
            found += flat(block.left) + flat(block.right)
        else:
            found.append(block)
    return found
