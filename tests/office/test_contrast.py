"""Every text stands out from its ground: WCAG 2.2 AA, computed from the style sheets themselves.

WCAG 2.2, 1.4.3 Contrast (Minimum): 4.5:1 for text; 1.4.11 Non-text Contrast: 3:1 for parts of the page that
one must see to use it (https://www.w3.org/TR/WCAG22/). A rule may set text only in one of the colours below,
and a ground only in one of these, so that every pair that can come about is computed here.
"""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

from slabwright.sheets.styles import palette

FOLDER = Path("src/slabwright/office/static/office")
SHEETS = sorted(FOLDER.glob("*.css"))
ON_LIGHT = ("ink", "chalk-deep", "clay-deep", "turf-deep", "quiet")
LIGHT = ("paper", "white", "cured", "clay-tint", "straw-tint", "chalk-tint", "turf-tint", "cured-tint")
DARK = ("ink", "chalk", "chalk-deep", "clay", "clay-deep")  # white text only
PARTS = ("ink", "chalk", "clay", "fresh")  # frames of fields, focus rings, marks of findings
SYSTEM = {"inherit", "none", "currentcolor", "transparent", "canvastext", "highlight", "buttontext"}


def tokens() -> dict[str, str]:
    text = (FOLDER / "office.css").read_text(encoding="utf-8")
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", text))


def luminance(colour: str) -> float:
    """Return the relative luminance of '#rrggbb' as WCAG 2.2 defines it."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def rules(path: Path) -> list[tuple[str, dict[str, str]]]:
    """Return (selector, declarations) of every rule of a style sheet, those inside @media too."""
    text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.S)
    found = []
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        pairs = (part.split(":", 1) for part in body.split(";") if ":" in part)
        found.append((" ".join(selector.split()), {k.strip(): v.strip() for k, v in pairs}))
    return found


def token(value: str) -> str | None:
    """Return the token of a plain colour, None for pictures, gradients and system colours."""
    named = re.fullmatch(r"var\(--([\w-]+)\)", value)
    return named[1] if named else None


def test_black_on_white_is_the_most_that_there_is():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(
        4.48, abs=0.01
    )  # the well-known grey just below AA


def test_the_palette_is_that_of_the_sheets():
    own = tokens()
    assert {name: own[name] for name in palette()} == palette()


@pytest.mark.parametrize(("text", "ground"), list(product(ON_LIGHT, LIGHT)))
def test_text_on_every_light_ground(text, ground):
    assert contrast(tokens()[text], tokens()[ground]) >= 4.5


@pytest.mark.parametrize("ground", DARK)
def test_white_on_every_dark_ground(ground):
    assert contrast(tokens()["white"], tokens()[ground]) >= 4.5


@pytest.mark.parametrize(("part", "ground"), list(product(PARTS, ("paper", "white"))))
def test_frames_and_rings(part, ground):
    assert contrast(tokens()[part], tokens()[ground]) >= 3.0


@pytest.mark.parametrize("path", SHEETS, ids=lambda p: p.name)
def test_a_rule_sets_text_only_in_pairs_that_were_computed(path):
    for selector, sets in rules(path):
        text, ground = sets.get("color"), sets.get("background") or sets.get("background-color")
        own, under = (token(value) if value else None for value in (text, ground))
        if text and text.split()[0].lower() not in SYSTEM:
            assert own in (*ON_LIGHT, "white"), f"{path.name}: {selector}: color {text}"
            if own == "white":
                assert under in DARK, f"{path.name}: {selector}: white wants a dark ground in the same rule"
            elif under is not None:
                assert under in LIGHT, f"{path.name}: {selector}: {own} on {under} was never computed"
        if under is not None and under not in LIGHT and "::" not in selector:
            assert own == "white", f"{path.name}: {selector}: on {under} only white text was computed"
