"""A house with a yard, measured without any error, and ways to spoil it."""

from __future__ import annotations

import math
from dataclasses import replace

from slabwright.survey.net import Net, Pull, Rod, SquareOff

FT, INCH = 0.3048, 0.0254

XY = {
    "A": (0.0, 0.0),
    "B": (42.0, 0.0),
    "C": (42.0, 28.0),
    "D": (0.0, 28.0),
    "P1": (5.0, -15.0),
    "P2": (20.0, -16.0),
    "P3": (36.0, -14.0),
    "P4": (44.0, -5.0),
}
PAIRS = ("A-B B-C C-D D-A A-C B-D A-P1 B-P1 A-P2 B-P2 A-P3 B-P3 P1-P2 P2-P3 B-P4 P3-P4 A-P4 P1-P3").split()  # noqa: SIM905  one line is easier to read
HEIGHTS = {"sill": 0.0, "A": -0.5, "P1": -1.5, "P2": -1.75, "P3": -2.0, "P4": -1.25}  # ft
SIGHTS = {"S1": 4.0, "S2": 4.5, "S3": 3.75}  # ft over the sill


def pull(a, b, more=0.0):
    return Pull(a, b, math.dist(XY[a], XY[b]) * FT + more)


def yard(**more):
    """Return the clean net; more: reading's name -> what is added to it [m]."""
    names = set(more)
    pulls = []
    for pair in PAIRS:
        a, b = pair.split("-")
        pulls.append(pull(a, b, more.get(f"tape {pair}", 0.0)))
        names.discard(f"tape {pair}")
    rods = []
    for s, sight in SIGHTS.items():
        for point, height in HEIGHTS.items():
            name = f"rod {point} from {s}"
            rods.append(Rod(s, point, (sight - height) * FT + more.get(name, 0.0)))
            names.discard(name)
    assert not names, names
    squares = (SquareOff("P2", "A", "B", 20.0 * FT, 16.0 * FT), SquareOff("P4", "A", "B", 44 * FT, 5 * FT))
    return Net(
        frame=("A", "B"),
        house=("A", "B", "C", "D"),
        pulls=tuple(pulls),
        square_offs=squares,
        rods=tuple(rods),
        datum="sill",
    )


def codes(survey):
    return [finding.code for finding in survey.findings]


def places_right(survey, *, but=(), within=1e-6):
    """Return whether all points that were placed are where they really are."""
    return all(
        abs(p.x - XY[name][0] * FT) < within and abs(p.y - XY[name][1] * FT) < within
        for name, p in survey.points.items()
        if name not in but
    )


def also(net, **fields):
    """Return the net with more readings added to the named fields."""
    return replace(net, **{key: (*getattr(net, key), *rows) for key, rows in fields.items()})
