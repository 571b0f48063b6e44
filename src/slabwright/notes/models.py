"""The job file's models: what was written down on site, in the order of the work.

Every key is a trade word; hyphen, space and underscore are the same in a key. Values are SI after
reading. A model keeps the line it was written on in `line_of(model)`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from slabwright.measure import System
from slabwright.notes.models_pour import PourNotes as PourNotes
from slabwright.notes.models_weather import WeatherNotes as WeatherNotes
from slabwright.notes.rows import Row as Row
from slabwright.notes.rows import key_of as key_of
from slabwright.notes.rows import line_of as line_of
from slabwright.notes.values import (
    Angle,
    Area,
    Clock,
    Distance,
    Duration,
    Flow,
    Gap,
    Length,
    Name,
    OutIntoYard,
    Pressure,
    Rain,
    RodReading,
    SlabThickness,
    Slope,
    TapePull,
    TapeReading,
    Temperature,
    Thick,
    Thin,
    Volume,
)

Use = Literal["walk", "patio", "driveway", "apron", "pad", "landing"]
Soil = Literal["sand", "loam", "clay", "rock"]
Frost = Literal["none", "moderate", "severe"]
Finish = Literal["broom", "exposed", "salt", "float", "stamped"]
SteelChoice = Literal["bars", "gfrp", "mesh", "fiber", "none"]


def _bar_number(raw: Any) -> Any:
    """Return '4' for '#4', 'No. 4' and 4."""
    return str(raw).casefold().removeprefix("no").lstrip(". #") if isinstance(raw, str | int) else raw


class Place(Row):
    """Where the job is: for sun, frost and soil."""

    name: str | None = None
    latitude: Annotated[float, Field(ge=-66, le=66, allow_inf_nan=False)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)] | None = None
    zone: Annotated[str, Field(max_length=60)] | None = None  # of the clock on the wall
    north: Angle = 0.0  # clockwise from 'straight into the house', as one faces wall A-B
    frost: Frost = "moderate"
    soil: Soil = "loam"
    public: bool = False  # in the right of way or open to the public: the accessible limits bind

    @property
    def bearing(self) -> float | None:
        """North [rad, as above] where somebody wrote it; None where nobody knows it."""
        return self.north if "north" in self.model_fields_set else None


class Door(Row):
    """A door in a wall: from the wall's first corner to the near jamb, and its width."""

    name: Name
    on: str
    from_: Distance
    width: Length
    sill: Name | None = None  # the name under which the sill was shot


class House(Row):
    """Corners left to right as one faces each wall from the yard; walls run between them."""

    walls: Annotated[tuple[Name, ...], Field(min_length=2, max_length=60)]
    closed: bool = False  # the last corner joins the first
    siding: Literal["wood", "stucco", "masonry", "none"] = "none"
    siding_bottom: Name | None = None  # the name under which the siding's lower edge was shot
    doors: tuple[Door, ...] = ()


class Pull(Row):
    """A straight tape pull between two named points."""

    from_: Name
    to: Name
    reads: TapePull
    with_: str | None = None
    sd: Length | None = None


class SquareOff(Row):
    """Along a line from its first end, then square out of it (out is into the yard, right hand)."""

    point: Name
    wall: str
    along: TapeReading
    out: TapeReading
    with_: str | None = None
    sd: Length | None = None


class RightAngle(Row):
    """A corner that was checked square: at one point, between two others."""

    at: Name
    between: tuple[Name, Name]


class SetUp(Row):
    """One position of the instrument; rod readings are down from its line of sight."""

    set_up: Name
    with_: str | None = None
    sd: Length | None = None
    rod: dict[Name, RodReading]


class StringLine(Row):
    """A level string; measured down from it to each point."""

    string: Name
    sd: Length | None = None
    down: dict[Name, RodReading]


class WaterLevel(Row):
    """Two ends of a water level: how far `to` stands above `from` (negative: below)."""

    from_: Name
    to: Name
    up: TapeReading
    sd: Length | None = None


class Existing(Row):
    """A slab, floor or kerb that is there: by its corners, or by the one edge that matters."""

    name: Name
    corners: tuple[Name, ...] = ()
    edge: tuple[Name, ...] = ()
    keeps: Literal["height", "nothing"] = "height"
    thickness: SlabThickness | None = None
    joints: tuple[tuple[Name, Name], ...] = ()  # its joints, for the new slab to carry on


class GroundNotes(Row):
    """The existing ground: which shots lie on it, and what must be stripped."""

    shots: tuple[Name, ...] | Literal["all"] = (
        "all"  # all: every shot with a place that is not on something else
    )
    not_ground: tuple[Name, ...] = ()
    break_lines: tuple[tuple[Name, ...], ...] = ()
    organic: Gap | None = None  # sod and topsoil to strip


class Tree(Row):
    """A tree: where its trunk stands and how thick it is at 4 1/2 ft."""

    name: Name
    at: Name
    trunk: Thick


