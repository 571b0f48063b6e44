"""Readings that cannot be right by themselves are set apart by name; the rest of the net goes on."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from slabwright.findings import Finding, Value, find
from slabwright.measure import Quantity
from slabwright.survey.instruments import classes_for, instruments
from slabwright.survey.net import Known, KnownHeight, Net, Pull, Reading, Rod, Side, Straight

ROOM = "survey"
LISTED = 4  # readings that a finding names before it says '…'
ROD_LENGTH = 7.7  # [m] the longest builder's rod, 25 ft; common practice

KINDS = (
    "pulls",
    "square_offs",
    "right_angles",
    "straights",
    "knowns",
    "sides",
    "rods",
    "known_heights",
    "height_differences",
)


def length(si: float) -> Quantity:
    """Return a tape or rod length [m] as it is shown: feet, inches and sixteenths, or metres."""
    return Quantity("fine_length", si)


def vet(net: Net) -> tuple[Net, tuple[Finding, ...]]:
    """Return the net without the readings that cannot be used, and a finding for each of them."""
    findings: list[Finding] = []
    kept: dict[str, tuple[Reading, ...]] = {}
    strange: list[Reading] = []
    for kind in KINDS:
        good: list[Reading] = []
        for reading in getattr(net, kind):
            bad = next(_faults(net, reading), None)
            if bad is not None and bad[0] == "instrument-unknown":
                strange.append(reading)
                reading, bad = replace(reading, instrument=""), None
            if bad is None or bad[0] in HARMLESS:
                good.append(reading)
            if bad is not None:
                findings.append(find(ROOM, bad[0], where=reading.name, line=reading.line, **bad[1]))
        kept[kind] = tuple(good)
    findings += _unknown_tools(net, strange)
    clean = replace(net, **kept)  # type: ignore[arg-type]
    for check in (_given_twice, _look_alikes):
        clean, more = check(clean)
        findings += more
    if net.frame and net.frame[0] == net.frame[1]:
        findings.append(find(ROOM, "frame-one-point", where=net.frame[0], point=net.frame[0]))
        clean = replace(clean, frame=None)
    return clean, tuple(findings)


HARMLESS = frozenset({"rod-long"})


def _plain(net: Net, reading: Reading) -> bool:
    """Return whether a pull or a rod is beyond doubt: nearly all are, and nets may be large."""
    if type(reading) is Pull:
        good = 0.0 < reading.length < math.inf and reading.a != reading.b
        good = good and bool(reading.a.strip() and reading.b.strip())
    elif type(reading) is Rod:
        good = 0.0 < reading.reading <= ROD_LENGTH and bool(reading.point.strip())
    else:
        return False
    known = _tool_known(net, reading)
    return good and known and (reading.sd is None or 0.0 < reading.sd < math.inf)


Fault = tuple[str, dict[str, Value]]


def _faults(net: Net, reading: Reading) -> Iterator[Fault]:
    """Yield what is wrong with one reading, the gravest first, as (code, values)."""
    if _plain(net, reading):
        return
    name: dict[str, Value] = {"reading": reading.name}
    if not all(math.isfinite(x) for x in reading.numbers()):
        yield "reading-not-a-number", name
        return
    if reading.sd is not None and not (reading.sd > 0.0 and math.isfinite(reading.sd)):
        yield "sd-not-positive", {**name, "sd": str(reading.sd)}
    points = reading.points()
    if any(not point.strip() for point in points):
        yield "point-without-name", name
    if isinstance(reading, Straight) and len(points) < 3:
        yield "line-of-two", name
    twice = next((p for k, p in enumerate(points) if p in points[:k]), None)
    if twice is not None:
        yield "same-point-twice", {**name, "point": twice}
    if isinstance(reading, Pull) and reading.length <= 0.0:
        yield "pull-not-positive", {**name, "written": length(reading.length)}
    if isinstance(reading, Rod) and reading.reading <= 0.0:
        yield "rod-underground", {**name, "written": length(reading.reading), "point": reading.point}
    if isinstance(reading, Rod) and reading.reading > ROD_LENGTH:
        yield "rod-long", {**name, "written": length(reading.reading), "longest": length(ROD_LENGTH)}
    if not _tool_known(net, reading):
        yield "instrument-unknown", name


def _tool_known(net: Net, reading: Reading) -> bool:
    """Return whether the instrument of a reading is one that can have taken it."""
    tool = reading.instrument
    if not tool or tool in net.classes or isinstance(reading, Side | Known | KnownHeight):
        return True
    return tool in classes_for(reading.instrument_use())


def _unknown_tools(net: Net, readings: list[Reading]) -> list[Finding]:
    """Return one finding for every unknown instrument, however many readings it took."""
    by_tool: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings:
        by_tool.setdefault((reading.instrument, reading.instrument_use()), []).append(reading)
    found: list[Finding] = []
    for (tool, use), some in by_tool.items():
        usual = [
            kind.words[0] if kind.words else name for name, kind in instruments().items() if kind.use == use
        ]
        names = ", ".join(reading.name for reading in some[:LISTED]) + (", …" if len(some) > LISTED else "")
        found.append(
            find(
                ROOM,
                "instrument-unknown",
                where=some[0].name,
                line=some[0].line,
                readings=names,
                tool=tool,
                known=", ".join([*usual, *net.classes]),
            )
        )
    return found


def _given_twice(net: Net) -> tuple[Net, list[Finding]]:
    """Drop a second given place or height of a point that is held fixed already."""
    findings: list[Finding] = []

    def once(readings: tuple[Known, ...] | tuple[KnownHeight, ...], code: str) -> list[Reading]:
        kept: dict[str, Reading] = {}
        good: list[Reading] = []
        for reading in readings:
            if reading.sd is None and reading.point in kept:
                first = kept[reading.point]
                if first.numbers() != reading.numbers():
                    values: dict[str, Value] = {"point": reading.point, "first": str(first.line or "-")}
                    findings.append(find(ROOM, code, where=reading.name, line=reading.line, **values))
                continue
            if reading.sd is None:
                kept[reading.point] = reading
            good.append(reading)
        return good

    knowns = once(net.knowns, "place-given-twice")
    heights = once(net.known_heights, "height-given-twice")
    clean = replace(net, knowns=tuple(knowns), known_heights=tuple(heights))  # type: ignore[arg-type]
    return clean, findings


def _look_alikes(net: Net) -> tuple[Net, list[Finding]]:
    """Point out names that differ only by capitals or spaces: they count as two points."""
    where: dict[str, Reading] = {}
    for kind in KINDS:
        for reading in getattr(net, kind):
            for name in reading.points():
                if name not in where:
                    where[name] = reading
    seen: dict[str, str] = {}
    findings: list[Finding] = []
    for name, reading in where.items():
        first = seen.setdefault("".join(name.split()).casefold(), name)
        if first != name:
            findings.append(find(ROOM, "names-alike", where=reading.name, line=reading.line, a=first, b=name))
    return net, findings
