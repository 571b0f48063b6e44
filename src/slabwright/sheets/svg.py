"""Pictures as SVG: millimetres, one group a layer, the same bytes every time."""

from __future__ import annotations

import math
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from slabwright.sheets.drawing import Point
from slabwright.sheets.hatch import hatch_lines
from slabwright.sheets.lettering import ABOVE, FONT, LEADING, clean, width
from slabwright.sheets.picture import Curve, Letters, Picture, Shape, Stroke
from slabwright.sheets.styles import LineStyle, colour, hatch, layers, line_styles, part


def _n(value: float) -> str:
    """Return a length [mm] to a hundredth, without a false minus."""
    text = f"{value:.2f}"
    return "0.00" if text == "-0.00" else text


def _points(points: Iterable[Point], *, closed: bool = False) -> str:
    path = "L".join([f"{x:.2f} {y:.2f}" for x, y in points])
    # "-0.00" is always a whole number of its own here: two decimals end it.
    return f"M{path}Z".replace("-0.00", "0.00") if closed else f"M{path}".replace("-0.00", "0.00")


def _curve(one: Curve) -> str:
    (x, y), r = one.centre, one.radius
    if one.full:
        return (
            f"M{_n(x + r)} {_n(y)}A{_n(r)} {_n(r)} 0 1 0 {_n(x - r)} {_n(y)}"
            f"A{_n(r)} {_n(r)} 0 1 0 {_n(x + r)} {_n(y)}Z"
        )
    large = int(one.end - one.start > math.pi)
    return (
        f"M{_n(x + r * math.cos(one.start))} {_n(y - r * math.sin(one.start))}"
        f"A{_n(r)} {_n(r)} 0 {large} 0 {_n(x + r * math.cos(one.end))} {_n(y - r * math.sin(one.end))}"
    )


def _ink(style: LineStyle) -> str:
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in style.dash)}"' if style.dash else ""
    return f'stroke="{style.colour}" stroke-width="{style.width:.2f}"{dash}'


def mixed(fill: str, tint: float) -> str:
    """Return colour '#rrggbb' with white mixed in so that `tint` [-] of it is left."""
    parts = (int(fill[n : n + 2], 16) for n in (1, 3, 5))
    return "#" + "".join(f"{round(255 - (255 - p) * tint):02x}" for p in parts)


def _shape(one: Shape) -> list[str]:
    path = "".join(_points(ring, closed=True) for ring in one.rings if len(ring) > 2)
    found: list[str] = []
    if not path:
        return found
    if one.fill:
        found.append(f'<path fill="{mixed(one.fill, one.tint)}" fill-rule="evenodd" d="{path}"/>')
    for family in hatch(one.hatch) if one.hatch else ():
        lines = "".join(_points(line) for line in hatch_lines(one.rings, family))
        if lines:
            style = LineStyle("hatch", family.width, colour("ink"), family.dash)
            found.append(f'<path fill="none" {_ink(style)} d="{lines}"/>')
    return found


def _strokes(listed: list[Stroke | Curve]) -> list[str]:
    """Return one path for all lines of a style, thin ones first so that heavy ones lie on top."""
    by_style: dict[str, list[str]] = {}
    for one in listed:
        path = _curve(one) if isinstance(one, Curve) else _points(one.points, closed=one.closed)
        by_style.setdefault(one.style.name, []).append(path)
    styles = sorted((line_styles()[name] for name in by_style), key=lambda s: (s.width, s.name))
    return [f'<path fill="none" {_ink(s)} d="{"".join(by_style[s.name])}"/>' for s in styles]


def baselines(one: Letters) -> list[tuple[str, float, float]]:
    """Return each line of a label with the middle of its baseline [mm], in the label's own turn."""
    lines = one.text.split("\n")
    c, s = one.box.axes()
    top = -one.box.half_h + ABOVE * one.size
    found = []
    for n, line in enumerate(lines):
        down = top + n * LEADING * one.size
        found.append((line, one.box.x - s * down, one.box.y + c * down))
    return found


def _letters(one: Letters, *, fitted: bool) -> str:
    found = []
    for line, x, y in baselines(one):
        if not line.strip():
            continue
        turn = f' transform="rotate({_n(-one.box.angle)} {_n(x)} {_n(y)})"' if one.box.angle else ""
        weight = f' font-weight="{one.weight}"' if one.weight != 400 else ""
        # Another face may stand in for ours in a viewer; it is then drawn to the length that was planned.
        long = width(line, one.size, weight=one.weight)
        fit = f' textLength="{_n(long)}" lengthAdjust="spacingAndGlyphs"' if fitted else ""
        place = f'x="{_n(x)}" y="{_n(y)}" font-size="{_n(one.size)}"'
        found.append(f"<text {place}{weight}{fit}{turn}>{escape(line)}</text>")
    return "".join(found)


