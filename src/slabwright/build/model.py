"""How it gets made: set-out, dig, forms, steel cutting, the order, kit. Frozen records, SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from slabwright.findings import Finding, Value
from slabwright.measure import Quantity

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stake:
    """A stake or form corner: where, finished top [m], and how to find it.

    `tie_a`, `tie_b`: (anchor name, distance [m]); a mark at an anchor has no `tie_b`; `rod`: (set-up,
    reading [m]) to the top of form;
    `ground`: existing ground height [m] or None; `dig`: depth from ground to the bottom of base [m].
    `down`: (bench name, how far [m] the top lies below that bench; negative above).
    """

    label: str
    slab: str
    x: float
    y: float
    top: float
    kind: str  # corner | stake | butt | joint end | grade (a height between) | opening (its middle) | nail
    tie_a: tuple[str, float] | None
    tie_b: tuple[str, float] | None
    tie_sd: float | None
    rod: tuple[str, float] | None
    ground: float | None
    dig: float | None
    down: tuple[str, float] | None = None


@dataclass(frozen=True, slots=True)
class Swing:
    """An arc that a tape swings: slab, the marks at its ends, its centre's name and place, radius [m].

    `tie_a`, `tie_b`: how to find the centre, as for a stake.
    """

    slab: str
    a: str
    b: str
    centre: str
    at: XY
    radius: float
    tie_a: tuple[str, float]
    tie_b: tuple[str, float]
    tie_sd: float


@dataclass(frozen=True, slots=True)
class SetOut:
    """Stakes in walking order, with the check diagonals of each slab: (slab, from, to, length [m]).

    `squares` are corners to check with three tape pulls: (slab, corner, leg, leg, diagonal [m]).
    `nails` hold the strings of the forms from outside the dig; their `top` is the form's line there.
    """

    stakes: tuple[Stake, ...]
    diagonals: tuple[tuple[str, str, str, float], ...]
    squares: tuple[tuple[str, str, float, float, float], ...] = ()
    nails: tuple[Stake, ...] = ()
    findings: tuple[Finding, ...] = ()
    swings: tuple[Swing, ...] = ()  # arcs whose centre can be found and swung from


@dataclass(frozen=True, slots=True)
class DigLine:
    """Earthwork of one panel [m3]: bank cut, fill below base, compacted base, organic strip.

    `cut` is everything dug, sod and topsoil and the form strip beside the panel included;
    `organic_volume` and `over_dig` are parts of it. Depths [m] from the ground to the floor of the dig.
    """

    slab: str
    panel: str
    area: float
    cut: float
    fill: float
    base_volume: float
    organic_volume: float
    depth_least: float
    depth_most: float
    over_dig: float = 0.0


@dataclass(frozen=True, slots=True)
class DigBand:
    """Where the dig is between two depths [m]: area [m2], rings [m]; inner rings leave out their inside."""

    shallow: float
    deep: float
    area: float
    rings: tuple[tuple[XY, ...], ...]


@dataclass(frozen=True, slots=True)
class DigMap:
    """The cut-depth map: bands `interval` [m] apart, least and most depth from the ground to the floor [m].

    Slabs and form strips are covered once; the bands are in order, shallow first.
    """

    interval: float
    depth_least: float
    depth_most: float
    bands: tuple[DigBand, ...]


@dataclass(frozen=True, slots=True)
class Dig:
    """Earthwork with over-dig for forms; spoil_loose and base_loose are truck volumes.

    Totals [m3] of the lines; `base_loose` and `base_mass` [kg] count the stone that fills low places.
    `backfill` [m3, bank] is topsoil to keep for the form strips; `spoil_loose` is what then leaves.
    `lifts` layers of base at most; `spoil_loads` of a truck of `truck` [m3]; `node_depths` depth of dig
    [m] by slab and grade node (sod and topsoil at least; the ground may lie below); `hand_time` from - to
    [s of one person], None where it cannot be dug by hand; `machine_time` likewise of a small excavator.
    """

    lines: tuple[DigLine, ...]
    cut: float
    fill: float
    base_volume: float
    organic_volume: float
    over_dig: float
    spoil_loose: float
    base_loose: float
    base_mass: float
    backfill: float = 0.0
    lifts: int = 1
    truck: float = 0.0
    spoil_loads: int = 0
    node_depths: tuple[tuple[str, str, float], ...] = ()
    hand_time: tuple[float, float] | None = None
    machine_time: tuple[float, float] | None = None
    map: DigMap | None = None
    findings: tuple[Finding, ...] = ()


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

    `station` [m] is measured from the run's first end; `kind`: corner, stake or butt.
    """

    slab: str
    run: int
    x: float
    y: float
    station: float
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
class BentBar:
    """A bar to bend: slab, number, its straight legs [m] in order, the turn between each two [rad]."""

    slab: str
    number: str
    legs: tuple[float, ...]
    turns: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class BarList:
    """Bars: number, pieces by length [m] and count, stock bars to buy (length [m], count), lap [m].

    `mass` [kg] is of the pieces, laps and all. `cuts` says what comes out of each stock bar; `laps` is
    how many there are; `bent` lists the bars with a bend, whole, before their laps; `splices`
    (whole, piece, piece [m], count) are bars made of an offcut and a short piece; `kind` is the
    choice (bars, gfrp, mesh) or 'dowel'. A mesh has a style for its number, parts of sheets by length for
    its pieces, and whole sheets for its stock; a smooth dowel has its diameter in eighths of an inch.
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
    bent: tuple[BentBar, ...] = ()
    splices: tuple[tuple[float, float, float, int], ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Balance:
    """The balance call before the last load.

    `placed` is down [m3]; by then `filled_area` [m2] is expected to be full and `open_area` [m2] left.
    The call is open area x used / filled area + `allowance` [m3]; about `call` [m3] as things stand.
    `chance_short` is then left.
    """

    placed: float
    filled_area: float
    open_area: float
    allowance: float
    call: float
    chance_short: float


@dataclass(frozen=True, slots=True)
class Words:
    """Words of a group in says.toml ('use': walk, patio), put into the reader's language when shown."""

    group: str
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ask:
    """One line to say or to buy by: its key in says.toml and the values in its text."""

    key: str
    values: Mapping[str, Value | Words | tuple[Quantity, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Order:
    """Concrete: need [m3] with its standard deviation `need_sd` [m3], the rounded order, bags.

    `drawn` is the volume as drawn, `need` what the job likely takes out of the truck, `left_over` what
    is expected to stay over [m3]; `asks` are the plant's questions in its order, and `mix` the same in
    English and the job's units; `load_every` between loads [s]; `balance` the call before the last load.
    """

    need: float
    need_sd: float
    by_slab: tuple[tuple[str, float], ...]
    order: float
    chance_short: float
    loads: tuple[float, ...]
    bags: tuple[tuple[str, int], ...]  # where the job is small: bag name and count
    mix: tuple[tuple[str, str], ...]  # (what, value as text key) lines for the plant
    strength: float
    air: tuple[float, float] | None
    w_cm: float | None
    drawn: float = 0.0
    left_over: float = 0.0
    load_every: float | None = None
    balance: Balance | None = None
    asks: tuple[Ask, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Material:
    """One line of the shopping list: shop, what, SI quantity with kind, and as bought.

    `shop`, `what` and `buy` are in English and the job's units; `said` holds the keys in says.toml and
    the values of the same three, for other languages.
    """

    shop: str
    what: str
    kind: str
    amount: float
    buy: str
    said: tuple[Ask, Ask, Ask] | None = None
