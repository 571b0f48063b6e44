"""Moist air and the water that leaves a wet slab: two published formulas, side by side.

Both take the wind about 0.5 m above the slab and carry about 40 % of doubt (source hover-2020).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from slabwright.measure import HOUR
from slabwright.pourday.model import Floats
from slabwright.pourday.tables import rule

KELVIN = 273.15


def saturation(temperature: ArrayLike) -> Floats:
    """Return the saturation vapour pressure [kPa] over water at a temperature [degC] (source tetens)."""
    t = np.asarray(temperature, dtype=float)
    return np.asarray(rule("es_0") * np.exp(rule("es_a") * t / (t + rule("es_b"))))


def humidity(air: ArrayLike, dew: ArrayLike) -> Floats:
    """Return the relative humidity [-] of air [degC] with a dew point [degC]."""
    return np.asarray(saturation(dew) / saturation(air))


def dew_from(air: ArrayLike, relative: ArrayLike) -> Floats:
    """Return the dew point [degC] of air [degC] at a relative humidity [-], above 0."""
    t = np.asarray(air, dtype=float)
    a, b = rule("es_a"), rule("es_b")
    g = np.log(np.asarray(relative, dtype=float)) + a * t / (t + b)
    return np.asarray(b * g / (a - g))


def menzel(surface: ArrayLike, vapour: ArrayLike, wind: ArrayLike) -> Floats:
    """Return evaporation [kg/(m2 s)] from a wet surface [degC], not below 0 (source menzel-1954).

    :param vapour: vapour pressure of the air [kPa].
    :param wind: wind at the slab [m/s].
    """
    lack = saturation(surface) - np.asarray(vapour, dtype=float)
    return np.asarray(np.maximum(lack, 0.0) * menzel_factor(wind))


def menzel_factor(wind: ArrayLike) -> Floats:
    """Return kg/(m2 s) of evaporation for each kPa of lack, in a wind at the slab [m/s]."""
    kmh = 3.6 * np.asarray(wind, dtype=float)
    return np.asarray(rule("menzel_c") * (rule("menzel_still") + rule("menzel_wind") * kmh) / HOUR)


def uno(surface: ArrayLike, air: ArrayLike, relative: ArrayLike, wind: ArrayLike) -> Floats:
    """Return evaporation [kg/(m2 s)] by the simplified formula (source uno-1998), not below 0.

    `surface`, `air` [degC], `relative` humidity [-], `wind` at the slab [m/s]. Temperatures under
    -18 degC count as -18: the formula has no meaning below.
    """
    ts = np.maximum(np.asarray(surface, dtype=float) + 18.0, 0.0)
    ta = np.maximum(np.asarray(air, dtype=float) + 18.0, 0.0)
    kmh = 3.6 * np.asarray(wind, dtype=float)
    lack = ts**2.5 - np.asarray(relative, dtype=float) * ta**2.5
    return np.asarray(np.maximum(5e-6 * lack * (kmh + 4.0), 0.0) / HOUR)


def sky_power(air: ArrayLike, dew: ArrayLike, cloud: ArrayLike, hour: ArrayLike) -> Floats:
    """Return the long-wave power from the sky [W/m2] (sources berdahl-martin-1984, cloud-sky).

    `air`, `dew` [degC], `cloud` [-], `hour` of the solar day [h].
    """
    td = np.asarray(dew, dtype=float) / 100.0
    clear = rule("sky_0") + rule("sky_1") * td + rule("sky_2") * td * td
    clear = clear + rule("sky_day") * np.cos(2.0 * np.pi * np.asarray(hour, dtype=float) / 24.0)
    share = clear + (1.0 - clear) * rule("sky_cloud") * np.asarray(cloud, dtype=float)
    return np.asarray(share * rule("stefan") * (np.asarray(air, dtype=float) + KELVIN) ** 4)


def sky_power_walton(air: ArrayLike, dew: ArrayLike, cloud: ArrayLike) -> Floats:
    """Return the long-wave power from the sky [W/m2] by another formula (source walton-clark-allen).

    `air`, `dew` [degC], `cloud` [-]. A second opinion on `sky_power`, with a printed example.
    """
    kelvin = np.asarray(dew, dtype=float) + KELVIN
    n = 10.0 * np.asarray(cloud, dtype=float)
    clear = 0.787 + 0.764 * np.log(kelvin / 273.0)
    share = clear * (1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3)
    return np.asarray(share * rule("stefan") * (np.asarray(air, dtype=float) + KELVIN) ** 4)
