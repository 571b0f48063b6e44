"""How it gets made: set-out, dig, forms, steel cutting, the order, kit. Frozen records, SI."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.findings import Finding

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stake:
    """A stake or form corner: where, finished top [m], and how to find it.

    `tie_a`, `tie_b`: (anchor name, distance [m]); `rod`: (set-up, reading [m]) to the top of form;
    `ground`: existing ground height [m] or None; `dig`: depth from ground to the bottom of base [m].
    """

    label: str
    slab: str
    x: float
    y: float
    top: float
    kind: str  # corner | stake | butt | joint end
    tie_a: tuple[str, float] | None
    tie_b: tuple[str, float] | None
    tie_sd: float | None
    rod: tuple[str, float] | None
    ground: float | None
    dig: float | None


@dataclass(frozen=True, slots=True)
class SetOut:
    """Stakes in walking order, with the check diagonal of each slab: (slab, from, to, length [m])."""

    stakes: tuple[Stake, ...]
    diagonals: tuple[tuple[str, str, str, float], ...]


@dataclass(frozen=True, slots=True)
class DigLine:
    """Earthwork of one panel [m3]: bank cut, fill below base, compacted base, organic strip."""

    slab: str
    panel: str
    area: float
    cut: float
    fill: float
    base_volume: float
    organic_volume: float
    depth_least: float
    depth_most: float


@dataclass(frozen=True, slots=True)
class Dig:
    """Earthwork with over-dig for forms; spoil_loose and base_loose are truck volumes [m3]."""

    lines: tuple[DigLine, ...]
    cut: float
    fill: float
    base_volume: float
    organic_volume: float
    over_dig: float
    spoil_loose: float
    base_loose: float
    base_mass: float


@dataclass(frozen=True, slots=True)
class FormRun:
    """One run of form: slab, from/to labels, length [m], radius [m] or None, board size, boards cut."""

    slab: str
    a: str
    b: str
    p: XY
    q: XY
    length: float
    radius: float | None
    board: str
    material: str


@dataclass(frozen=True, slots=True)
class CutBoard:
    """One board: size, stock length [m], from 'pile' or 'yard', pieces cut from it [m], left over [m]."""

    size: str
    stock: float
    origin: str
    pieces: tuple[float, ...]
    left: float


@dataclass(frozen=True, slots=True)
class StakePlace:
    """Where a stake holds a form: slab, its run's number in `Forms.runs`, place on the slab's edge [m].

    `along` [m] is measured from the run's first end; `kind`: corner, stake or butt.
    """

    slab: str
    run: int
    x: float
    y: float
    along: float
    kind: str


@dataclass(frozen=True, slots=True)
class Forms:
    """Runs, boards with the proved bound, stakes (count and length [m]), nails, release agent [m3].

    `bound` and `cost` count a metre out of the yard as a metre and a metre out of the pile as the
    table's share of one; `butts` are board joints inside a run; `braces` kickers; `returns` what goes
    back on the pile after stripping: size, length [m], count.
    """

    runs: tuple[FormRun, ...]
    boards: tuple[CutBoard, ...]
    bound: float  # least stock that any cutting of these pieces could use [m]
    proved: bool
    stakes: int
    stake_length: float
    stake_spacing: float
    nails: int
    release: float
    cost: float = 0.0
    butts: int = 0
    braces: int = 0
    stake_places: tuple[StakePlace, ...] = ()
    returns: tuple[tuple[str, float, int], ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class BarList:
    """Bars: number, pieces by length [m] and count, stock bars to buy (length [m], count), lap [m].

    `mass` [kg] is of the pieces, laps and all. `cuts` says what comes out of each stock bar; `laps` and
    `bends` are how many there are; `kind` is the choice (bars, gfrp, mesh). A mesh has a style for its
    number, no pieces, and sheets for its stock.
    """

    number: str
    pieces: tuple[tuple[float, int], ...]
    stock: tuple[tuple[float, int], ...]
    lap: float
    mass: float
    chairs: int
    ties: int
    proved: bool
    kind: str = "bars"
    cuts: tuple[CutBoard, ...] = ()
    laps: int = 0
    bends: int = 0
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Order:
    """Concrete: need [m3] with its spread, the rounded order, its chance of running short, bags."""

    need: float
    sd: float
    by_slab: tuple[tuple[str, float], ...]
    order: float
    chance_short: float
    loads: tuple[float, ...]
    bags: tuple[tuple[str, int], ...]  # where the job is small: bag name and count
    mix: tuple[tuple[str, str], ...]  # (what, value as text key) lines for the plant
    strength: float
    air: tuple[float, float] | None
    w_cm: float | None


@dataclass(frozen=True, slots=True)
class Material:
    """One line of the shopping list: shop, what, SI quantity with kind, and as bought."""

    shop: str
    what: str
    kind: str
    amount: float
    buy: str


@dataclass(frozen=True, slots=True)
class Built:
    """The whole making of a job."""

    set_out: SetOut
    dig: Dig | None
    forms: Forms
    steel: tuple[BarList, ...]
    order: Order
    materials: tuple[Material, ...]
    findings: tuple[Finding, ...]
