"""The constants that finished heights lean on, each beside its source key.

Lengths in m, slopes as plain ratios, charges in m3 of earthwork per unit. A row whose source is
`own-setting` is this program's own choice, made because no published figure was found.
"""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.measure import FOOT, INCH

WALKED = ("walk", "landing")  # uses that the limits on walking surfaces are looked at for


@dataclass(frozen=True, slots=True)
class Constant:
    """A named value with its unit and the source that it leans on."""

    name: str
    value: float
    unit: str
    source: str
    why: str


TABLE: tuple[Constant, ...] = (
    # limits of published documents
    Constant("cross-accessible", 1 / 48, "[-]", "ada-403.3", "most cross fall of a walking surface"),
    Constant("running-accessible", 1 / 20, "[-]", "ada-403.3", "most running slope that is not a ramp"),
    Constant("running-ramp", 1 / 12, "[-]", "ada-ramp", "most running slope of a ramp"),
    Constant("house-fall", 0.02, "[-]", "irc-r401.3", "least fall of paving away from a house"),
    Constant("house-reach", 10 * FOOT, "[m]", "irc-r401.3", "how far from the house that fall is asked"),
    Constant("landing-fall", 0.25 / 12, "[-]", "irc-r311.3", "most fall of a door's landing"),
    Constant("sill-drop", 1.5 * INCH, "[m]", "irc-r311.3", "landing below the threshold of the way out"),
    Constant("sill-drop-other", 7.75 * INCH, "[m]", "irc-r311.3", "most, where no door swings over it"),
    Constant("landing-depth", 36 * INCH, "[m]", "irc-r311.3", "a door's landing in the way of travel"),
    Constant("riser", 7.75 * INCH, "[m]", "irc-r311.7.5", "most rise of one step"),
    Constant("tread", 10 * INCH, "[m]", "irc-r311.7.5", "least depth of a tread"),
    Constant("riser-even", 0.375 * INCH, "[m]", "irc-r311.7.5", "most difference of risers in a flight"),
    Constant("rail-risers", 4, "[-]", "irc-r311.7.8", "risers from which a flight has a handrail"),
    Constant("guard-drop", 30 * INCH, "[m]", "irc-r312.1", "a drop past which there is a guard"),
    Constant("siding-wood", 2 * INCH, "[m]", "irc-r317.1", "wood siding above a slab"),
    Constant("siding-stucco", 2 * INCH, "[m]", "irc-r703.7.2.1", "weep screed above paving"),
    Constant("lip-upright", 0.25 * INCH, "[m]", "ada-303", "change in level that may be upright"),
    Constant("lip-bevelled", 0.5 * INCH, "[m]", "ada-303", "change in level that may be bevelled"),
    Constant("drive-break", 0.06, "[-]", "txdot-driveways", "grade change that may still work for cars"),
    Constant("drive-break-easy", 0.03, "[-]", "txdot-driveways", "grade change that suits most cars"),
    # customs of the trade
    Constant("flat-panel", 0.125 / 12, "[-]", "common-practice", "1/8 in per ft: flatter holds water"),
    Constant("arc-grade", 3 * FOOT, "[m]", "form-stakes", "grade points on an arc no farther apart"),
    Constant("lawn-reveal", 1.0 * INCH, "[m]", "common-practice", "top of the slab above the lawn"),
    # own settings
    Constant("foot-break", 0.05, "[-]", "own-setting", "most change of fall at a joint underfoot"),
    Constant("twist", 0.02, "[1/m]", "own-setting", "most change of cross fall in 1 m within a panel"),
    Constant("given-give", 0.001, "[-]", "own-setting", "give about a fall that the crew wrote"),
    Constant("contact", 1.0 * INCH, "[m]", "own-setting", "a point this near an edge lies on it"),
    Constant("flush-give", 0.125 * INCH, "[m]", "own-setting", "how far off flush, only where it must"),
    Constant("reach-existing", 6.0 * INCH, "[m]", "own-setting", "a slab this near what it meets touches it"),
    # charges of the objective, in m3 of earthwork
    Constant("charge-cut", 1.0, "[m3/m3]", "own-setting", "digging"),
    Constant("charge-fill", 1.5, "[m3/m3]", "own-setting", "fill is bought, hauled and packed"),
    Constant("charge-fall", 3.0, "[m3/m2]", "own-setting", "departure from the wanted cross fall"),
    Constant("charge-level", 2.0, "[m3/m2]", "own-setting", "fall along a wall that nobody asked for"),
    Constant("charge-break", 8.0, "[m3/m]", "own-setting", "a fold at a joint, by the joint's length"),
    Constant("charge-twist", 0.5, "[m3/m]", "own-setting", "a panel's corner off the plane of the others"),
    Constant("charge-eased", 1e3, "[m3]", "own-setting", "a recommended limit passed: only where it must"),
    Constant("charge-flush", 100.0, "[m3/m]", "own-setting", "off flush at a corner: only where it must"),
    Constant("charge-long", 0.05, "[m3/m2]", "own-setting", "decides a long fall that nothing else does"),
    Constant("charge-lawn", 2.0, "[m3/m2]", "own-setting", "an edge above or below the lawn"),
)

_BY_NAME = {row.name: row for row in TABLE}


def value(name: str) -> float:
    """Return the constant's value in its unit (SI); KeyError for a name that is not in the table."""
    return _BY_NAME[name].value


# Tolerances of computing, each named by its purpose; none is a rule of the trade.
SAME_POINT = 1e-3  # [m] two corners nearer than this are one
ON_EDGE = 2e-3  # [m] a point this near a straight run lies on it (arcs are flattened to under 1 mm)
STRAIGHT = 0.02  # [rad] a bend smaller than this is no corner
ARC_STEP = 0.45  # [rad] the most that one step of a flattened arc turns
EQUAL_SLOPE = 1e-6  # [-] 3/4 in on 3 ft is exactly 1:48 and passes
READ_SLOPE = 5e-4  # [-] half of the last digit in which a fall is written; less is not worth advice
LEVEL_SLOPE = 1e-3  # [-] a tenth of a percent, the last digit that a level shows: what rounding may take
EQUAL_HEIGHT = 1e-6  # [m] a height this near its limit keeps it
