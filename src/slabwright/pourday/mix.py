"""Hydration: how fast a mix sets and warms, from its cement's compounds (source schindler-folliard-2005).

    alpha(te) = alpha_u exp(-(tau / te)^beta),  d te / dt = exp(E/R (1/Tr - 1/T))

`te` is the age in hours at 21.1 degC that would have brought the concrete as far.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from slabwright.measure import HOUR
from slabwright.pourday.model import Floats, MixDay
from slabwright.pourday.moist import KELVIN
from slabwright.pourday.tables import rule, table


@dataclass(frozen=True, slots=True)
class Hydration:
    """What the model knows of a mix; each a float or an array of samples.

    `ultimate` [-] degree that it can reach; `tau` [h]; `beta` [-]; `heat` [J/m3] of full hydration;
    `energy` [K], activation energy over the gas constant; `te_0` [h] age at discharge; `te_initial`,
    `te_final` [h] at set; `strength` [Pa] at 28 days.
    """

    ultimate: Floats
    tau: Floats
    beta: Floats
    heat: Floats
    energy: Floats
    te_0: Floats
    te_initial: Floats
    te_final: Floats
    strength: Floats

    def degree(self, te: ArrayLike) -> Floats:
        """Return the degree of hydration [-] at an equivalent age [h]."""
        return np.asarray(self.ultimate * np.exp(-((self.tau / np.asarray(te, dtype=float)) ** self.beta)))


def age_rate(temperature: ArrayLike, energy: ArrayLike) -> Floats:
    """Return hours of equivalent age an hour [-] at a temperature [degC]; energy over R [K]."""
    kelvin = np.asarray(temperature, dtype=float) + KELVIN
    return np.asarray(np.exp(np.asarray(energy, dtype=float) * (1.0 / rule("reference") - 1.0 / kelvin)))


def te_at(degree: ArrayLike, ultimate: ArrayLike, tau: ArrayLike, beta: ArrayLike) -> Floats:
    """Return the equivalent age [h] at which a degree of hydration is reached; inf where it never is."""
    share = np.asarray(degree, dtype=float) / np.asarray(ultimate, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        te = np.asarray(tau, dtype=float) * (-np.log(share)) ** (-1.0 / np.asarray(beta, dtype=float))
    return np.where(share < 1.0, te, np.inf)


def cement_names() -> tuple[str, ...]:
    """Return the cements of the table."""
    return tuple(table("cements"))


def check_mix(mix: MixDay) -> None:
    """Raise ValueError for a mix that cannot be."""
    if mix.cement not in table("cements"):
        known = ", ".join(cement_names())
        raise ValueError(f"cement {mix.cement!r} is not in the table; there are {known}")
    limits = {
        "cementitious": (150.0, 700.0),
        "w_cm": (0.25, 0.9),
        "fly_ash": (0.0, 0.6),
        "ash_lime": (0.0, 0.4),
        "slag": (0.0, 0.8),
        "delivered": (0.0, 45.0),
        "hauled": (60.0, 4 * HOUR),
        "pace": (0.3, 4.0),
        "set_factor": (0.3, 3.0),
        "strength": (10e6, 80e6),
    }
    for name, (least, most) in limits.items():
        value = getattr(mix, name)
        if not least <= value <= most:
            raise ValueError(f"{name} is {value:g}; a mix has {least:g} to {most:g}")
    if mix.fly_ash + mix.slag > 0.9:
        raise ValueError(f"ash and slag make up {mix.fly_ash + mix.slag:g} of the cementitious material")


def compound_heat(cement: str) -> float:
    """Return the heat of full hydration of a cement of the table [J/g]."""
    c = table("cements")[cement]
    return float(
        500.0 * c["c3s"]
        + 260.0 * c["c2s"]
        + 866.0 * c["c3a"]
        + 420.0 * c["c4af"]
        + 624.0 * c["so3"]
        + 1186.0 * c["free_lime"]
        + 850.0 * c["mgo"]
    )


def hydration(
    mix: MixDay,
    *,
    w_cm: ArrayLike | None = None,
    tau: ArrayLike = 1.0,
    beta: ArrayLike = 1.0,
    energy: ArrayLike = 1.0,
    heat: ArrayLike = 1.0,
    set_factor: ArrayLike = 1.0,
    delivered: ArrayLike | None = None,
    hauled: ArrayLike = 1.0,
) -> Hydration:
    """Return the hydration of a mix; the other arguments are factors of samples, or their own values.

    `w_cm` [-] and `delivered` [degC] replace the mix's own; the rest multiply. An admixture's `pace`
    stretches tau. Raises ValueError for a mix that cannot be.
    """
    check_mix(mix)
    c = table("cements")[mix.cement]
    clinker = 1.0 - mix.fly_ash - mix.slag
    ratio = np.asarray(mix.w_cm if w_cm is None else w_cm, dtype=float)
    ultimate = np.minimum(1.031 * ratio / (0.194 + ratio) + 0.50 * mix.fly_ash + 0.30 * mix.slag, 1.0)
    tau_h = (
        66.78
        * c["c3a"] ** -0.154
        * c["c3s"] ** -0.401
        * c["blaine"] ** -0.804
        * c["so3"] ** -0.758
        * np.exp(2.187 * mix.slag + 9.50 * mix.fly_ash * mix.ash_lime)
        * mix.pace
        * np.asarray(tau, dtype=float)
    )
    power = (
        181.4
        * c["c3a"] ** 0.146
        * c["c3s"] ** 0.227
        * c["blaine"] ** -0.535
        * c["so3"] ** 0.558
        * np.exp(-0.647 * mix.slag)
        * np.asarray(beta, dtype=float)
    )
    joules = compound_heat(mix.cement) * clinker + 461.0 * mix.slag + 1800.0 * mix.ash_lime * mix.fly_ash
    slower = 1.0 - 1.05 * mix.fly_ash * (1.0 - mix.ash_lime / 0.40) + 0.40 * mix.slag
    molar = 22100.0 * slower * c["c3a"] ** 0.30 * c["c4af"] ** 0.25 * c["blaine"] ** 0.35
    over_r = molar / rule("gas") * np.asarray(energy, dtype=float)
    warm = np.asarray(mix.delivered if delivered is None else delivered, dtype=float)
    factor = mix.set_factor * np.asarray(set_factor, dtype=float)
    return Hydration(
        ultimate=ultimate,
        tau=np.asarray(tau_h),
        beta=np.asarray(power),
        heat=joules * 1e3 * mix.cementitious * np.asarray(heat, dtype=float),
        energy=np.asarray(over_r),
        te_0=np.asarray(mix.hauled * np.asarray(hauled, dtype=float) / HOUR * age_rate(warm, over_r)),
        te_initial=te_at(rule("initial_alpha") * ratio * factor, ultimate, tau_h, power),
        te_final=te_at(rule("final_alpha") * ratio * factor, ultimate, tau_h, power),
        strength=np.asarray(mix.strength, dtype=float),
    )


def te_firm(mix: Hydration, resistance: float) -> Floats:
    """Return the equivalent age [h] at a penetration resistance [psi] of the C403 needle.

    Between and before the two published points (500 and 4000 psi) the resistance is taken as a power of
    the equivalent age, which is Slabwright's own setting.
    """
    first, last = rule("initial_pr"), rule("final_pr")
    power = np.log(last / first) / np.log(mix.te_final / mix.te_initial)
    return np.asarray(mix.te_initial * (resistance / first) ** (1.0 / power))


def strength_at(mix: Hydration, te: ArrayLike) -> Floats:
    """Return the compressive strength [Pa] at an equivalent age [h]; none before the dormant part."""
    live = np.asarray(te, dtype=float) - rule("strength_dormant") * mix.te_final
    with np.errstate(divide="ignore", over="ignore"):
        share = np.exp(-((rule("strength_time") / np.maximum(live, 1e-9)) ** rule("strength_power")))
    return np.asarray(rule("strength_ultimate") * mix.strength * share)


def te_strength(mix: Hydration, wanted: float) -> Floats:
    """Return the equivalent age [h] at a strength [Pa]; inf where the mix never gets there."""
    share = wanted / (rule("strength_ultimate") * mix.strength)
    with np.errstate(divide="ignore", invalid="ignore"):
        live = rule("strength_time") * (-np.log(share)) ** (-1.0 / rule("strength_power"))
    te = rule("strength_dormant") * mix.te_final + live
    return np.where(share < 1.0, te, np.inf)


def calibrate(mix: MixDay, *, hours: float, temperature: float) -> MixDay:
    """Return the mix with the set that a crew saw: initial set `hours` [h] after batching at [degC].

    The observation is of concrete kept near one temperature (a sample in the shade, a mild day). ValueError
    where it is more than three times off what the table says: then it is another mix.
    """
    plain = hydration(replace(mix, set_factor=1.0))
    te = hours * float(age_rate(temperature, plain.energy))
    if hours <= 0.0:
        raise ValueError(f"a set {hours:g} h after batching cannot be")
    factor = float(plain.degree(te)) / (rule("initial_alpha") * mix.w_cm)
    if not 1.0 / 3.0 <= factor <= 3.0:
        raise ValueError(f"a set after {hours:g} h at {temperature:g} degC does not belong to this mix")
    return replace(mix, set_factor=factor)


def nurse_saul(hours: ArrayLike, temperature: ArrayLike, datum: float = 0.0) -> float:
    """Return the maturity [degC h] of spells `hours` [h] at `temperature` [degC] (source astm-c1074)."""
    warm = np.maximum(np.asarray(temperature, dtype=float) - datum, 0.0)
    return float(np.sum(warm * np.asarray(hours, dtype=float)))


def equivalent_age(hours: ArrayLike, temperature: ArrayLike, *, q: float = 5000.0, at: float = 20.0) -> float:
    """Return the equivalent age [h] at `at` [degC] of spells [h] at temperatures [degC] (astm-c1074).

    `q` [K] is the activation energy over the gas constant.
    """
    kelvin = np.asarray(temperature, dtype=float) + KELVIN
    rate = np.exp(-q * (1.0 / kelvin - 1.0 / (at + KELVIN)))
    return float(np.sum(rate * np.asarray(hours, dtype=float)))
