"""Simulated house lots: nets of tape and rod as a crew would take them, clean or with one slip.

Everything comes from a seed. Readings carry the noise that their instrument class states and are
rounded to a sixteenth of an inch (rods to an eighth), and written as a crew writes them.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

from slabwright.survey import net as records
from slabwright.survey.misreads import meanings
from slabwright.survey.rows import class_of

FT, INCH = 0.3048, 0.0254


def feet_text(value: float, parts: int = 16) -> tuple[str, float]:
    """Return a length [m] as written to 1/parts in, and the value [m] so written."""
    n = round(abs(value) / INCH * parts)
    feet, rest = divmod(n, 12 * parts)
    inch, num = divmod(rest, parts)
    den = parts
    while num and num % 2 == 0:
        num, den = num // 2, den // 2
    text = f"{'-' if value < 0 else ''}{feet}' {inch}" + (f" {num}/{den}" if num else "") + '"'
    return text, math.copysign(n / parts * INCH, value)


@dataclass(frozen=True)
class Lot:
    """A net with the truth about it: slip = (reading's name, part, kind) or None."""

    net: records.Net
    xy: dict[str, tuple[float, float]]
    heights: dict[str, float]
    slip: tuple[str, str, str] | None = None


def _house(rng: random.Random) -> dict[str, tuple[float, float]]:
    w, d = rng.uniform(30, 60) * FT, rng.uniform(22, 40) * FT
    if rng.random() < 0.6:
        ring = [(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)]
    else:
        cut, back = rng.uniform(0.35, 0.65) * w, rng.uniform(0.3, 0.6) * d
        ring = [(0.0, 0.0), (w, 0.0), (w, d), (cut, d), (cut, d - back), (0.0, d - back)]
    return dict(zip("ABCDEF", ring, strict=False))


def _pull_pairs(rng: random.Random, corners: list[str], pegs: list[str], xy: dict) -> list[tuple[str, str]]:
    pairs = list(zip(corners, corners[1:] + corners[:1], strict=True))
    pairs += [(corners[0], corners[2]), (corners[1], corners[-1])]
    if len(corners) == 6:
        pairs += [("B", "D"), ("A", "E") if False else ("B", "E")]
    for k, peg in enumerate(pegs):
        anchors = sorted(corners[:2] + pegs[max(k - 2, 0) : k], key=lambda a: rng.random())
        pairs += [(anchor, peg) for anchor in anchors[: rng.choice((3, 3, 4))]]
        pairs += [(a, peg) for a in corners[:2] if (a, peg) not in pairs and rng.random() < 0.7]
    return list(dict.fromkeys(pairs))


def house_lot(seed: int) -> Lot:
    """Return one clean lot: a house, 4 to 9 pegs in the yard, pulls, square-offs, two set-ups or three."""
    rng = random.Random(seed)
    xy = _house(rng)
    corners = list(xy)
    width = xy["B"][0]
    pegs = [f"P{k + 1}" for k in range(rng.randint(4, 9))]
    for k, peg in enumerate(pegs):
        x = (k + rng.uniform(0.2, 0.8)) / len(pegs) * width * 1.3 - 0.15 * width
        xy[peg] = (x, -rng.uniform(6, 28) * FT)
    heights = {name: rng.uniform(-1.0, 0.3) for name in xy} | {"sill": 0.5}

    def noisy(reading: records.Reading, value: float, sd: float, parts: int) -> tuple[str, float]:
        return feet_text(value + rng.gauss(0.0, sd), parts)

    empty = records.Net()
    pulls = []
    for a, b in _pull_pairs(rng, corners, pegs, xy):
        true = math.dist(xy[a], xy[b])
        text, value = feet_text(true + rng.gauss(0.0, class_of(empty, records.Pull(a, b, true)).sd(true)))
        pulls.append(records.Pull(a, b, value, written=text))
    squares = []
    for peg in rng.sample(pegs, max(1, len(pegs) // 3)):
        tool = class_of(empty, records.SquareOff(peg, "A", "B", 0.0, 0.0))
        x, y = xy[peg]
        along = feet_text(x + rng.gauss(0.0, math.hypot(tool.sd(x), tool.swing * y)))
        out = feet_text(-y + rng.gauss(0.0, tool.sd(y)))
        squares.append(
            records.SquareOff(peg, "A", "B", along[1], out[1], written=along[0], written_out=out[0])
        )
    rods = []
    for s in range(rng.choice((2, 2, 3))):
        sight = 1.6 + rng.uniform(-0.2, 0.4)
        for name in ["sill", *pegs, *corners[:2]]:
            if s < 2 or rng.random() < 0.5:
                text, value = feet_text(sight - heights[name] + rng.gauss(0.0, 0.0023), 16)
                rods.append(records.Rod(f"S{s + 1}", name, value, written=text))
    a, b = rng.sample(pegs, 2)
    text, value = feet_text(heights[b] - heights[a] + rng.gauss(0.0, 0.003))
    water = records.HeightDifference(a, b, value, written=text)
    net = records.Net(
        frame=("A", "B"),
        house=tuple(corners),
        pulls=tuple(rng.sample(pulls, len(pulls))),
        square_offs=tuple(squares),
        rods=tuple(rods),
        known_heights=(records.KnownHeight("sill", heights["sill"]),),
        height_differences=(water,),
    )
    return Lot(net, xy, heights)


def with_slip(lot: Lot, seed: int, detectable: dict[tuple[str, str], float]) -> Lot | None:
    """Return the lot with one slip of a trade kind above its reading's detectable size.

    A reading is drawn first, then a slip among those that could happen to it, by how usual they
    are; None when the net can see none of them in this reading. detectable: (reading, part) -> [m].
    """
    rng = random.Random(seed)
    net = lot.net
    kinds = ("pulls", "square_offs", "rods", "height_differences")
    places = [(kind, k) for kind in kinds for k in range(len(getattr(net, kind)))]
    kind, k = rng.choice(places)
    reading = getattr(net, kind)[k]
    part = {"pulls": "pull", "rods": "rod", "height_differences": "difference"}.get(kind, "")
    part = part or rng.choice(("along", "out"))
    value = reading.numbers()[1 if part == "out" else 0]
    text = reading.written_out if part == "out" else reading.written
    width = lot.xy["B"][0]
    # What it may have been read from is, seen the other way, what it may be misread as.
    wrong = [m for m in meanings(part, text, value, width) if abs(m.value - value) > detectable[reading.name, part]]
    if not wrong:
        return None
    slip = rng.choices(wrong, [m.share for m in wrong])[0]
    new_text, new_value = feet_text(slip.value)
    fields = {
        "pull": {"length": new_value, "written": new_text},
        "along": {"along": new_value, "written": new_text},
        "out": {"out": new_value, "written_out": new_text},
        "rod": {"reading": new_value, "written": new_text},
        "difference": {"up": new_value, "written": new_text},
    }[part]
    rows = list(getattr(net, kind))
    rows[k] = replace(reading, **fields)
    return replace(lot, net=replace(net, **{kind: tuple(rows)}), slip=(reading.name, part, slip.kind))
