"""Boards, what bends to which radius, and the rules of forms: tables from forms.toml, read to SI."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from slabwright import tables
from slabwright.measure import read

JUST = 1e-9  # [m] rounding in a sum of lengths


@dataclass(frozen=True, slots=True)
class BoardSize:
    """A dressed board: thickness [m] and height [m] of the edge that faces the concrete."""

    name: str
    thickness: float
    height: float


@dataclass(frozen=True, slots=True)
class CurveForm:
    """What bends to `least` radius [m] or more; `cut`: from 2x, 1x or strip, or a ready tube."""

    least: float
    material: str
    cut: str
    thickness: float
    source: str


def _tables() -> dict[str, Any]:
    return tables.table("build", "forms")


def rule(name: str) -> float:
    """Return one rule's value in SI; KeyError for an unknown name."""
    return tables.rule("build", "forms", name)


@cache
def rule_lengths(name: str) -> tuple[float, ...]:
    """Return a rule that is a list of lengths [m], written in feet, inches or metres."""
    row = _tables()["rules"][name]
    unit = {"lengths": "ft", "lengths_in": "in", "lengths_m": "m"}[row["kind"]]
    return tuple(read("length", f"{text} {unit}") for text in row["is"].split())


@cache
def board_sizes() -> tuple[BoardSize, ...]:
    """Return the dressed sizes, smallest first (source ps-20)."""
    return tuple(
        BoardSize(row["name"], read("length", row["thickness"]), read("length", row["height"]))
        for row in _tables()["boards"]["sizes"]
    )


def board_named(name: str) -> BoardSize:
    """Return the board of this size; KeyError for an unknown one."""
    for board in board_sizes():
        if board.name == name:
            return board
    raise KeyError(name)


def board_for(thickness: float) -> tuple[BoardSize, float]:
    """Return the 2x board that forms a slab of this thickness [m], and the gap left under it [m].

    A board may be up to 1/2 in lower than the slab is thick: it is set up off grade and the gap is
    back-filled (source form-height). A slab deeper than any board gets the deepest, with its gap.
    """
    boards = [b for b in board_sizes() if b.name.startswith("2x")]
    for board in boards:
        if board.height >= thickness - rule("gap") - JUST:
            return board, max(0.0, thickness - board.height)
    return boards[-1], thickness - boards[-1].height


@cache
def curve_forms() -> tuple[CurveForm, ...]:
    """Return what bends, stiffest first."""
    return tuple(
        CurveForm(
            read("length", row["least"]),
            row["material"],
            row["cut"],
            read("length", row["thick"]),
            row["source"],
        )
        for row in _tables()["curves"]
    )


def curve_for(radius: float) -> CurveForm:
    """Return the stiffest form that bends to a radius [m]; one too small to bend to takes a sleeve."""
    if radius < rule("kerf_least") - JUST:
        row = _tables()["openings"]
        return CurveForm(0.0, row["sleeve"], "tube", 0.0, row["source"])
    return next(form for form in curve_forms() if radius >= form.least - JUST)


def is_formed(kind: str) -> bool:
    """Does an opening of this kind need a form of its own?"""
    return kind in _tables()["openings"]["formed"]


@cache
def tube_form() -> tuple[CurveForm, float]:
    """Return the tube that forms a small round opening, and the radius [m] from which it does not."""
    row = _tables()["openings"]
    return CurveForm(0.0, row["tube"], "tube", 0.0, row["source"]), read("length", row["tube_under"])


def stake_spacing(thickness: float, radius: float | None = None) -> float:
    """Return the widest spacing of stakes [m] for a slab of this thickness [m], closer on a curve.

    Straight: between the printed 32 in for 4 in and 24 in for 12 in (source form-stakes), and never
    wider or closer than those. Curves: 24, 18, 12 in at radii of 12 ft and more, 6 ft and more, less.
    """
    thin, thick = rule("stake_thin_slab"), rule("stake_thick_slab")
    share = min(1.0, max(0.0, (thickness - thin) / (thick - thin)))
    wide, close = rule("stake_thin_spacing"), rule("stake_thick_spacing")
    straight = wide + share * (close - wide)
    if radius is None:
        return straight
    if radius >= rule("curve_wide") - JUST:
        return min(straight, rule("curve_wide_spacing"))
    if radius >= rule("curve_tight") - JUST:
        return min(straight, rule("curve_middle_spacing"))
    return min(straight, rule("curve_tight_spacing"))


def stake_length(height: float, soil: str) -> float:
    """Return the length of stake [m] that holds a form of this height [m]: drive, form, grip.

    The next stock length up; the longest when none is long enough. 18 in holds a 2x4 in loam and
    stands 2 in and more above it, so that it can be pulled (common practice).
    """
    needed = rule(f"drive_{soil}") + height + rule("grip")
    lengths = rule_lengths("stake_lengths")
    return next((length for length in lengths if length >= needed - JUST), lengths[-1])


def kerfs(radius: float, turn: float, thickness: float, *, web: float, kerf: float) -> tuple[float, int]:
    """Return the spacing [m] and number of saw cuts that let a board bend.

    radius [m] of the kerfed face; turn [rad]; thickness of the board, web left uncut and width of the
    cut [m]. Each cut closes by its width, so it turns the board by kerf / (thickness - web).
    """
    if not 0 < web < thickness or kerf <= 0 or radius <= 0:
        raise ValueError(f"a board {thickness!r} m thick cannot be kerfed to a web of {web!r} m")
    each = kerf / (thickness - web)
    return radius * each, math.ceil(turn / each - JUST)
