"""Pictures as DXF, in site units: every line back at its true place, letters and signs at paper size.

The same picture gives the same bytes. ezdxf is imported only here, when a DXF is asked for.
"""

from __future__ import annotations

import io
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from slabwright.measure import System, read_length
from slabwright.sheets.drawing import Point
from slabwright.sheets.lettering import FONT, plain
from slabwright.sheets.picture import Curve, Letters, Picture, Shape, Stroke
from slabwright.sheets.styles import LineStyle, colour, hatch, layer_line, layers, line_styles, part
from slabwright.sheets.svg import baselines, mixed

# $INSUNITS of the DXF reference: 2 is feet, 6 is metres (source: dxf-reference).
_INSUNITS = {System.IMPERIAL: 2, System.METRIC: 6}
# The line weights that the format has, in 1/100 mm (source: dxf-reference).
_WEIGHTS = (
    0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211,
)  # fmt: skip
# A capital's height in em: text height in DXF is that of a capital. Read from the font (OS/2 table).
_CAPITAL = 0.66
_BY_BACKGROUND = 7  # black on white, white on black
_DIGITS = 7  # far below what a rule can show, and the noise of turning forth and back is gone
_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class _Site:
    """How paper goes back to site units: the picture's view, and units [1/m]."""

    paper: Picture
    per_m: float

    def point(self, at: Point) -> Point:
        x, y = self.paper.view.to_site(at)
        return round(x * self.per_m, _DIGITS) + 0.0, round(y * self.per_m, _DIGITS) + 0.0

    def length(self, mm: float) -> float:
        """Return what a length on paper [mm] is on site, in the file's unit."""
        return round(mm / self.paper.view.scale.mm_per_m * self.per_m, _DIGITS)

    def degrees(self, degrees: float) -> float:
        """Return a direction on paper [deg] as one on site."""
        return round(degrees - math.degrees(self.paper.view.turn), 6) + 0.0


@contextmanager
def _fixed() -> Iterator[None]:
    """Keep the writer from entering the time and random names, so that the same drawing is the same file."""
    options = import_module("ezdxf").options
    with _lock:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def layer_name(layer: str) -> str:
    """Return a layer's name in the file."""
    return layer.upper()


def _letters_safe(text: str) -> str:
    """Return text as the format may hold it: its own codes (%% and ^) are kept from starting."""
    return plain(text).replace("%%", "% %").replace("^", "^ ").replace("\t", " ")


def _weight(style: LineStyle) -> int:
    return min(_WEIGHTS, key=lambda w: abs(w - style.width * 100.0))


def _rgb(fill: str) -> int:
    return int(fill[1:], 16)


def _look(layer: str, style: LineStyle) -> dict[str, Any]:
    """Return the attributes of an entity: what differs from its layer."""
    found: dict[str, Any] = {"layer": layer_name(layer)}
    if style.name != layer_line(layer):
        found["lineweight"] = _weight(style)
        found["linetype"] = style.name.upper() if style.dash else "CONTINUOUS"
        found["color"] = _BY_BACKGROUND
        if style.colour != colour("ink"):
            found["true_color"] = _rgb(style.colour)
    return found


def _tables(doc: Any, site: _Site) -> None:
    for style in line_styles().values():
        if style.dash:
            lengths = [site.length(d) * (-1 if n % 2 else 1) for n, d in enumerate(style.dash)]
            total = sum(abs(v) for v in lengths)
            doc.linetypes.add(style.name.upper(), pattern=[total, *lengths], description=style.name)
    for layer in layers():
        style = line_styles()[layer_line(layer)]
        entry = doc.layers.add(layer_name(layer), color=_BY_BACKGROUND)
        entry.dxf.lineweight = _weight(style)
        entry.dxf.linetype = style.name.upper() if style.dash else "CONTINUOUS"
        if style.colour != colour("ink"):
            entry.rgb = tuple(int(style.colour[n : n + 2], 16) for n in (1, 3, 5))
    folded = FONT.replace(" ", "")
    doc.styles.add("SHEET", font=f"{folded}-Regular.ttf")
    doc.styles.add("SHEET-BOLD", font=f"{folded}-Bold.ttf")


