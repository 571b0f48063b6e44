"""Mix by exposure: strength, w/cm, air, slump and stone, each with its source, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.build.tables import rule, table
from slabwright.findings import Finding, find
from slabwright.measure import Quantity, System, read
from slabwright.notes.spec import SlabSpec

JUST = 1e-6  # [m] or [Pa]: a value at a limit is within it, binary rounding apart
FROSTS = ("none", "moderate", "severe")


@dataclass(frozen=True, slots=True)
class Mix:
    """What to ask of the plant: strength [Pa], w/cm [-], air (least, most) [-], stone and slump [m].

    `air_aim` [-] is the middle of the air's range; `dose` of fibre [kg/m3], 0.0 for none.
    """

    strength: float
    w_cm: float | None
    air: tuple[float, float] | None
    stone: float
    slump: float
    dose: float = 0.0

    @property
    def air_aim(self) -> float | None:
        """Return the air to ask for [-], None where none is entrained."""
        return None if self.air is None else (self.air[0] + self.air[1]) / 2.0


def air_for(stone: float, *, frequent: bool = True) -> float:
    """Return the total air [-] for a largest stone [m] (source aci-318-air).

    frequent: often wet, or under deicers (F2, F3); else limited water (F1). Between the rows of the
    table, the row of the next smaller stone, which asks for more air; the first and last row beyond it.
    """
    rows = table("mixes")["air"]
    sizes = [read("length", text) for text in rows["stone"]]
    column = rows["frequent" if frequent else "limited"]
    k = max((i for i, size in enumerate(sizes) if size <= stone + 1e-3), default=0)
    return read("percent", column[k])


def stone_most(thickness: float) -> float:
    """Return the largest stone [m] for a slab of a thickness [m] (source max-aggregate)."""
    return thickness / rule("mixes", "stone_share")


def strength_least(frost: str) -> float:
    """Return the residential code's least strength [Pa] of outdoor flatwork (source irc-r402.2)."""
    return read("pressure", table("mixes")["exposure"][frost]["strength"])


def mix_of(specs: tuple[SlabSpec, ...], frost: str, *, dose: float = 0.0) -> tuple[Mix, tuple[Finding, ...]]:
    """Return one mix that serves every slab, and findings where a slab asks for what it should not.

    frost: 'none', 'moderate' or 'severe'; dose: fibre [kg/m3]. The strongest strength, the smallest
    stone and the stiffest slump that any slab asks for. ValueError without slabs or for another frost.
    """
    if not specs or frost not in FROSTS:
        raise ValueError(f"a mix needs a slab and a frost of {', '.join(FROSTS)}, not {frost!r}")
    row = table("mixes")["exposure"][frost]
    found = [finding for spec in specs for finding in _check(spec, frost)]
    stone = min(spec.aggregate for spec in specs)
    strengths = {round(spec.strength) for spec in specs}
    if len(strengths) > 1:
        found.append(find("build", "mix-two", strength=Quantity("pressure", max(s.strength for s in specs))))
    air = None
    if row["air"]:
        aim, give = air_for(stone), rule("mixes", "air_give")
        air = (aim - give, aim + give)
    mix = Mix(
        strength=max(spec.strength for spec in specs),
        w_cm=row.get("w_cm"),
        air=air,
        stone=stone,
        slump=min(spec.slump for spec in specs),
        dose=dose,
    )
    return mix, tuple(found)


def _check(spec: SlabSpec, frost: str) -> list[Finding]:
    """Return what no exposure or thickness allows in a slab's mix."""
    found: list[Finding] = []
    floor = strength_least(frost)
    if spec.strength < floor - JUST:
        found.append(
            find(
                "build",
                "mix-weak",
                where=spec.name,
                line=spec.line,
                strength=Quantity("pressure", spec.strength),
                least=Quantity("pressure", floor),
                frost=frost,
            )
        )
    most = stone_most(spec.thickness)
    if spec.aggregate > most + JUST:
        found.append(
            find(
                "build",
                "mix-stone",
                where=spec.name,
                line=spec.line,
                stone=Quantity("inches", spec.aggregate),
                most=Quantity("inches", most),
            )
        )
    if spec.slump > rule("mixes", "slump_most") + JUST:
        found.append(
            find(
                "build",
                "mix-slump",
                where=spec.name,
                line=spec.line,
                slump=Quantity("inches", spec.slump),
                most=Quantity("inches", rule("mixes", "slump_most")),
            )
        )
    return found


def warmth(system: System) -> tuple[float, float]:
    """Return the least and most temperature of the mix at the chute [degC]."""
    return rule("mixes", "temperature_least", system), rule("mixes", "temperature_most", system)