class Buried(Row):
    """A buried line: what runs in it and between which points."""

    kind: Literal["electric", "gas", "communications", "water", "reclaimed", "sewer", "sprinkler", "other"]
    along: Annotated[tuple[Name, ...], Field(min_length=2)]
    depth: Length | None = None
    name: str | None = None
    pipe: Thick | None = None  # its size


class Head(Row):
    """A sprinkler head: where, throw, arc and the line it hangs on."""

    head: Name
    at: Name
    throw: Length
    arc: Annotated[float, Field(gt=0, le=360, allow_inf_nan=False)] = 360.0
    facing: Angle | None = None
    flow: Flow | None = None
    line: str | None = None


class Lawn(Row):
    """A lawn that the sprinklers water: its corners in order."""

    name: Name
    corners: Annotated[tuple[Name, ...], Field(min_length=3, max_length=200)]


class SprinklerLine(Row):
    """A line of sprinklers that run together: how much water it can give."""

    line: Name
    most: Flow | None = None
    pipe: Thick | None = None  # its size


class Downspout(Row):
    """Where roof water is let out, and how much roof feeds it."""

    name: Name
    at: Name
    roof: Area


class Inlet(Row):
    """A drain's grate that takes what reaches it."""

    name: Name
    at: Name


class TrenchDrain(Row):
    """A drain along a line, with a grate over its whole length."""

    name: Name
    along: Annotated[tuple[Name, ...], Field(min_length=2)]
    width: Thin | None = None  # inside
    depth: Thin | None = None  # inside
    fall: Slope | None = None  # of its bottom


class WaterNotes(Row):
    """The rain to check against, and what takes water up or lets it out."""

    rain: Rain | None = None
    lasts: Duration | None = None
    downspouts: tuple[Downspout, ...] = ()
    inlets: tuple[Inlet, ...] = ()
    trench_drains: tuple[TrenchDrain, ...] = ()


class Vertex(Row):
    """A corner of an outline or a bend of a walk."""

    point: Name
    round: Length | None = None  # corner rounded to this radius
    arc_through: Name | None = None  # the edge that ENDS here is an arc through this point
    arc_radius: Length | None = None  # the edge that ENDS here is an arc of this radius
    arc_turn: Literal["left", "right"] | None = None


class Meets(Row):
    """What the slab must meet: an existing slab (with an allowed lip) or a door (so far below its sill)."""

    existing: Name | None = None
    door: Name | None = None
    slab: Name | None = None
    lip: Gap | None = None  # how far off the existing height is allowed
    down: Gap | None = None  # below the sill
    step: Gap | None = None  # so far below what it meets, by a step


class Fix(Row):
    """A fixed height: at a named point, so far below (or above) another."""

    at: Name
    below: Name | None = None
    above: Name | None = None
    by: Thin = 0.0
    give: Gap = 0.0  # how far off is allowed


class Fall(Row):
    """Wanted and allowed falls. `toward` names where water goes: left, right, or a named point."""

    across: Slope | None = None
    across_least: Slope | None = None
    across_most: Slope | None = None
    along_most: Slope | None = None
    from_house: Slope | None = None
    toward: str | None = None
    crown: bool = False


class JointNotes(Row):
    """The crew's own joint rule, and how joints are made."""

    every: Length | None = None
    most: Length | None = None
    made: Literal["tooled", "sawn"] | None = None
    depth: Thick | None = None
    dowels: Literal["none", "construction", "existing", "both"] = "construction"  # bars across joints
    stop_after: Annotated[int, Field(ge=1, le=1000)] | None = None  # panels poured in a day


class Thickened(Row):
    """Edges that are thicker than the slab: how deep, how wide, which."""

    depth: SlabThickness  # from the top, the slab's own thickness counted in
    width: Thick
    edges: Literal["free", "all"] = "free"


class SteelNotes(Row):
    """Steel by choice."""

    choice: SteelChoice = "bars"
    bar: Annotated[Literal["3", "4", "5", "6"], BeforeValidator(_bar_number)] | None = None
    spacing: Thick | None = None
    both_ways: bool | None = None
    cover: Gap | None = None


class Opening(Row):
    """A hole in the slab: round (at a point, across) or by its corners."""

    name: Name
    kind: Literal["post", "tree", "cleanout", "box", "other"] = "other"
    at: Name | None = None
    across: Thick | None = None
    corners: tuple[Name, ...] = ()


class SlabNotes(Row):
    """One slab wanted: a ring of corners, or a ribbon along a line with a width."""

    name: Name
    use: Use
    corners: tuple[Name | Vertex, ...] = ()
    along: tuple[Name | Vertex, ...] = ()
    width: Length | None = None
    side: Literal["centre", "left", "right"] = (
        "centre"  # `along` is the centre line, or the slab lies on that side
    )
    thickness: SlabThickness | None = None
    base: Gap | None = None
    thickened: Thickened | None = None
    meets: tuple[Meets, ...] = ()
    heights: tuple[Fix, ...] = ()
    fall: Fall = Fall()
    joints: JointNotes = JointNotes()
    steel: SteelNotes | None = None
    openings: tuple[Opening, ...] = ()
    finish: Finish = "broom"
    aggregate: Thick | None = None
    slump: Thick | None = None
    strength: Pressure | None = None


