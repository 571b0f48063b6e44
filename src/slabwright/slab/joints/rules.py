"""The joint rules as one record, read from rules.toml; and the published table of spacings."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import radians
from typing import Any

FOOT, INCH = 0.3048, 0.0254

SPACING_SLACK = 0.003  # [m] a panel 1/8 in over its limit is at its limit: tape and form are no better
NOMINAL = 0.0008  # [m] 19 mm stone is 3/4 in stone, 100 mm of slump is 4 in
RATIO_SLACK = 0.005  # [-] and so for its length to width


@dataclass(frozen=True, slots=True)
class Rules:
    """Joint rules: lengths [m], angles [rad], shares and ratios [-], costs in metres of joint."""

    aspect_most: float
    depth_share: float
    depth_least: float
    corner: float
    edge_least: float
    inside_corner: float
    mitre_most: float
    line_up: float
    cost_joint: float
    line_up_share: float
    cost_sharp: float
    cost_short: float
    cost_long: float
    cost_thin: float


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("slabwright.slab.joints").joinpath("rules.toml").read_text(encoding="utf-8"))


@cache
def rules() -> Rules:
    """Return the rules in SI."""
    t = _table()
    return Rules(
        aspect_most=t["aspect"]["most"],
        depth_share=t["depth"]["share"],
        depth_least=t["depth"]["least_in"] * INCH,
        corner=radians(t["shape"]["corner_deg"]),
        edge_least=t["shape"]["edge_least_in"] * INCH,
        inside_corner=radians(t["shape"]["inside_corner_deg"]),
        mitre_most=radians(t["shape"]["mitre_most_deg"]),
        line_up=t["shape"]["line_up_in"] * INCH,
        cost_joint=t["cost"]["joint_m"],
        line_up_share=t["cost"]["line_up_share"],
        cost_sharp=t["cost"]["sharp_end_m"],
        cost_short=t["cost"]["short_edge_m"],
        cost_long=t["cost"]["long_panel_m"],
        cost_thin=t["cost"]["thin_panel_m"],
    )


def published_spacing(thickness: float, aggregate: float, slump: float | None = None) -> float:
    """Return the largest distance between joints [m] by the published table.

    thickness, largest aggregate, slump [m]. Between rows of the table the value is interpolated;
    thinner and thicker slabs go by the end rows' own rule of so many thicknesses (24, 30 or 36).
    The column of stiff concrete is used only where a slump under 4 in is given. Source:
    `pca-joint-table`.
    """
    t = _table()["spacing"]
    column = t["fine_ft"] if aggregate < 0.75 * INCH - NOMINAL else t["coarse_ft"]
    if slump is not None and slump < 4 * INCH - NOMINAL:
        column = t["stiff_ft"]
    inches = thickness / INCH
    rows: list[float] = t["thickness_in"]
    if inches <= rows[0]:
        return float(column[0] * FOOT * inches / rows[0])
    if inches >= rows[-1]:
        return float(column[-1] * FOOT * inches / rows[-1])
    k = next(i for i in range(len(rows) - 1) if inches <= rows[i + 1])
    share = (inches - rows[k]) / (rows[k + 1] - rows[k])
    return float((column[k] + share * (column[k + 1] - column[k])) * FOOT)


def least_depth(thickness: float) -> float:
    """Return the least depth [m] of a contraction joint in a slab of this thickness [m].

    A quarter of the thickness and at least 1 in. Source: `irmca-joints`; the inch by `ufgs-walks`.
    """
    r = rules()
    return max(r.depth_share * thickness, r.depth_least)
