"""The shopping list, shop by shop: boards, concrete, stone, steel, and what cures and joins."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise

from slabwright.build.form_tables import rule as form_rule
from slabwright.build.model import Ask, BarList, Dig, Forms, Material, Order
from slabwright.build.order import bags_ask
from slabwright.build.says import spoken
from slabwright.build.tables import rule, table
from slabwright.findings import Value
from slabwright.measure import POUND, Quantity, System, read
from slabwright.notes import Notes
from slabwright.slab.model import Shaped, Slab
from slabwright.slab.steel.dowels import eighths

JUST = 1e-9  # rounding in a quotient
EIGHTH = read("length", "1/8 in")
TON = read("mass", "1 ton")


def list_materials(
    shaped: Shaped, forms: Forms, bars: Sequence[BarList], dig: Dig | None, order: Order, notes: Notes
) -> tuple[Material, ...]:
    """Return what to get, by shop: the amount that the job needs [SI of its kind] and how it is bought.

    Boards from the crew's own pile are not listed. Texts are in English and the job's units; see
    `says.in_language` for others.
    """
    listing = _Listing(notes.units)
    return (
        *_lumber(listing, forms),
        *_earth(listing, dig, shaped, small=bool(order.bags)),
        *_steel(listing, bars),
        *_store(listing, shaped),
        *_epoxy(listing, shaped),
        *_rental(listing, dig, shaped),
        *_concrete(listing, order, shaped),
    )


class _Listing:
    """Writes lines in one system of units."""

    def __init__(self, system: System) -> None:
        self.system = system

    def line(self, shop: str, want: Ask, amount: Quantity, buy: Ask) -> Material:
        """Return one line; the asks name texts of says.toml."""
        said = (Ask(f"shop-{shop}"), want, buy)
        texts = [spoken(ask, "say", system=self.system) for ask in said]
        return Material(texts[0], texts[1], amount.kind, amount.si, texts[2], said)

    def cans(self, volume: float) -> Ask:
        """Return a volume [m3] as large and small cans, with the fewest small ones."""
        names = table("shop")["cans"][self.system.value]
        small, large = (read("volume", name) for name in names)
        many = math.floor(volume / large + JUST)
        few = math.ceil(max(0.0, volume - many * large) / small - JUST)
        if few > 2:  # a large can costs less than three small ones
            many, few = many + 1, 0
        if many and few:
            return Ask("buy-two", {"count": many, "each": names[1], "more": few, "small": names[0]})
        return _each(many, names[1]) if many else _each(max(1, few), names[0])


def _count(number: float) -> Quantity:
    return Quantity("count", float(number))


def _want(name: str, **values: Value) -> Ask:
    return Ask(f"want-{name}", values)


def _each(number: int, each: str | Quantity) -> Ask:
    return Ask("buy-each", {"count": number, "each": each})


def _pieces(number: int) -> Ask:
    return Ask("buy-pieces", {"count": number})


def _lumber(listing: _Listing, forms: Forms) -> Iterator[Material]:
    bought = Counter((b.size, round(b.stock, 4)) for b in forms.boards if b.origin == "yard")
    for (size, stock), count in sorted(bought.items()):
        want = _want("board", size=size, length=Quantity("length", stock))
        yield listing.line("yard", want, _count(count), _pieces(count))
    if forms.stakes:
        want = _want("stakes", length=Quantity("inches", forms.stake_length))
        yield listing.line("yard", want, _count(forms.stakes), _pieces(forms.stakes))
    if forms.nails:
        box = rule("shop", "nails_box", listing.system)
        need = forms.nails / rule("shop", "nails_lb") * POUND
        mass = Quantity("mass", math.ceil(need / box - JUST) * box)
        yield listing.line("yard", _want("nails"), _count(forms.nails), Ask("buy-weight", {"mass": mass}))
    if forms.release > 0:
        area = Quantity("area", forms.release * form_rule("release_coverage"))
        yield listing.line("yard", _want("release"), area, listing.cans(forms.release))


def _earth(listing: _Listing, dig: Dig | None, shaped: Shaped, *, small: bool) -> Iterator[Material]:
    if dig is None:
        return
    if dig.base_mass > 0:
        deep = max(slab.spec.base for slab in shaped.slabs)
        step = rule("shop", "base_step", listing.system)
        imperial = listing.system is System.IMPERIAL
        tons = math.ceil(dig.base_mass / step - JUST) * step / (TON if imperial else 1000.0)
        buy = Ask(
            "buy-tons" if imperial else "buy-tonnes",
            {"tons": f"{tons:g}", "loose": Quantity("volume", dig.base_loose)},
        )
        want = _want("base", base=Quantity("inches", deep))
        yield listing.line("quarry", want, Quantity("mass", dig.base_mass), buy)
    if dig.spoil_loose > 0:
        loose = Quantity("volume", dig.spoil_loose)
        if small:  # a job of a few bags fills no truck
            yield listing.line("spoil", _want("spoil-little"), loose, Ask("buy-by-hand"))
            return
        yield listing.line(
            "haul", _want("spoil"), loose, _each(dig.spoil_loads, Quantity("volume", dig.truck))
        )


def _steel(listing: _Listing, bars: Sequence[BarList]) -> Iterator[Material]:
    for lot in bars:
        for length, count in lot.stock:
            if count:
                number = eighths(lot.number) if lot.kind == "dowel" else lot.number
                want = _want(lot.kind, number=number, length=Quantity("length", length))
                buy = Ask("buy-steel", {"count": count, "mass": Quantity("mass", lot.mass)})
                yield listing.line("steel", want, _count(count), buy)
    chairs, ties = sum(lot.chairs for lot in bars), sum(lot.ties for lot in bars)
    if chairs:
        yield listing.line("steel", _want("chairs"), _count(chairs), _pieces(chairs))
    if ties:
        bag = round(rule("shop", "ties_bag"))
        buy = _each(math.ceil(ties / bag), str(bag))
        yield listing.line("steel", _want("ties"), _count(ties), buy)


def epoxy_volume(slabs: Sequence[Slab], system: System = System.IMPERIAL) -> float:
    """Return the epoxy [m3] that fills the gaps round all bars drilled in, waste included."""
    wider = rule("shop", "hole_wider", system)
    gaps = 0.0
    for slab in slabs:
        for row in slab.steel.dowels:
            bar = int(row.number) * EIGHTH
            gaps += math.pi / 4.0 * ((bar + wider) ** 2 - bar**2) * row.hole * len(row.at)
    return gaps * rule("shop", "epoxy_share")


def _epoxy(listing: _Listing, shaped: Shaped) -> Iterator[Material]:
    volume = epoxy_volume(shaped.slabs, listing.system)
    if volume > 0:
        each = table("shop")["epoxy"][listing.system.value]
        holes = sum(len(row.at) for slab in shaped.slabs for row in slab.steel.dowels if row.hole)
        want = _want("epoxy", holes=holes)
        buy = _each(math.ceil(volume / read("volume", each["holds"]) - JUST), each["name"])
        yield listing.line("store", want, Quantity("volume", volume), buy)


def curing_volume(area: float, finish: str) -> float:
    """Return the curing compound [m3] for an area [m2] of a finish (source curing-rate)."""
    return area / read("coverage", table("shop")["curing"][finish])


def isolation_lengths(slabs: Sequence[Slab]) -> dict[float, float]:
    """Return the length of isolation joints [m] by the depth of their filler [m]."""
    lengths: dict[float, float] = {}
    for slab in slabs:
        for joint in slab.joint_plan.joints:
            if joint.kind == "isolation":
                deep = round(slab.spec.thickness, 4)
                run = math.fsum(math.dist(p, q) for p, q in pairwise(joint.line))
                lengths[deep] = lengths.get(deep, 0.0) + run
    return lengths


def _store(listing: _Listing, shaped: Shaped) -> Iterator[Material]:
    area = math.fsum(slab.outline.area for slab in shaped.slabs)
    volume = math.fsum(curing_volume(slab.outline.area, slab.spec.finish) for slab in shaped.slabs)
    if area > 0:
        buy = listing.cans(volume)
        yield listing.line("store", _want("curing"), Quantity("area", area), buy)
    piece = rule("shop", "filler_piece", listing.system)
    for deep, run in sorted(isolation_lengths(shaped.slabs).items()):
        if run > 0:
            count = math.ceil(run / piece - JUST)
            buy = _each(count, Quantity("length", piece))
            want = _want("filler", deep=Quantity("inches", deep))
            yield listing.line("store", want, Quantity("length", run), buy)


def _rental(listing: _Listing, dig: Dig | None, shaped: Shaped) -> Iterator[Material]:
    if dig is not None and dig.base_volume + dig.fill > 0:
        yield listing.line("rental", _want("plate"), _count(1), Ask("buy-days"))
    if any(joint.made == "sawn" for slab in shaped.slabs for joint in slab.joint_plan.joints):
        yield listing.line("rental", _want("saw"), _count(1), Ask("buy-saw-day"))


def _concrete(listing: _Listing, order: Order, shaped: Shaped) -> Iterator[Material]:
    if order.bags:
        want = _want("bags", strength=Quantity("pressure", order.strength))
        yield listing.line("store", want, Quantity("volume", order.need), bags_ask(order.bags))
        return
    loads = tuple(Quantity("volume", load) for load in order.loads)
    want = _want("concrete", strength=Quantity("pressure", order.strength))
    yield listing.line("plant", want, Quantity("volume", order.order), Ask("buy-loads", {"loads": loads}))
    dose = max((slab.steel.dose for slab in shaped.slabs), default=0.0)
    if dose > 0:
        mass = Quantity("mass", dose * order.order)
        yield listing.line("plant", _want("fiber"), mass, Ask("buy-with-mix"))
