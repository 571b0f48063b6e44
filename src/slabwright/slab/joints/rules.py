"""The joint rules as one record, read from rules.toml. What is published stands in the notes room."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache

from slabwright import tables

SPACING_SLACK = 0.003  # [m] a panel 1/8 in over its limit is at its limit: tape and form are no better
RATIO_SLACK = 0.005  # [-] and so for its length to width


@dataclass(frozen=True, slots=True)
class Rules:
    """Rows of rules.toml: lengths [m], angles [rad], times [s], ratios [-], costs in metres of joint."""

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
    return Rules(**{one.name: tables.rule("slab/joints", "rules", one.name) for one in fields(Rules)})
