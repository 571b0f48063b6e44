"""What a slab is taken to be where the notes say nothing, by its use, each default with its source.

The values stand in defaults.toml. A default is taken in the job's own system, so that a metric job
gets the sizes that the metric trade sells.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from typing import Any, Literal

from slabwright import measure, tables
from slabwright.measure import Quantity, System
from slabwright.notes.models import Notes, SlabNotes, SteelChoice, SteelNotes, Use, Vertex, line_of
from slabwright.notes.spec import FallSpec, JointSpec, SlabSpec, SteelSpec, Taken, ThickSpec
from slabwright.notes.values import Name

# A limit or a stone just at a table's edge counts as being on it [m]: readings carry binary rounding.
_ON_THE_EDGE = 1e-6
DEPTH_SLACK = 0.0008  # [m] 1/32 in: a joint is not measured more finely
_KINDS = {"across": "slope", "along": "slope", "from": "slope"}


def specify(notes: Notes) -> tuple[SlabSpec, ...]:
    """Return every slab of the notes fully specified; lengths in m, slopes as ratios, strength in Pa.

    Each default that was taken stands in the spec's `taken`, with the key of its source.
    """
    return tuple(_specify(slab, notes) for slab in notes.slabs)


class _Taker:
    """Gives written values back and fills in the missing ones, keeping account of what was taken."""

    def __init__(self, use: Use, system: System) -> None:
        self.row: dict[str, Any] = {**table()["all"], **table()[use]}
        self.system = system
        self.column = 0 if system is System.IMPERIAL else 1
        self.taken: list[Taken] = []

    def quantity(self, written: float | None, field: str, row: str, *, source: str | None = None) -> float:
        """Return the written value, or the default of `row` [SI]; `field` is its key in the job file."""
        if written is not None:
            return written
        cell = self.row[row]
        return self.keep(field, _kind(row), cell[self.column], source or cell[2])

    def keep(self, field: str, kind: str, text: str | float, source: str) -> float:
        """Keep account of a default; a text is read as `kind`, a number is in SI already."""
        value = measure.read(kind, text) if isinstance(text, str) else text
        self.taken.append(Taken(field, Quantity(kind, value), source))
        return value

    def word(self, written: str | None, field: str, default: str, source: str) -> str:
        """Return the written word, or the default one."""
        if written is not None:
            return written
        self.taken.append(Taken(field, default, source))
        return default


def _specify(slab: SlabNotes, notes: Notes) -> SlabSpec:
    take = _Taker(slab.use, notes.units)
    steel = _steel(slab, take)
    thick_row = "thickness"
    if "thickness-plain" in take.row and steel.choice not in ("bars", "mesh"):
        thick_row = "thickness-plain"
    thickness = take.quantity(slab.thickness, "thickness", thick_row)
    aggregate = take.quantity(slab.aggregate, "aggregate", "aggregate")
    slump = take.quantity(slab.slump, "slump", "slump")
    thick = slab.thickened
    strength = slab.strength
    if strength is None:
        cell = table()["strength"][notes.place.frost]
        strength = take.keep("strength", "pressure", cell[take.column], cell[2])
    return SlabSpec(
        name=slab.name,
        use=slab.use,
        line=line_of(slab),
        corners=tuple(_vertices(slab.corners)),
        along=tuple(_vertices(slab.along)),
        width=slab.width,
        side=slab.side,
        thickness=thickness,
        base=take.quantity(slab.base, "base", "base"),
        meets=slab.meets,
        heights=slab.heights,
        fall=_fall(slab, take, public=notes.place.public),
        joints=_joints(slab, take, thickness=thickness, aggregate=aggregate, slump=slump),
        steel=steel,
        openings=slab.openings,
        finish=slab.finish,
        aggregate=aggregate,
        slump=slump,
        strength=strength,
        taken=tuple(take.taken),
        thickened=None if thick is None else ThickSpec(thick.depth, thick.width, thick.edges),
    )


def _vertices(points: tuple[Name | Vertex, ...]) -> Iterator[Vertex]:
    for point in points:
        yield point if isinstance(point, Vertex) else Vertex(point=point)


def _fall(slab: SlabNotes, take: _Taker, *, public: bool) -> FallSpec:
    fall = slab.fall

    def limit(written: float | None, row: str, field: str = "") -> float:
        # On private ground the accessible limits do not bind: they are taken as good practice.
        source = take.row[row][2]
        if source == "ada-403.3" and not public:
            source = "ada-403.3-private"
        return take.quantity(written, f"fall.{field or row}", row, source=source)

    def wide(written: float | None, row: str) -> float | None:
        # what may not be passed where the accessible limit is only good practice; a written one is meant
        if written is not None or public or row not in take.row:
            return None
        return measure.read("slope", take.row[row][take.column])

    ring = bool(slab.corners) and "across-most-ring" in take.row
    most = limit(fall.across_most, "across-most-ring" if ring else "across-most", "across-most")
    least = fall.across_least
    if least is None:  # a default must not forbid what the crew wrote
        cell = take.row["across-least"]
        usual = measure.read("slope", cell[take.column])
        least = min(usual, most if fall.across is None else min(fall.across, most))
        take.keep("fall.across-least", "slope", least, cell[2])
    across = fall.across
    if across is None:
        cell = take.row["across"]
        usual = measure.read("slope", cell[take.column])
        across = take.keep("fall.across", "slope", min(max(usual, least), most), cell[2])
    return FallSpec(
        across=across,
        across_least=least,
        across_most=most,
        along_most=limit(fall.along_most, "along-most"),
        from_house=take.quantity(fall.from_house, "fall.from-house", "from-house"),
        toward=fall.toward,
        crown=fall.crown,
        across_given=fall.across is not None,
        across_wide=wide(fall.across_most, "across-most-private"),
        along_wide=wide(fall.along_most, "along-most-private"),
        public=public,
    )


def _joints(slab: SlabNotes, take: _Taker, *, thickness: float, aggregate: float, slump: float) -> JointSpec:
    written = slab.joints
    most = written.most
    if most is None:
        spacing, source = joint_spacing(thickness, aggregate, slump)
        most = take.keep("joints.most", "length", spacing, source)
    depth = written.depth
    if depth is None:
        least, source = joint_depth(thickness, take.system)
        depth = take.keep("joints.depth", "length", least, source)
    made = take.word(written.made, "joints.made", take.row["made"], "common-practice")
    return JointSpec(
        every=written.every,
        most=most,
        aspect_most=measure.read("ratio", take.row["joint-aspect"][take.column]),
        made="tooled" if made == "tooled" else "sawn",
        depth=depth,
        dowels=written.dowels,
        stop_after=written.stop_after,
    )


def joint_spacing(thickness: float, aggregate: float, slump: float) -> tuple[float, str]:
    """Return the published longest joint spacing [m] and the key of its source.

    thickness, aggregate (the largest stone), slump [m]. Source: pca-joint-table between its rows,
    joint-table-rule outside of them, aci-302-spacing where its 18 ft bind.
    """
    rule = table()["joints"]
    if slump < measure.read("length", rule["slump-limit"]) - _ON_THE_EDGE:
        column = "low-slump"
    elif aggregate < measure.read("length", rule["stone-limit"]) - _ON_THE_EDGE:
        column = "small-stone"
    else:
        column = "large-stone"
    rows = [measure.read("length", text) for text in rule["thickness"]]
    spans = [measure.read("length", text) for text in rule[column]]
    most = measure.read("length", rule["at-most"])
    if rows[0] - _ON_THE_EDGE <= thickness <= rows[-1] + _ON_THE_EDGE:
        k = min(max(bisect_left(rows, thickness - _ON_THE_EDGE), 1), len(rows) - 1)
        part = (thickness - rows[k - 1]) / (rows[k] - rows[k - 1])
        spacing, source = spans[k - 1] + part * (spans[k] - spans[k - 1]), rule["sources"]["table"]
    else:
        spacing, source = rule["times"][column] * thickness, rule["sources"]["rule"]
    return (most, rule["sources"]["most"]) if spacing > most + _ON_THE_EDGE else (spacing, source)


def joint_depth(thickness: float, system: System = System.IMPERIAL) -> tuple[float, str]:
    """Return the least depth [m] of a contraction joint in a slab of this thickness [m], and its source.

    A quarter of the thickness, but never less than the published least, which each system's trade rounds
    its own way. Sources irmca-joints, ufgs-walks.
    """
    column = 0 if system is System.IMPERIAL else 1
    part, least = table()["all"]["joint-depth-part"], table()["all"]["joint-least-depth"]
    deep, floor = thickness * measure.read("ratio", part[column]), measure.read("length", least[column])
    return (deep, str(part[2])) if deep >= floor else (floor, str(least[2]))


def _steel(slab: SlabNotes, take: _Taker) -> SteelSpec:
    steel = slab.steel or SteelNotes()
    choice: SteelChoice = steel.choice
    if slab.steel is None:
        take.word(None, "steel.choice", choice, "common-practice")
    if choice not in ("bars", "gfrp"):  # bar, spacing and cover mean nothing without bars
        quiet = _Taker(slab.use, System.IMPERIAL)
        quiet.column = take.column
        take = quiet
    both = steel.both_ways
    if both is None:
        both = take.word(None, "steel.both-ways", take.row["both-ways"], "common-practice") == "yes"
    return SteelSpec(
        choice=choice,
        bar=take.word(steel.bar, "steel.bar", take.row["bar"], "common-practice"),
        spacing=take.quantity(steel.spacing, "steel.spacing", "spacing"),
        both_ways=both,
        cover=take.quantity(steel.cover, "steel.cover", "cover"),
    )


def _kind(row: str) -> Literal["slope", "length"]:
    return "slope" if row.split("-")[0] in _KINDS else "length"


def table() -> dict[str, Any]:
    """Return the defaults as they stand in defaults.toml."""
    return tables.table("notes", "defaults")
