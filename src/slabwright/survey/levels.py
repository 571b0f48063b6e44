"""Heights: rod readings, height differences and given heights as one linear net.

Unknown are the height of every point and the height of the line of sight of every set-up. What
hangs together with a given height (or with the datum) is determined; nothing else is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.survey.fronts import Fronts
from slabwright.survey.net import HeightDifference, KnownHeight, Net, Reading, Rod
from slabwright.survey.rows import Tag, class_of
from slabwright.survey.solve import Problem

Floats = NDArray[np.float64]

Node = tuple[str, str]  # ('point' | 'set-up', name)


@dataclass(frozen=True, slots=True)
class LevelNet:
    """The height net as equations: nodes by column, rows by tag, heights held fixed, what is loose.

    loose: groups of points that hang together but on no given height.
    """

    problem: Problem
    nodes: tuple[Node, ...]
    tags: tuple[Tag, ...]
    fixed: dict[str, float]
    loose: tuple[tuple[str, ...], ...]
    datum: str


def _ends(reading: Rod | HeightDifference) -> tuple[Node, Node]:
    """Return (lower, upper): the reading is upper less lower."""
    if isinstance(reading, Rod):
        return ("point", reading.point), ("set-up", reading.set_up)
    return ("point", reading.a), ("point", reading.b)


def level_net(net: Net) -> LevelNet | None:
    """Return the height net of all readings that hang on the datum, or None without any height."""
    readings: list[Rod | HeightDifference] = [*net.rods, *net.height_differences]
    if not readings and not net.known_heights:
        return None
    fixed: dict[str, float] = {}
    for known in net.known_heights:
        if known.sd is None:
            fixed.setdefault(known.point, known.height)
    soft = [known for known in net.known_heights if known.sd is not None]
    datum = _datum(net, readings)
    if datum and not net.known_heights:
        fixed[datum] = 0.0
    seeds = [("point", name) for name in fixed] + [("point", known.point) for known in soft]
    reached, loose = _hang_together(readings, seeds)
    nodes = tuple(node for node in reached if node not in {("point", name) for name in fixed})
    return _equations(net, readings, soft, nodes, fixed, loose, datum)


def _datum(net: Net, readings: list[Rod | HeightDifference]) -> str:
    """Return the point of height 0: the one named, else the first one read."""
    if net.known_heights:
        return net.known_heights[0].point
    named = {name for reading in readings for name in reading.points()}
    if net.datum in named:
        return net.datum
    return readings[0].points()[0] if readings else ""


def _hang_together(
    readings: list[Rod | HeightDifference], seeds: list[Node]
) -> tuple[list[Node], tuple[tuple[str, ...], ...]]:
    """Return the nodes that hang on the seeds, and the groups of points that hang on none."""
    beside: dict[Node, list[Node]] = {node: [] for node in seeds}
    for reading in readings:
        low, high = _ends(reading)
        beside.setdefault(low, []).append(high)
        beside.setdefault(high, []).append(low)
    seen: set[Node] = set()

    def spread(heads: list[Node]) -> list[Node]:
        found = [node for node in dict.fromkeys(heads) if node not in seen]
        seen.update(found)
        for node in found:
            for other in beside[node]:
                if other not in seen:
                    seen.add(other)
                    found.append(other)
        return found

    reached = spread(seeds)
    groups = [spread([node]) for node in beside if node not in seen]
    names = (tuple(name for kind, name in group if kind == "point") for group in groups)
    return reached, tuple(group for group in names if group)


def _equations(
    net: Net,
    readings: list[Rod | HeightDifference],
    soft: list[KnownHeight],
    nodes: tuple[Node, ...],
    fixed: dict[str, float],
    loose: tuple[tuple[str, ...], ...],
    datum: str,
) -> LevelNet:
    column = {node: k for k, node in enumerate(nodes)}
    tags: list[Tag] = []
    cols: list[tuple[int, int]] = []
    const: list[float] = []
    value: list[float] = []
    sd: list[float] = []
    for reading in readings:
        low, high = _ends(reading)
        held = [fixed.get(node[1]) if node[0] == "point" else None for node in (low, high)]
        if any(node not in column and h is None for node, h in zip((low, high), held, strict=True)):
            continue
        tags.append(Tag(reading, "rod" if isinstance(reading, Rod) else "difference", reading.written))
        cols.append((column.get(low, -1), column.get(high, -1)))
        const.append((held[1] or 0.0) - (held[0] or 0.0))
        value.append(reading.numbers()[0])
        sd.append(_sd(net, reading))
    for known in soft:
        if known.sd is not None and ("point", known.point) in column:
            tags.append(Tag(known, "height", known.written))
            cols.append((-1, column["point", known.point]))
            const.append(0.0)
            value.append(known.height)
            sd.append(known.sd)
    grid = np.array(cols, dtype=np.int64).reshape(-1, 2)
    coef = np.where(grid < 0, 0.0, np.array([-1.0, 1.0]))
    base = np.array(const)

    def predict(x: Floats) -> tuple[Floats, Floats]:
        padded = np.append(x, 0.0)
        return base + (coef * padded[grid]).sum(axis=1), coef

    problem = Problem(
        predict=predict,
        cols=grid,
        value=np.array(value),
        sd=np.array(sd),
        use=np.ones(len(tags), dtype=np.bool_),
        fronts=Fronts(grid, len(nodes)),
        start=np.zeros(len(nodes)),
    )
    return LevelNet(problem, nodes, tuple(tags), fixed, loose, datum)


def _sd(net: Net, reading: Reading) -> float:
    """Return the sd [m] of a height reading."""
    if reading.sd is not None:
        return reading.sd
    return class_of(net, reading).sd()
