"""Bars cut from stock: pieces with their laps, out of as few stock bars as can be, proved."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise

from slabwright.build.cutting import Cutting, Stock, cut
from slabwright.build.model import BarList, BentBar, CutBoard
from slabwright.build.splices import Splice, with_splices
from slabwright.findings import Finding, find
from slabwright.measure import Quantity, System
from slabwright.slab.model import Bar, Shaped, Slab
from slabwright.slab.steel.layout import length_of, turns
from slabwright.slab.steel.tables import bar_size, rule, smooth_mass

# [m] pieces are cut to the inch or the centimetre, downward, so that like bars share a line in the list
STEP = {System.IMPERIAL: 0.0254, System.METRIC: 0.01}
NEARLY = 0.25  # part of a step by which a piece may be longer than it should, well inside the cover's slack
JUST = 1e-9
BEND = math.radians(5.0)  # gentler turns need no bending: the bar springs (common practice)


@dataclass
class _Heap:
    """What one kind of bar adds up to over all slabs."""

    lap: float = 0.0
    chairs: int = 0
    ties: int = 0
    laps: int = 0
    bent: list[BentBar] = field(default_factory=list)
    pieces: Counter[float] = field(default_factory=Counter)  # of bars that come whole from stock
    runs: Counter[float] = field(default_factory=Counter)  # lengths [m] of longer ones


def cut_bars(
    shaped: Shaped, *, stock: float | None = None, system: System = System.IMPERIAL
) -> tuple[BarList, ...]:
    """Return the bars of a job by kind and number, with their cutting list, and mesh by style.

    stock: length of the bars on sale [m]; unless given, 20 ft or 6 m by `system` (common practice).
    A bar longer than that is lapped; a stock no longer than the lap can build none of those, which is
    a finding.
    """
    usual = rule("stock_bar" if system is System.IMPERIAL else "stock_bar_metric")
    length = usual if stock is None else stock
    if not (math.isfinite(length) and length > 0):
        raise ValueError(f"bars of {length!r} m are not on sale")
    heaps: dict[tuple[str, str], _Heap] = {}
    found: dict[tuple[str, str], dict[str, Finding]] = {}
    for slab in shaped.slabs:
        steel = slab.steel
        for bar in steel.bars:
            key = (steel.choice, bar.number)
            heap = heaps.setdefault(key, _Heap())
            heap.lap = max(heap.lap, steel.lap)
            bent = _bent(slab.spec.name, bar)
            if bent is not None:
                heap.bent.append(bent)
            if not _take(heap, bar, steel.lap, length, STEP[system]):
                short = found.setdefault(key, {})
                short.setdefault(slab.spec.name, _too_short(slab, bar, steel.lap, length))
        for row in steel.dowels:
            if row.kind != "tie":
                continue
            ties = ("bars", row.number)  # cut from the same stock as other steel bars
            heap = heaps.setdefault(ties, _Heap())
            if row.length <= length + JUST:
                heap.pieces[row.length] += len(row.at)
            else:
                tie = Bar(row.number, ((0.0, 0.0), (row.length, 0.0)), row.depth)
                short = found.setdefault(ties, {})
                short.setdefault(slab.spec.name, _too_short(slab, tie, steel.lap, length))
        if steel.bars:
            main = heaps.setdefault((steel.choice, steel.number), _Heap(steel.lap))
            main.chairs += steel.chairs
            main.ties += steel.ties
    bars = [
        _list(key, heap, length, STEP[system], tuple(found.get(key, {}).values()))
        for key, heap in sorted(heaps.items())
    ]
    return (*bars, *_mesh(shaped, STEP[system]), *_dowels(shaped))


def pieces_of(run: float, lap: float, stock: float, *, least: float = 2.0) -> tuple[float, ...]:
    """Return the pieces that build a bar of a length [m] from stock [m] with laps [m].

    As few as can be: whole stock bars and a rest; a rest shorter than `least` laps shares its length
    with the bar before it. Empty when the stock cannot reach past its own lap.
    """
    if run <= stock + JUST:
        return (run,)
    if stock <= lap + JUST:
        return ()
    number = math.ceil((run - lap) / (stock - lap) - JUST)
    rest = run - (number - 1) * (stock - lap)
    if rest >= least * lap - JUST:
        return (stock,) * (number - 1) + (rest,)
    shared = (stock + rest) / 2
    return (stock,) * (number - 2) + (shared, shared)


def _take(heap: _Heap, bar: Bar, lap: float, stock: float, step: float) -> bool:
    run = length_of(bar.line)
    pieces = pieces_of(run, lap, stock)
    if len(pieces) == 1:
        heap.pieces[_down(run, step)] += 1
    elif pieces:
        heap.runs[run] += 1
    heap.laps += max(0, len(pieces) - 1)
    return bool(pieces)


def _down(length: float, step: float) -> float:
    return math.floor(length / step + NEARLY) * step


def _cutting(heap: _Heap, stock: float, step: float) -> tuple[Counter[float], Cutting, tuple[Splice, ...]]:
    """Return pieces, their cutting and the spliced bars: fewest laps in long bars, then fewest stock bars.

    A bar longer than the stock has as few laps as can be either way: whole bars and a short rest, or
    the last two alike. The way that buys less is taken.
    """
    made = []
    for least in (rule("rest_laps"), 2.0) if heap.runs else (2.0,):
        parts: Counter[float] = Counter()
        for run, count in heap.runs.items():
            for piece in pieces_of(run, heap.lap, stock, least=least):
                parts[_down(piece, step)] += count
        made.append(
            with_splices(
                heap.pieces + parts,
                lap=heap.lap,
                stock=stock,
                step=step,
                price=rule("splice_price"),
                whole=heap.pieces,
            )
        )
    price = rule("splice_price")
    return min(made, key=lambda m: round(m[1].cost + price * sum(s.count for s in m[2]), 6))


def _bent(slab: str, bar: Bar) -> BentBar | None:
    """Legs and turns of a bar that must be bent; a gentle curve counts into the leg that it is on."""
    angles = turns(bar.line)
    if not any(angle > BEND for angle in angles):
        return None
    legs, sharp, run = [], [], 0.0
    for i, (p, q) in enumerate(pairwise(bar.line)):
        run += math.dist(p, q)
        if i < len(angles) and angles[i] > BEND:
            legs.append(run)
            sharp.append(angles[i])
            run = 0.0
    return BentBar(slab, bar.number, (*legs, run), tuple(sharp))


def _too_short(slab: Slab, bar: Bar, lap: float, stock: float) -> Finding:
    return find(
        "build",
        "bar-stock-short",
        where=slab.spec.name,
        bar=f"#{bar.number}",
        length=Quantity("length", length_of(bar.line)),
        stock=Quantity("length", stock),
        lap=Quantity("inches", lap),
    )


def _list(
    key: tuple[str, str], heap: _Heap, stock: float, step: float, found: tuple[Finding, ...]
) -> BarList:
    kind, number = key
    pieces, plan, splices = _cutting(heap, stock, step)
    laps = heap.laps + sum(splice.count for splice in splices)
    total = math.fsum(length * count for length, count in pieces.items())
    cuts = tuple(CutBoard(f"#{number}", c.stock.length, "yard", c.pieces, c.left) for c in plan.cuts)
    return BarList(
        number=number,
        pieces=tuple(sorted(pieces.items(), reverse=True)),
        stock=((stock, len(cuts)),) if cuts else (),
        lap=heap.lap,
        mass=total * bar_size(number, gfrp=kind == "gfrp").mass,
        chairs=heap.chairs,
        ties=heap.ties + round(rule("ties_a_lap")) * laps,
        proved=plan.proved and not found,
        kind=kind,
        cuts=cuts,
        laps=laps,
        bent=tuple(heap.bent),
        splices=tuple((s.whole, s.first, s.second, s.count) for s in splices),
        findings=found + tuple(_spliced(number, splice) for splice in splices),
    )


def _spliced(number: str, splice: Splice) -> Finding:
    return find(
        "build",
        "bar-splices",
        bar=f"#{number}",
        count=splice.count,
        whole=Quantity("length", splice.whole),
        first=Quantity("length", splice.first),
        second=Quantity("length", splice.second),
    )


def _mesh(shaped: Shaped, step: float) -> list[BarList]:
    """Sheets of mesh by style: the parts as laid, cut from whole sheets across their length."""
    made: list[BarList] = []
    steels = [slab.steel for slab in shaped.slabs if slab.steel.choice == "mesh"]
    whole = rule("mesh_sheet_length")
    for style in sorted({steel.number for steel in steels}):
        same = [steel for steel in steels if steel.number == style]
        parts = Counter(_up(sheet.length, step, whole) for steel in same for sheet in steel.sheets)
        plan = cut(list(parts.items()), [Stock(whole, whole)], grain=step)
        cuts = tuple(CutBoard(style, c.stock.length, "yard", c.pieces, c.left) for c in plan.cuts)
        made.append(
            BarList(
                number=style,
                pieces=tuple(sorted(parts.items(), reverse=True)),
                stock=((whole, len(cuts)),) if cuts else (),
                lap=max(steel.lap for steel in same),
                mass=math.fsum(steel.mass for steel in same),
                chairs=sum(steel.chairs for steel in same),
                ties=sum(steel.ties for steel in same),
                proved=plan.proved,
                kind="mesh",
                cuts=cuts,
            )
        )
    return made


def _up(length: float, step: float, most: float) -> float:
    """A part of a sheet, rounded up to a step, for its lap must not be short."""
    return min(most, math.ceil(length / step - NEARLY) * step)


def _dowels(shaped: Shaped) -> list[BarList]:
    """Smooth dowels by diameter and length, bought ready cut."""
    counts: Counter[tuple[str, float]] = Counter()
    for slab in shaped.slabs:
        for row in slab.steel.dowels:
            if row.kind == "dowel":
                counts[row.number, row.length] += len(row.at)
    return [
        BarList(
            number=number,
            pieces=((length, count),),
            stock=((length, count),),
            lap=0.0,
            mass=count * length * smooth_mass(number),
            chairs=0,
            ties=0,
            proved=True,  # nothing is cut
            kind="dowel",
        )
        for (number, length), count in sorted(counts.items())
    ]
