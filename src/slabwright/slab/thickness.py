"""Is the slab thick enough for what rolls over it: a simple published check of wheel loads.

Westergaard's three places of a wheel on a slab on ground, beside the concrete's bending strength.
Not a pavement design: no temperature, no curling, no dual wheels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.findings import Finding, Value, find
from slabwright.measure import GRAVITY, INCH, POUND_FORCE, PSI, Quantity, read
from slabwright.notes.spec import SlabSpec
from slabwright.tables import table

POISSON = 0.15  # source westergaard
PCI = POUND_FORCE / INCH**3  # [Pa/m] a pound per cubic inch


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel: name, load [N], tyre pressure [Pa]."""

    name: str
    load: float
    tyre: float


@dataclass(frozen=True, slots=True)
class Stresses:
    """Bending stress [Pa] under a wheel inside the slab, at a free corner and at a free edge."""

    stiffness: float  # radius of relative stiffness [m]
    interior: float
    corner: float
    edge: float


def _table() -> dict[str, dict[str, str]]:
    return table("slab", "wheels")


def wheel_of(use: str) -> Wheel | None:
    """Return the wheel that a use is checked for, None where no wheels are expected."""
    row = _table()["wheels"].get(use)
    if row is None:
        return None
    wheel = _table()[str(row)]
    return Wheel(str(row), float(wheel["load_lb"]) * POUND_FORCE, read("pressure", wheel["tyre"]))


def subgrade(soil: str) -> float:
    """Return the modulus of subgrade reaction k [Pa/m] taken for a soil (source aci-330-subgrade)."""
    return float(_table()["subgrade_pci"][soil]) * PCI


def stiffness_radius(modulus: float, thickness: float, k: float) -> float:
    """Return the radius of relative stiffness [m]: E [Pa], thickness [m], k [Pa/m] (westergaard)."""
    return float((modulus * thickness**3 / (12.0 * (1.0 - POISSON**2) * k)) ** 0.25)


def wheel_stresses(load: float, radius: float, thickness: float, k: float, modulus: float) -> Stresses:
    """Return the stresses under a wheel of load [N] on a circle of `radius` [m].

    thickness [m]; k [Pa/m]; modulus of the concrete [Pa]. Source westergaard: interior; corner;
    edge in the circular form of 1948. The coefficients hold for Poisson's ratio 0.15.
    """
    if min(load, radius, thickness, k, modulus) <= 0:
        raise ValueError("load, radius, thickness, k and modulus must all be above zero")
    stiff = stiffness_radius(modulus, thickness, k)
    reach = radius
    if radius < 1.724 * thickness:
        reach = math.sqrt(1.6 * radius**2 + thickness**2) - 0.675 * thickness
    unit = load / thickness**2
    return Stresses(
        stiffness=stiff,
        interior=0.316 * unit * (4.0 * math.log10(stiff / reach) + 1.069),
        corner=3.0 * unit * (1.0 - (radius * math.sqrt(2.0) / stiff) ** 0.6),
        edge=0.803 * unit * (4.0 * math.log10(stiff / radius) + 0.666 * radius / stiff - 0.034),
    )


def contact_radius(wheel: Wheel) -> float:
    """Return the radius [m] of the circle on which a tyre bears: load over its pressure."""
    return math.sqrt(wheel.load / wheel.tyre / math.pi)


def rupture(strength: float) -> float:
    """Return the bending strength [Pa] of concrete of this strength [Pa]: 9 sqrt f'c in psi.

    Source flexural-strength. ACI 318 keeps 7.5 for structures, a low value for slabs on ground.
    """
    return 9.0 * math.sqrt(strength / PSI) * PSI


def elastic_modulus(strength: float) -> float:
    """Return the modulus [Pa] of concrete of this strength [Pa]: 57,000 sqrt f'c (aci-318-modulus)."""
    return 57_000.0 * math.sqrt(strength / PSI) * PSI


def check_thickness(spec: SlabSpec, soil: str | None = None) -> tuple[Finding, ...]:
    """Return findings on a slab's thickness: the code's least, and its use's wheel.

    spec: the slab; soil: sand, loam, clay or rock; None takes the softest. Sources irc-r506,
    westergaard, pca-fatigue, edge-thickening.
    """
    found: list[Finding] = []
    rules = _table()["rules"]
    least = read("length", rules["least"])
    if spec.thickness < least - 1e-6:
        found.append(
            find(
                "slab",
                "thickness-least",
                where=spec.name,
                line=spec.line,
                thickness=Quantity("inches", spec.thickness),
                least=Quantity("inches", least),
            )
        )
    wheel = wheel_of(spec.use)
    if wheel is None:
        return tuple(found)
    k = min(subgrade(s) for s in _table()["subgrade_pci"]) if soil is None else subgrade(soil)
    stress = _under(wheel, spec, spec.thickness, k)
    bears = rupture(spec.strength)
    often = float(rules["often"])
    values: dict[str, Value] = {
        "thickness": Quantity("inches", spec.thickness),
        "wheel": wheel.name,
        "load": Quantity("mass", wheel.load / GRAVITY),
        "inside": Quantity("percent", stress.interior / bears),
        "edge": Quantity("percent", max(stress.edge, stress.corner) / bears),
        "limit": Quantity("percent", often),
    }
    if stress.interior > often * bears:
        values["thicker"] = Quantity("inches", _thick_enough(wheel, spec, k, often * bears))
        found.append(find("slab", "thickness-wheel", where=spec.name, line=spec.line, **values))
    elif max(stress.edge, stress.corner) > often * bears:
        thicker = spec.thickness * float(rules["edge_thicker"])
        if spec.thickened is not None and spec.thickened.depth >= thicker - 1e-6:
            return tuple(found)  # the edges are thickened as the source asks
        values["thicker"] = Quantity("inches", thicker)
        values["taper"] = Quantity("length", read("length", rules["edge_taper"]))
        values["off"] = Quantity("length", read("length", rules["edge_off"]))
        found.append(find("slab", "thickness-edge", where=spec.name, line=spec.line, **values))
    return tuple(found)


def _under(wheel: Wheel, spec: SlabSpec, thickness: float, k: float) -> Stresses:
    return wheel_stresses(wheel.load, contact_radius(wheel), thickness, k, elastic_modulus(spec.strength))


def _thick_enough(wheel: Wheel, spec: SlabSpec, k: float, limit: float) -> float:
    """The next step of thickness [m] whose stress inside the slab stays under a limit [Pa]."""
    step = read("length", _table()["rules"]["step"])
    steps = math.floor(spec.thickness / step) + 1
    while _under(wheel, spec, steps * step, k).interior > limit:
        steps += 1
    return steps * step
