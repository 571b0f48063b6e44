"""The job file's readings as the survey's net."""

from __future__ import annotations

from collections.abc import Iterator

from slabwright.notes.models import Notes, line_of
from slabwright.notes.names import split_pair
from slabwright.survey.instruments import words_for
from slabwright.survey.net import (
    HeightDifference,
    Known,
    KnownHeight,
    Net,
    Pull,
    RightAngle,
    Rod,
    SquareOff,
    Straight,
)


def net_of(notes: Notes) -> Net:
    """Return the net of all readings in the job file; lengths in m, one record a reading."""
    corners = notes.house.walls if notes.house else (notes.baseline or ())
    first = (corners[0], corners[1]) if len(corners) >= 2 else None
    names = set(names_with_place(notes))
    rods = tuple(_rods(notes))
    return Net(
        frame=first,
        house=notes.house.walls if notes.house else (),
        pulls=tuple(
            Pull(
                p.from_,
                p.to,
                p.reads.si,
                sd=p.sd,
                instrument=_class(p.with_, "tape"),
                line=p.reads.line or line_of(p),
                written=p.reads.written,
            )
            for p in notes.tape
        ),
        square_offs=tuple(_square_offs(notes, names)),
        right_angles=tuple(
            RightAngle(r.at, r.between[0], r.between[1], line=line_of(r)) for r in notes.right_angles
        ),
        straights=tuple(Straight(line) for line in notes.straight_lines if len(line) >= 3),
        knowns=tuple(Known(name, x, y) for name, (x, y) in notes.points.items()),
        rods=rods,
        known_heights=tuple(KnownHeight(name, height) for name, height in notes.heights.items()),
        height_differences=tuple(
            HeightDifference(
                w.from_, w.to, w.up.si, sd=w.sd, line=w.up.line or line_of(w), written=w.up.written
            )
            for w in notes.water_levels
        ),
        datum=notes.datum or _first_sill(notes, rods),
        matter=frozenset(_points_of_the_work(notes)),
    )


def _first_sill(notes: Notes, rods: tuple[Rod, ...]) -> str:
    """Return the first sill that was shot, which sheets count heights from where the notes name no datum."""
    shot = {rod.point for rod in rods} | {end for w in notes.water_levels for end in (w.from_, w.to)}
    doors = notes.house.doors if notes.house else ()
    return next((door.sill for door in doors if door.sill and door.sill in shot), "")


def _points_of_the_work(notes: Notes) -> Iterator[str]:
    """Yield the names that a slab's place or height hangs on; ground shots are not among them."""
    for slab in notes.slabs:
        for vertex in (*slab.corners, *slab.along):
            yield from (
                (vertex,) if isinstance(vertex, str) else filter(None, (vertex.point, vertex.arc_through))
            )
        for fix in slab.heights:
            yield from filter(None, (fix.at, fix.below, fix.above))
        met = {m.existing for m in slab.meets}
        for there in notes.existing:
            if there.name in met:
                yield from (*there.corners, *there.edge)
        for opening in slab.openings:
            yield from (*filter(None, (opening.at,)), *opening.corners)
    if notes.house:
        yield from notes.house.walls
        yield from (door.sill for door in notes.house.doors if door.sill)


def names_with_place(notes: Notes) -> tuple[str, ...]:
    """Return every name that a tape, a square-off or given coordinates place, in order of first use."""
    seen: dict[str, None] = dict.fromkeys(notes.house.walls if notes.house else notes.baseline or ())
    seen.update(dict.fromkeys(notes.points))
    for pull in notes.tape:
        seen.update({pull.from_: None, pull.to: None})
    seen.update(dict.fromkeys(off.point for off in notes.square_off))
    for line in notes.straight_lines:
        seen.update(dict.fromkeys(line))
    return tuple(seen)


def _class(written: str | None, use: str) -> str:
    """Return the instrument class; a word that is not known is passed on as it is, for a finding."""
    if written is None:
        return ""
    word = " ".join(written.split()).lower()
    return words_for(use).get(word, word)


def _square_offs(notes: Notes, names: set[str]) -> list[SquareOff]:
    made = []
    for off in notes.square_off:
        ends = split_pair(off.wall, names)
        if ends is None:  # the reader has refused such a job file already
            raise ValueError(f"{off.wall!r} is no line between two known points")
        made.append(
            SquareOff(
                off.point,
                ends[0],
                ends[1],
                off.along.si,
                off.out.si,
                sd=off.sd,
                instrument=_class(off.with_, "tape"),
                line=line_of(off) or off.along.line,
                written=off.along.written,
                written_out=off.out.written,
            )
        )
    return made


def _rods(notes: Notes) -> list[Rod]:
    """Rod readings; a level string is a set-up whose readings are measured down from it."""
    made = [
        Rod(
            s.set_up,
            point,
            reading.si,
            sd=s.sd,
            instrument=_class(s.with_, "level"),
            line=reading.line,
            written=reading.written,
        )
        for s in notes.levels
        for point, reading in s.rod.items()
    ]
    made += [
        Rod(
            s.string,
            point,
            reading.si,
            sd=s.sd,
            instrument="string and line level",
            where=f"string {s.string} down to {point}",
            line=reading.line,
            written=reading.written,
        )
        for s in notes.string_lines
        for point, reading in s.down.items()
    ]
    return made
