"""Mesh laid out in flat sheets: rows the long way, every sheet lapped over the one before.

Rows are a sheet wide less its lap; in each, sheets follow from the row's first end, and the last is cut to
what is left. A row takes its width from a whole sheet, also where less would do.
"""

from __future__ import annotations

import math
from typing import Any

from slabwright.ground.untyped import affinity, shapely
from slabwright.slab.model import XY, MeshSheet

JUST = 1e-6  # [m] a sheet is not begun for less than this


def lay_mesh(region: Any, direction: float, *, length: float, width: float, lap: float) -> list[MeshSheet]:
    """Return the sheets that cover an area.

    region: where steel may lie, a shape of the polygon library [m]; direction of the sheets' length
    [rad]; length, width and lap of a sheet [m]. ValueError where the lap eats the sheet.
    """
    if not 0 <= lap < min(length, width):
        raise ValueError(f"sheets of {length!r} x {width!r} m cannot be lapped {lap!r} m")
    if region.is_empty:
        return []
    turned = affinity.rotate(region, -direction, origin=(0.0, 0.0), use_radians=True)
    low, high = turned.bounds[1], turned.bounds[3]
    left, right = turned.bounds[0] - 1.0, turned.bounds[2] + 1.0
    rows = max(1, math.ceil((high - low - lap) / (width - lap) - JUST))
    sheets: list[MeshSheet] = []
    for k in range(rows):
        bottom = low + k * (width - lap)
        strip = shapely.box(left, bottom, right, min(high, bottom + width))
        for part in shapely.get_parts(turned.intersection(strip)):
            if part.area > JUST:
                sheets += _row(part, direction, length=length, lap=lap, width=width)
    return sheets


def _row(part: Any, direction: float, *, length: float, lap: float, width: float) -> list[MeshSheet]:
    """Return the sheets of one row over one piece of the area, in the turned plane."""
    x0, y0, x1, y1 = part.bounds
    count = max(1, math.ceil((x1 - x0 - lap) / (length - lap) - JUST))
    sheets = []
    for k in range(count):
        begin = x0 + k * (length - lap)
        end = min(x1, begin + length)
        ring = tuple(_turn(x, y, direction) for x, y in ((begin, y0), (end, y0), (end, y1), (begin, y1)))
        sheets.append(MeshSheet(ring, end - begin, width))
    return sheets


def _turn(x: float, y: float, angle: float) -> XY:
    c, s = math.cos(angle), math.sin(angle)
    return c * x - s * y, s * x + c * y