def _shape(space: Any, one: Shape, site: _Site) -> None:
    rings = [tuple(map(site.point, ring)) for ring in one.rings if len(ring) > 2]
    if not rings:
        return
    look = {"layer": layer_name(one.layer)}

    def new() -> Any:
        made = space.add_hatch(color=_BY_BACKGROUND, dxfattribs=look)
        made.dxf.hatch_style = 0  # even-odd, as everywhere
        for ring in rings:
            made.paths.add_polyline_path(ring, is_closed=True)
        return made

    if one.fill:
        solid = new()
        solid.set_solid_fill(color=_BY_BACKGROUND)
        if one.tint < 1.0 or one.fill != colour("ink"):
            tone = mixed(one.fill, one.tint)
            solid.rgb = tuple(int(tone[n : n + 2], 16) for n in (1, 3, 5))
    if one.hatch:
        families = []
        for family in hatch(one.hatch):
            angle = site.degrees(family.angle)
            turn, step = math.radians(angle), site.length(family.spacing)
            away = (-math.sin(turn), math.cos(turn))
            base = (away[0] * site.length(family.phase), away[1] * site.length(family.phase))
            dashes = [site.length(d) * (-1 if n % 2 else 1) for n, d in enumerate(family.dash)]
            families.append([angle, base, (away[0] * step, away[1] * step), dashes])
        new().set_pattern_fill(one.hatch.upper(), color=_BY_BACKGROUND, definition=families)


def _stroke(space: Any, one: Stroke | Curve, site: _Site) -> None:
    look = _look(one.layer, one.style)
    if isinstance(one, Curve):
        centre, radius = site.point(one.centre), site.length(one.radius)
        if radius <= 0.0:
            return
        if one.full:
            space.add_circle(centre, radius, dxfattribs=look)
        else:
            start, end = (site.degrees(math.degrees(t)) for t in (one.start, one.end))
            space.add_arc(centre, radius, start, end, dxfattribs=look)
    elif len(one.points) == 2 and not one.closed:
        space.add_line(site.point(one.points[0]), site.point(one.points[1]), dxfattribs=look)
    else:
        space.add_lwpolyline([site.point(p) for p in one.points], close=one.closed, dxfattribs=look)


def _text(space: Any, one: Letters, site: _Site) -> None:
    from ezdxf.enums import TextEntityAlignment

    look = {
        "layer": layer_name(one.layer),
        "style": "SHEET-BOLD" if one.weight >= 600 else "SHEET",
        "color": _BY_BACKGROUND,
    }
    height, angle = site.length(one.size * _CAPITAL), site.degrees(one.box.angle)
    for line, x, y in baselines(one):
        if line.strip():
            entity = space.add_text(_letters_safe(line), height=height, rotation=angle, dxfattribs=look)
            entity.set_placement(site.point((x, y)), align=TextEntityAlignment.CENTER)
    if one.leader is not None:
        thin = _look(one.layer, line_styles()["thin"])
        a, b = map(site.point, one.leader)
        space.add_line(a, b, dxfattribs=thin)
        space.add_circle(a, site.length(part("leader-dot")), dxfattribs=thin)


def dxf_text(paper: Picture) -> str:
    """Return a picture as DXF text in feet or metres, as its view's system of units says.

    Layers, line types and weights are the sheet's; letters have the height that they have on paper at the
    picture's scale. Take the picture before it is furnished when the scale bar is not wanted.
    """
    unit = read_length("1 ft" if paper.view.system is System.IMPERIAL else "1 m")
    site = _Site(paper, 1.0 / unit)
    with _fixed():
        doc = import_module("ezdxf").new("R2010", setup=False)
        doc.header["$INSUNITS"] = _INSUNITS[paper.view.system]
        doc.header["$MEASUREMENT"] = int(paper.view.system is System.METRIC)
        doc.header["$LWDISPLAY"] = 1
        _tables(doc, site)
        space = doc.modelspace()
        for shape in paper.shapes:
            _shape(space, shape, site)
        for stroke in paper.strokes:
            _stroke(space, stroke, site)
        for letters in paper.letters:
            _text(space, letters, site)
        # The writer enters these in the order of a set, which changes from run to run; sorted, they stay.
        for name in sorted(doc.entitydb.dxf_types_in_use()):
            doc.classes.add_class(name)
        out = io.StringIO()
        doc.write(out)
    return out.getvalue()
