"""The joint rules as one record, read from rules.toml. The published spacings are the notes room's."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import radians

from slabwright.measure import HOUR, INCH
from slabwright.tables import table

SPACING_SLACK = 0.003  # [m] a panel 1/8 in over its limit is at its limit: tape and form are no better
RATIO_SLACK = 0.005  # [-] and so for its length to width


@dataclass(frozen=True, slots=True)
class Rules:
    """Joint rules: lengths [m], angles [rad], times [s], ratios [-], costs in metres of joint."""

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
    cost_stop: float
    cost_long: float
    cost_thin: float
    cost_angled: float
    cost_left_out: float
    saw_from: float
    saw_to: float
    ties_apart: float


@cache
def rules() -> Rules:
    """Return the rules in SI."""
    t = table("slab/joints", "rules")
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
        cost_stop=t["cost"]["stop_end_m"],
        cost_long=t["cost"]["long_panel_m"],
        cost_thin=t["cost"]["thin_panel_m"],
        cost_angled=t["cost"]["angled_m"],
        cost_left_out=t["cost"]["left_out_m"],
        saw_from=t["saw"]["from_h"] * HOUR,
        saw_to=t["saw"]["to_h"] * HOUR,
        ties_apart=t["ties"]["apart_in"] * INCH,
    )


def least_depth(thickness: float) -> float:
    """Return the least depth [m] of a contraction joint in a slab of this thickness [m].

    A quarter of the thickness and at least 1 in. Source: `irmca-joints`; the inch by `ufgs-walks`.
    """
    r = rules()
    return max(r.depth_share * thickness, r.depth_least)