class Crew(Row):
    """Who works, and from when."""

    people: Annotated[int, Field(ge=1, le=60)] = 4
    start: Clock | None = None


class Board(Row):
    """Boards in the crew's pile, or a length that the yard sells."""

    size: Literal["1x4", "1x6", "2x4", "2x6", "2x8", "2x10", "2x12"]
    length: Length
    count: Annotated[int, Field(ge=1, le=10000)] = 1


class Kit(Row):
    """The crew's tools, for the check against the job; only what is written is checked."""

    strike_off: Length | None = None
    float_: Length | None = None
    bull_float: Length | None = None
    broom: Length | None = None
    joint_tool: Thick | None = None  # depth of its bit
    edger: Thick | None = None  # radius
    saw_depth: Thick | None = None
    barrows: Annotated[int, Field(ge=0, le=100)] | None = None
    hose: Length | None = None
    boards: tuple[Board, ...] = ()
    stock: tuple[Length, ...] = ()  # board lengths the yard sells
    bar_stock: Length | None = None  # length of the steel bars on sale


class Fence(Row):
    """A fence or hedge that no barrow gets over. A gate is the gap between two of them."""

    name: Name
    along: Annotated[tuple[Name, ...], Field(min_length=2, max_length=200)]


class KeepOff(Row):
    """Ground that barrows keep off, such as a bed or a pond: its corners in order."""

    name: Name
    corners: Annotated[tuple[Name, ...], Field(min_length=3, max_length=200)]


class Access(Row):
    """Where the truck may stand, and how concrete gets to the slab."""

    truck_stops_at: Name | None = None
    chute: Length | None = None
    by: Literal["chute", "barrow", "buggy", "pump"] | None = None
    or_stops_at: tuple[Name, ...] = ()  # other places for the truck
    barrow_width: Thick | None = None  # what a gate must let through
    fences: tuple[Fence, ...] = ()
    keep_off: tuple[KeepOff, ...] = ()


class PastJob(Row):
    """A job that was poured: what was drawn, what came, what stayed over or was missing."""

    name: Name
    drawn: Volume
    ordered: Volume
    left_over: Volume = 0.0
    short: Volume = 0.0  # fetched in a second load


class OrderNotes(Row):
    """What the plant sells and charges by, and what this crew's jobs took before."""

    least: Annotated[str, Field(max_length=40)] | None = None  # smallest load sold, such as 1 yd3
    step: Annotated[str, Field(max_length=40)] | None = None  # rounding, such as 1/4 yd3
    truck: Annotated[str, Field(max_length=40)] | None = None  # a full load, such as 9 yd3
    mix_temperature: Temperature | None = None
    split_loads: bool = False  # so small that each is placed in time
    left_over_to: Name | None = None  # where what stays over goes
    past_jobs: Annotated[tuple[PastJob, ...], Field(max_length=1000)] = ()


class Notes(Row):
    """A whole job file."""

    title: Annotated[str, Field(min_length=1, max_length=200)]
    customer: str | None = None
    measured: str | None = None  # the day, and by whom
    units: System = System.IMPERIAL
    paper: Literal["letter", "tabloid", "A4", "A3"] | None = None
    place: Place = Place()
    house: House | None = None
    baseline: tuple[Name, Name] | None = (
        None  # where there is no house: from left to right as one faces the work
    )
    # written along the first wall from its left end, then square out into the yard, as a square-off is;
    # kept as plan x and y, and y runs into the house
    points: dict[Name, tuple[Distance, OutIntoYard]] = Field(default_factory=dict)
    tape: tuple[Pull, ...] = ()
    square_off: tuple[SquareOff, ...] = ()
    right_angles: tuple[RightAngle, ...] = ()
    straight_lines: tuple[tuple[Name, ...], ...] = ()
    levels: tuple[SetUp, ...] = ()
    string_lines: tuple[StringLine, ...] = ()
    water_levels: tuple[WaterLevel, ...] = ()
    heights: dict[Name, Distance] = Field(default_factory=dict)  # known heights
    datum: Name | None = None  # heights on paper are up or down from this
    ground: GroundNotes = GroundNotes()
    existing: tuple[Existing, ...] = ()
    trees: tuple[Tree, ...] = ()
    buried: tuple[Buried, ...] = ()
    sprinklers: tuple[Head, ...] = ()
    lawns: tuple[Lawn, ...] = ()
    sprinkler_lines: tuple[SprinklerLine, ...] = ()
    off_paving: Literal["custom", "strict"] = "custom"  # how far sprinklers keep off paving
    water: WaterNotes = WaterNotes()
    slabs: Annotated[tuple[SlabNotes, ...], Field(min_length=1, max_length=200)]
    crew: Crew = Crew()
    kit: Kit = Kit()
    access: Access = Access()
    order: OrderNotes = OrderNotes()
    weather: Annotated[str, Field(min_length=1, max_length=400)] | WeatherNotes | None = None  # of the pour
    pour: PourNotes | None = None
