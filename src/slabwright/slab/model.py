"""What is wanted: outlines, joints, panels, heights and steel, as frozen records.

Plane coordinates and heights as in `ground.model`. Rings run counter-clockwise and are not closed
by a repeated point.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.findings import Finding
from slabwright.notes.spec import SlabSpec

XY = tuple[float, float]
XYZ = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of an outline, in ring order: a straight run or a true arc.

    `kind`: free (needs a form), wall, existing (poured against a slab that stays), slab (another new
    slab of the job). `against` names the wall or slab. `centre`/`radius`/`bulge` describe an arc:
    bulge > 0 turns left (counter-clockwise) from p to q, 0.0 is straight (tan of a quarter of the
    turned angle).
    """

    p: XY
    q: XY
    kind: Literal["free", "wall", "existing", "slab"]
    against: str | None
    bulge: float = 0.0
    centre: XY | None = None
    radius: float | None = None
    names: tuple[str | None, str | None] = (None, None)  # named points at p and q


@dataclass(frozen=True, slots=True)
class Hole:
    """An opening: name, kind, ring (flattened, clockwise), circle radius [m] if round."""

    name: str
    kind: str
    ring: tuple[XY, ...]
    radius: float | None


@dataclass(frozen=True, slots=True)
class Outline:
    """A slab's shape. `ring` is flattened for computing (chord error under 1 mm); `edges` keep arcs.

    `axis`: the ribbon's line flattened, from its first named point to its last; empty for a ring.
    `area` [m2] counts the true arcs and takes off the openings.
    """

    name: str
    ring: tuple[XY, ...]
    edges: tuple[Edge, ...]
    holes: tuple[Hole, ...]
    axis: tuple[XY, ...]
    width: float | None
    area: float
    perimeter: float
    axis_edges: tuple[Edge, ...] = ()  # the ribbon's line with its true arcs; empty for a ring


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint from p to q (a polyline for curved ones), with what asked for it.

    `why` is a short code: spacing, aspect, re-entrant, opening, bend, crew-rule, line-up, meets, wall,
    post. `depth` [m]; for isolation the full thickness. `doweled`: bars cross it. `saw_between` [s] after
    placing, for sawn joints.
    """

    kind: Literal["contraction", "isolation", "construction"]
    line: tuple[XY, ...]
    depth: float
    made: Literal["tooled", "sawn", "formed", "filler"]
    why: str
    against: str | None = None
    doweled: bool = False
    saw_between: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Panel:
    """Concrete between joints: ring of XY (ccw, flattened), area [m2], long and short side [m].

    `holes`: rings (clockwise) of openings that lie wholly inside it; `area` leaves them out.
    """

    name: str  # '1', '2', ... in placing order from the far end
    ring: tuple[XY, ...]
    area: float
    long: float
    short: float
    holes: tuple[tuple[XY, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class JointPlan:
    """Joints and panels of one slab, with the solver's proof (cost and bound equal when proved)."""

    joints: tuple[Joint, ...]
    panels: tuple[Panel, ...]
    cost: float
    bound: float
    proved: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Node:
    """A grade node: a corner, joint end, form break or arc point with its finished height [m].

    `fixed` names what fixes it (an existing slab, a door, a written height), else None. `label` is
    its short name on paper ('7' or 'P2'). `shape_only` nodes (steps of a flattened arc between grade
    points, the rim of a round opening) carry the surface's shape, need no stake and have no label.
    """

    label: str
    x: float
    y: float
    z: float
    fixed: str | None
    shape_only: bool = False


@dataclass(frozen=True, slots=True)
class Facet:
    """A plane or ruled piece of the surface: indices into the slab's nodes (ccw)."""

    nodes: tuple[int, ...]
    panel: str


@dataclass(frozen=True, slots=True)
class HeightPlan:
    """Finished heights of one slab: nodes, facets that cover it, falls found, and what each limit costs.

    `across`, `along`, `total`: (least, most) slope ratios over facets, in the slab's own directions.
    `price` maps a limit's name to m3 of earthwork saved per unit that it is relaxed (dual value).
    """

    nodes: tuple[Node, ...]
    facets: tuple[Facet, ...]
    across: tuple[float, float]
    along: tuple[float, float]
    total: tuple[float, float]
    feasible: bool
    price: dict[str, float]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar as placed: number, polyline in plan, depth of its centre below the top [m]."""

    number: str
    line: tuple[XY, ...]
    depth: float


@dataclass(frozen=True, slots=True)
class DowelRow:
    """Bars across one joint: smooth dowels, or deformed ties that hold it shut.

    `against`: what lies beyond the joint; `number`: diameter in eighths of an inch; `at`: middles in plan
    [m], on the joint; `depth` of the middle below the top [m]; `hole` [m] is how deep they are drilled
    into what is there, 0.0 where they are cast in.
    """

    kind: Literal["dowel", "tie"]
    against: str
    number: str
    at: tuple[XY, ...]
    length: float
    spacing: float
    depth: float
    hole: float


@dataclass(frozen=True, slots=True)
class MeshSheet:
    """One sheet of mesh, or the part of one, as laid: its ring in plan [m], length and width [m]."""

    ring: tuple[XY, ...]
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class SteelPlan:
    """Steel of one slab: bars as placed, their total length [m] and mass [kg] before laps, ratio [-].

    `number`: the bar's number, or the style of mesh or fibre. `mesh_area` [m2] is of the `sheets` as laid,
    laps and all; `dose` [kg/m3] is of fibre; `dowels` cross joints and are not in `bars`.
    """

    choice: str
    number: str
    bars: tuple[Bar, ...]
    spacing: float
    length: float
    mass: float
    ratio: float
    lap: float
    chairs: int
    ties: int
    findings: tuple[Finding, ...]
    mesh_area: float = 0.0
    dose: float = 0.0
    dowels: tuple[DowelRow, ...] = ()
    sheets: tuple[MeshSheet, ...] = ()


@dataclass(frozen=True, slots=True)
class ThickEdge:
    """Edges thicker than their slab: depth from the top and width of the bottom [m].

    `area` [m2] in plan, `volume` [m3] of concrete below the slab's own underside, `rings` [m] bound the
    area: inner rings leave out what an outer one holds.
    """

    depth: float
    width: float
    area: float
    volume: float
    rings: tuple[tuple[XY, ...], ...]


@dataclass(frozen=True, slots=True)
class Slab:
    """One slab, shaped."""

    spec: SlabSpec
    outline: Outline
    joint_plan: JointPlan
    height_plan: HeightPlan
    steel: SteelPlan
    thick: ThickEdge | None = None


@dataclass(frozen=True, slots=True)
class Shaped:
    """All slabs of a job, with findings that concern more than one."""

    slabs: tuple[Slab, ...]
    findings: tuple[Finding, ...]