def _leader(one: Letters) -> str:
    if one.leader is None:
        return ""
    (x, y), _ = one.leader
    dot = part("leader-dot")
    half = f"a{_n(dot)} {_n(dot)} 0 1 0 "
    ring = f"M{_n(x - dot)} {_n(y)}{half}{_n(2 * dot)} 0{half}{_n(-2 * dot)} 0"
    return _points(one.leader) + ring


def svg(paper: Picture, *, fitted: bool = False, alone: bool = True) -> str:
    """Return a picture as SVG text.

    fitted: hold each text to its planned length, for viewers without our font. alone: begin with the XML
    line, for a file of its own; leave it out inside a page.
    """
    wide, high = _n(paper.width), _n(paper.height)
    spoken = quoteattr(clean(paper.alt or paper.name))
    size = f'width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"'
    out = ['<?xml version="1.0" encoding="UTF-8"?>\n'] if alone else []
    out.append(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" '
        f'aria-label={spoken} stroke-linecap="butt" stroke-linejoin="miter">\n'
        f"<title>{escape(clean(paper.name))}</title>\n<desc>{escape(clean(paper.alt))}</desc>\n"
    )
    out += layer_groups(paper)
    out.append(_labels(paper, fitted=fitted))
    out.append("</svg>\n")
    return "".join(out)


def layer_groups(paper: Picture) -> list[str]:
    """Return all but the letters as groups: areas of each layer, plates for letters, lines and signs of each.

    The groups bear the classes 'ground' and 'layer-' with the layer's name.
    """
    grounds: dict[str, list[str]] = {}
    marks: dict[str, list[str]] = {}
    strokes: dict[str, list[Stroke | Curve]] = {}
    for shape in paper.shapes:
        drawn = marks if shape.mark else grounds
        drawn.setdefault(shape.layer, []).extend(_shape(shape))
    for stroke in paper.strokes:
        strokes.setdefault(stroke.layer, []).append(stroke)
    out = [
        f'<g class="ground layer-{layer}">\n' + "\n".join(grounds[layer]) + "\n</g>\n"
        for layer in layers()
        if grounds.get(layer)
    ]
    out.append(_plates(paper))
    for layer in layers():
        inside = _strokes(strokes.get(layer, [])) + marks.get(layer, [])
        if inside:
            out.append(f'<g class="layer-{layer}">\n' + "\n".join(inside) + "\n</g>\n")
    return out


def lettered(one: Letters) -> str:
    """Return one label by itself: its leader, if any, and its letters; face and ink are the group's."""
    lead = _leader(one)
    line = f'<path class="leader" fill="none" {_ink(line_styles()["thin"])} d="{lead}"/>' if lead else ""
    return line + _letters(one, fitted=False)


def _plates(paper: Picture) -> str:
    """Return white plates under labels that stand on a hatch: a dot beside a figure reads as a point."""
    bounds = [_bounds(shape) for shape in paper.shapes if shape.hatch]
    path = ""
    for one in paper.letters:
        left, top, right, bottom = one.box.bounds()
        if any(left < r and right > x and top < b and bottom > y for x, y, r, b in bounds):
            path += _points(one.box.corners(), closed=True)
    return f'<path class="plates" fill="#ffffff" d="{path}"/>\n' if path else ""


def _bounds(shape: Shape) -> tuple[float, float, float, float]:
    xs = [x for ring in shape.rings for x, _ in ring] or [0.0]
    ys = [y for ring in shape.rings for _, y in ring] or [0.0]
    return min(xs), min(ys), max(xs), max(ys)


def _labels(paper: Picture, *, fitted: bool) -> str:
    """Return leaders and letters; a halo under each clears the lines behind it."""
    out = []
    leaders = "".join(map(_leader, paper.letters))
    if leaders:
        out.append(f'<path class="leaders" fill="none" {_ink(line_styles()["thin"])} d="{leaders}"/>\n')
    face = f"font-family=\"'{FONT}', 'Source Sans 3', Arial, sans-serif\" text-anchor=\"middle\""
    halo = f'stroke="#ffffff" stroke-width="{part("halo"):.2f}" stroke-linejoin="round" paint-order="stroke"'
    for name, look, listed in (
        ("haloed", f" {halo}", [one for one in paper.letters if one.halo]),
        ("letters", "", [one for one in paper.letters if not one.halo]),
    ):
        if listed:
            texts = "\n".join(_letters(one, fitted=fitted) for one in listed)
            out.append(f'<g class="{name}" fill="{colour("ink")}"{look} {face}>\n{texts}\n</g>\n')
    return "".join(out)
