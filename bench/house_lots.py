"""Simulated house lots: nets of tape and rod as a crew would take them, clean or with one slip.

Everything comes from a seed. Readings carry the noise that their instrument class states and are
rounded to a sixteenth of an inch (rods to an eighth), and written as a crew writes them.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace

from slabwright.survey import net as records
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
    by: float = 0.0


def _house(rng: random.Random) -> dict[str, tuple[float, float]]:
    w, d = rng.uniform(30, 60) * FT, rng.uniform(22, 40) * FT
    if rng.random() < 0.6:
        ring = [(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)]
    else:
        cut, back = rng.uniform(0.35, 0.65) * w, rng.uniform(0.3, 0.6) * d
        ring = [(0.0, 0.0), (w, 0.0), (w, d), (cut, d), (cut, d - back), (0.0, d - back)]
    return dict(zip("ABCDEF", ring, strict=False))


def _pull_pairs(rng: random.Random, corners: list[str], pegs: list[str]) -> list[tuple[str, str]]:
    pairs = list(zip(corners, corners[1:] + corners[:1], strict=True))
    pairs += [(corners[0], corners[2]), (corners[1], corners[-1])]
    if len(corners) == 6:
        pairs += [("B", "D"), ("B", "E")]
    for k, peg in enumerate(pegs):
        anchors = sorted(corners[:2] + pegs[max(k - 2, 0) : k], key=lambda _: rng.random())
        pairs += [(anchor, peg) for anchor in anchors[: rng.choice((3, 3, 4))]]
        pairs += [(a, peg) for a in corners[:2] if (a, peg) not in pairs and rng.random() < 0.7]
    return list(dict.fromkeys(pairs))


def house_lot(seed: int, pegs: int = 0) -> Lot:
    """Return one clean lot: a house, pegs in the yard, pulls, square-offs, two set-ups or three.

    pegs: how many (0: four to nine, drawn).
    """
    rng = random.Random(seed)
    xy = _house(rng)
    corners = list(xy)
    width = xy["B"][0]
    names = [f"P{k + 1}" for k in range(pegs or rng.randint(4, 9))]
    for k, peg in enumerate(names):
        x = (k + rng.uniform(0.2, 0.8)) / len(names) * width * 1.3 - 0.15 * width
        xy[peg] = (x, -rng.uniform(6, 28) * FT)
    heights = {name: rng.uniform(-1.0, 0.3) for name in xy} | {"sill": 0.5}

    empty = records.Net()
    pulls = []
    for a, b in _pull_pairs(rng, corners, names):
        true = math.dist(xy[a], xy[b])
        text, value = feet_text(true + rng.gauss(0.0, class_of(empty, records.Pull(a, b, true)).sd(true)))
        pulls.append(records.Pull(a, b, value, written=text))
    squares = []
    for peg in rng.sample(names, max(1, len(names) // 3)):
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
        for name in ["sill", *names, *corners[:2]]:
            if s < 2 or rng.random() < 0.5:
                text, value = feet_text(sight - heights[name] + rng.gauss(0.0, 0.0023), 16)
                rods.append(records.Rod(f"S{s + 1}", name, value, written=text))
    a, b = rng.sample(names, 2)
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


def _digits_swapped(feet: int, inch: int, num: int) -> list[tuple[int, int, int]]:
    """Return what a person writes who swaps two digits, or feet and inches."""
    found = []
    if feet > 9:
        found.append((int(str(feet)[::-1]) if feet < 100 else feet, inch, num))
    if 0 < feet < 12 and inch > 0:
        found.append((inch, feet, num))
    if inch == 10:
        found.append((feet, 1, num))
    return [row for row in found if row != (feet, inch, num)]


def slips_of(part: str, value: float, wall: float, rng: random.Random) -> list[tuple[str, float, float]]:
    """Return the slips that could happen to a reading, as (kind, what gets written [m], how usual).

    Written from what crews tell, apart from the tool's own table of slips; 'any' has no pattern.
    """
    n = round(abs(value) / INCH * 16)
    (feet, rest), sign = divmod(n, 192), math.copysign(1.0, value)
    inch, num = divmod(rest, 16)
    found = [("foot", value + step * FT, 3.0) for step in (1, -1)]
    found += [("inch", value + step * INCH, 2.0) for step in (1, -1)]
    found += [("six inches", value + step * INCH, 0.5) for step in (6, -6)]
    swapped = _digits_swapped(feet, inch, num)
    found += [("swapped", sign * (f * FT + (i + m / 16) * INCH), 1.5 / len(swapped)) for f, i, m in swapped]
    if num % 8:
        found.append(("fraction", sign * (feet * FT + (inch + 1 - num / 16) * INCH), 0.8))
    found.append(("any", value + rng.choice((-1, 1)) * rng.uniform(0.05, 1.0), 0.4))
    if part in ("pull", "along", "out"):
        found += [("ten feet", value + step * FT, 0.3) for step in (10, -10)]
        found.append(("hooked at 1 ft", value + FT, 1.0))
    if part == "out":
        found.append(("side", -value, 1.5))
    if part == "along":
        found.append(("other corner", wall - value, 1.0))
    if part == "rod":
        found.append(("upside down", 2.0 * (round(value / FT)) * FT - value, 0.8))
        found.append(("tenth", value + rng.choice((-0.1, 0.1)) * FT, 0.5))
    if part == "difference":
        found.append(("wrong way", -value, 2.0))
    return [row for row in found if part in ("along", "out", "difference") or row[1] > 0.1]


def with_slip(lot: Lot, seed: int, detectable: dict[tuple[str, str], float]) -> Lot | None:
    """Return the lot with one slip above its reading's detectable size.

    A reading is drawn first, then a slip among those that could happen to it, by how usual they
    are; None when the net can see none of them in this reading. detectable: (reading, part) -> [m].
    """
    rng = random.Random(seed)
    net = lot.net
    kinds = ("pulls", "square_offs", "rods", "height_differences")
    kind, k = rng.choice([(kind, k) for kind in kinds for k in range(len(getattr(net, kind)))])
    reading = getattr(net, kind)[k]
    part = {"pulls": "pull", "rods": "rod", "height_differences": "difference"}.get(kind, "")
    part = part or rng.choice(("along", "out"))
    value = reading.numbers()[1 if part == "out" else 0]
    least = detectable[reading.name, part]
    wrong = [row for row in slips_of(part, value, lot.xy["B"][0], rng) if abs(row[1] - value) > least]
    if not wrong:
        return None
    slip = rng.choices(wrong, [row[2] for row in wrong])[0]
    text, now = feet_text(slip[1])
    fields = {
        "pull": {"length": now, "written": text},
        "along": {"along": now, "written": text},
        "out": {"out": now, "written_out": text},
        "rod": {"reading": now, "written": text},
        "difference": {"up": now, "written": text},
    }[part]
    rows = list(getattr(net, kind))
    rows[k] = replace(reading, **fields)
    changed = replace(net, **{kind: tuple(rows)})
    return replace(lot, net=changed, slip=(reading.name, part, slip[0]), by=now - value)


def tract(lots: int, seed: int = 0) -> Lot:
    """Return a tract of lots in rows, each tied to its neighbours: about 26 readings a lot.

    Every lot has four control nails; pulls within the lot and to the nails of the next lot and of
    the next row; one set-up reads the nails of a lot and two of the next one.
    """
    rng = random.Random(seed)
    empty = records.Net()
    wide = max(1, round(math.sqrt(lots)))
    xy: dict[str, tuple[float, float]] = {}
    for n in range(lots):
        row, col = divmod(n, wide)
        for k, (dx, dy) in enumerate(((2, 3), (16, 3), (16, 24), (2, 24))):
            x = 20.0 * col + dx + rng.uniform(-1, 1)
            xy[f"N{n}.{k}"] = (x, 30.0 * row + dy + rng.uniform(-1, 1))
    ax, ay = xy["N0.0"]
    bx, by = xy["N0.1"]
    turn = -math.atan2(by - ay, bx - ax)
    c, s = math.cos(turn), math.sin(turn)
    xy = {n: (c * (x - ax) - s * (y - ay), s * (x - ax) + c * (y - ay)) for n, (x, y) in xy.items()}
    heights = {name: rng.uniform(-1.0, 1.0) for name in xy}
    pairs: list[tuple[str, str]] = []
    rods: list[records.Rod] = []
    for n in range(lots):
        here = [f"N{n}.{k}" for k in range(4)]
        pairs += [(here[a], here[b]) for a in range(4) for b in range(a)]
        seen = list(here)
        if (n + 1) % wide and n + 1 < lots:
            right = [f"N{n + 1}.{k}" for k in range(4)]
            pairs += [(here[1], right[0]), (here[2], right[3]), (here[1], right[3]), (here[2], right[0])]
            pairs += [(here[0], right[0]), (here[3], right[3])]
            seen += [right[0], right[3]]
        if n + wide < lots:
            up = [f"N{n + wide}.{k}" for k in range(4)]
            pairs += [(here[3], up[0]), (here[2], up[1]), (here[3], up[1]), (here[2], up[0])]
            pairs += [(here[0], up[0]), (here[1], up[1])]
            seen += [up[0], up[1]]
        sight = rng.uniform(1.2, 1.8)
        for name in seen:
            noise = rng.gauss(0.0, 0.0023)
            rods.append(records.Rod(f"S{n}", name, 1.5 + sight - heights[name] + noise))
    pulls = []
    for a, b in rng.sample(pairs, len(pairs)):
        true = math.dist(xy[a], xy[b])
        noise = rng.gauss(0.0, class_of(empty, records.Pull(a, b, true)).sd(true))
        pulls.append(records.Pull(a, b, true + noise))
    known = (records.KnownHeight("N0.0", heights["N0.0"]),)
    net = records.Net(
        frame=("N0.0", "N0.1"),
        pulls=tuple(pulls),
        sides=(records.Side("N0.3", "N0.0", "N0.1", "left"),),
        rods=tuple(rods),
        known_heights=known,
    )
    return Lot(net, xy, heights)
