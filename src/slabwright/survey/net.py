"""What the survey is made of: readings of tape, square, level and rod between named points.

These records are the survey's own input; they know nothing of the job file. Lengths and heights
are in metres, angles in radians. Every reading carries how sure it is (`sd`, or None to take the
instrument's), what it was taken with, what a person calls it (`where`), the line of the job file
and the text as it was written.

The frame: `Net.frame = (A, B)` names the first wall as one faces it from the yard, left corner
first. A is at (0, 0) and B on the +x axis, so the house stands at +y and the yard at -y.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from slabwright.survey.instruments import Instrument, instruments

Hand = Literal["left", "right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What every reading carries: sd [m or rad; None: by instrument], and where it was written."""

    sd: float | None = None
    instrument: str = ""
    where: str = ""
    line: int | None = None
    written: str = ""

    @property
    def name(self) -> str:
        """Return what a person calls this reading."""
        return self.where or self.label()

    def label(self) -> str:
        """Return a name made from the reading itself, for one that was given none."""
        return type(self).__name__

    def points(self) -> tuple[str, ...]:
        """Return the names of the points that this reading ties together."""
        return ()

    def numbers(self) -> tuple[float, ...]:
        """Return the numbers that were read, [m]."""
        return ()

    def default_instrument(self) -> str:
        """Return the class taken when `instrument` is empty."""
        return "steel tape"

    def instrument_use(self) -> str:
        """Return what an instrument must be for to have taken this reading."""
        return instruments()[self.default_instrument()].use


@dataclass(frozen=True, slots=True)
class Pull(Reading):
    """A straight tape pull of `length` [m] between two points."""

    a: str
    b: str
    length: float

    def label(self) -> str:
        """Return 'tape A-P3'."""
        return f"tape {self.a}-{self.b}"

    def points(self) -> tuple[str, ...]:
        """Return the two ends."""
        return (self.a, self.b)

    def numbers(self) -> tuple[float, ...]:
        """Return the length."""
        return (self.length,)


@dataclass(frozen=True, slots=True)
class SquareOff(Reading):
    """From `start` go `along` [m] toward `end`, then square `out` [m], positive to the right hand.

    Walking from the left corner of a wall to its right one with the house on the left hand, a
    positive `out` goes into the yard. `written` is the text of `along`, `written_out` of `out`.
    """

    point: str
    start: str
    end: str
    along: float
    out: float
    written_out: str = field(default="", kw_only=True)

    def label(self) -> str:
        """Return 'square-off P1'."""
        return f"square-off {self.point}"

    def points(self) -> tuple[str, ...]:
        """Return the point and the two ends of its line."""
        return (self.point, self.start, self.end)

    def numbers(self) -> tuple[float, ...]:
        """Return along and out."""
        return (self.along, self.out)


@dataclass(frozen=True, slots=True)
class RightAngle(Reading):
    """The corner at `at` between `a` and `b` is square; `sd` in [rad]."""

    at: str
    a: str
    b: str

    def label(self) -> str:
        """Return 'right angle at B'."""
        return f"right angle at {self.at}"

    def points(self) -> tuple[str, ...]:
        """Return the corner and its two arms."""
        return (self.at, self.a, self.b)

    def default_instrument(self) -> str:
        """Return the class of a corner taken as square."""
        return "square corner"


@dataclass(frozen=True, slots=True)
class Straight(Reading):
    """The named points stand in one straight line, first and last at its ends; `sd` [m] sideways."""

    line_of: tuple[str, ...]

    def label(self) -> str:
        """Return 'straight line A-P1-B'."""
        return "straight line " + "-".join(self.line_of)

    def points(self) -> tuple[str, ...]:
        """Return the points in line."""
        return self.line_of

    def default_instrument(self) -> str:
        """Return the class of a stretched string."""
        return "string line"


@dataclass(frozen=True, slots=True)
class Known(Reading):
    """A point whose place (x, y) [m] is given; with `sd` None it is held fixed."""

    point: str
    x: float
    y: float

    def label(self) -> str:
        """Return 'given place of P1'."""
        return f"given place of {self.point}"

    def points(self) -> tuple[str, ...]:
        """Return the point."""
        return (self.point,)

    def numbers(self) -> tuple[float, ...]:
        """Return x and y."""
        return (self.x, self.y)


@dataclass(frozen=True, slots=True)
class Side(Reading):
    """On which hand of the line from `start` to `end` the point lies."""

    point: str
    start: str
    end: str
    side: Hand

    def label(self) -> str:
        """Return 'side of P1'."""
        return f"side of {self.point}"

    def points(self) -> tuple[str, ...]:
        """Return the point and the two ends of the line."""
        return (self.point, self.start, self.end)


@dataclass(frozen=True, slots=True)
class Rod(Reading):
    """The rod stood on `point` and read `reading` [m] down from the line of sight of `set_up`."""

    set_up: str
    point: str
    reading: float

    def label(self) -> str:
        """Return 'rod P1 from S1'."""
        return f"rod {self.point} from {self.set_up}"

    def points(self) -> tuple[str, ...]:
        """Return the point."""
        return (self.point,)

    def numbers(self) -> tuple[float, ...]:
        """Return the reading."""
        return (self.reading,)

    def default_instrument(self) -> str:
        """Return the class of a level on a tripod."""
        return "optical level"


@dataclass(frozen=True, slots=True)
class KnownHeight(Reading):
    """A point whose height [m] is given; with `sd` None it is held fixed."""

    point: str
    height: float

    def label(self) -> str:
        """Return 'given height of sill'."""
        return f"given height of {self.point}"

    def points(self) -> tuple[str, ...]:
        """Return the point."""
        return (self.point,)

    def numbers(self) -> tuple[float, ...]:
        """Return the height."""
        return (self.height,)


@dataclass(frozen=True, slots=True)
class HeightDifference(Reading):
    """`b` is `up` [m] higher than `a` (water level, or measured from a level string)."""

    a: str
    b: str
    up: float

    def label(self) -> str:
        """Return 'height A to B'."""
        return f"height {self.a} to {self.b}"

    def points(self) -> tuple[str, ...]:
        """Return the two ends."""
        return (self.a, self.b)

    def numbers(self) -> tuple[float, ...]:
        """Return the difference."""
        return (self.up,)

    def default_instrument(self) -> str:
        """Return the class of a water level."""
        return "water level"


@dataclass(frozen=True, slots=True)
class Net:
    """All readings of one site.

    `frame` names the first wall, left corner first (None: the given places make the frame).
    `house` names the corners of the house in order round it, beginning with the first wall.
    `outside` is the hand on which the yard lies as one walks that order, used where two ties leave
    two places open. `datum` names the point of height 0 where no height is given. `classes`
    replaces or adds instrument classes. `matter` names the points that the work hangs on (None: all);
    only their unchecked readings are worth another trip with the tape.
    """

    frame: tuple[str, str] | None = None
    house: tuple[str, ...] = ()
    outside: Hand = "right"
    pulls: tuple[Pull, ...] = ()
    square_offs: tuple[SquareOff, ...] = ()
    right_angles: tuple[RightAngle, ...] = ()
    straights: tuple[Straight, ...] = ()
    knowns: tuple[Known, ...] = ()
    sides: tuple[Side, ...] = ()
    rods: tuple[Rod, ...] = ()
    known_heights: tuple[KnownHeight, ...] = ()
    height_differences: tuple[HeightDifference, ...] = ()
    datum: str = ""
    matter: frozenset[str] | None = None
    classes: Mapping[str, Instrument] = field(default_factory=dict)
