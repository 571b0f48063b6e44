from __future__ import annotations

import itertools
import tomllib
from importlib.resources import files

import pytest

from slabwright.sheets import styles
from slabwright.sheets.markers import SIGNS, sign
from slabwright.sheets.svg import mixed
from slabwright.sheets.words import word


def test_no_two_lines_need_colour_to_be_told_apart() -> None:
    looks = [(s.width, s.dash) for s in styles.line_styles().values()]
    assert len(set(looks)) == len(looks)


def test_no_two_hatches_look_alike() -> None:
    looks = [tuple((f.angle, f.spacing, f.dash) for f in styles.hatch(n)) for n in styles.hatch_names()]
    assert len(set(looks)) == len(looks)


def test_no_two_signs_have_the_same_outline() -> None:
    looks = [(s.strokes, s.solids, s.circles) for s in SIGNS.values()]
    assert len(set(looks)) == len(looks)
    with pytest.raises(ValueError, match="take one of stake"):
        sign("steak")


def test_every_layer_draws_with_a_style_that_exists() -> None:
    for layer in styles.layers():
        assert styles.layer_line(layer) in styles.line_styles()


def test_weights_are_in_the_order_of_their_meaning() -> None:
    line = styles.line_styles()
    assert line["wall"].width > line["form"].width > line["joint"].width > line["thin"].width
    assert line["steel"].dash
    assert line["cut"].dash


def _luminance(colour: str) -> float:
    parts = [int(colour[n : n + 2], 16) / 255.0 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Relative contrast after WCAG 2.1 (recalled): 1 for the same, 21 for black on white."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_on_black_and_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_letters_on_colour_can_be_read() -> None:
    """4.5 to 1 is the least for text in WCAG 2.1, 1.4.3 (recalled)."""
    ink, clay, straw = (styles.colour(n) for n in ("ink", "clay", "straw"))
    pairs = [(ink, "#ffffff"), ("#ffffff", clay), (ink, straw), (ink, styles.colour("paper"))]
    pairs += [(ink, mixed(styles.colour(name), 0.5)) for name in ("cured", "fresh", "turf", "water", "form")]
    for letters, ground in pairs:
        assert contrast(letters, ground) >= 4.5, (letters, ground)


def test_every_line_is_dark_enough_for_a_hard_copier() -> None:
    """The same 4.5 to 1 as for letters: a paler line is lost on a copy of a copy."""
    for line in styles.line_styles().values():
        assert contrast(line.colour, "#ffffff") >= 4.5, line.name


def test_every_palette_colour_of_the_table_is_a_colour() -> None:
    for name, value in styles.palette().items():
        assert len(value) == 7, name
        int(value[1:], 16)


def test_a_word_is_filled_in() -> None:
    assert word("sheet-of", "es", n=2, m=3) == "2 de 3"


def test_the_tables_of_styles_and_scales_name_their_sources() -> None:
    from slabwright.sources import all_sources

    for name in ("styles.toml", "scales.toml"):
        text = files("slabwright").joinpath("sheets", name).read_text(encoding="utf-8")
        tomllib.loads(text)
        named = [part.split(")")[0].split()[0].strip("(;,") for part in text.split("source: ")[1:]]
        assert named
        for key in itertools.chain(named):
            assert key in all_sources(), (name, key)
