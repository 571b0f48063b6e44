"""Where the sun stands, how strong it is on level ground, and what keeps it off a panel.

The sun's place is by the low-precision formulas of the astronomical almanac (source michalsky-1988), good
to about 0.01 degree between 1950 and 2050. Refraction is left out: it matters below 2 degrees only.
"""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
from numpy.typing import ArrayLike

from slabwright.measure import DAY, HOUR
from slabwright.pourday.model import XY, Floats, Obstacle, Site
from slabwright.pourday.tables import rule

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)


def sun_place(site: Site, begins: datetime, seconds: ArrayLike) -> tuple[Floats, Floats]:
    """Return the sun's height above the horizon and its bearing from true north, clockwise [rad].

    `begins` knows its zone; `seconds` [s] after it, any shape.
    """
    days = (begins - J2000).total_seconds() / DAY + np.asarray(seconds, dtype=float) / DAY
    mean_long = np.radians((280.460 + 0.9856474 * days) % 360.0)
    anomaly = np.radians((357.528 + 0.9856003 * days) % 360.0)
    ecliptic = mean_long + np.radians(1.915 * np.sin(anomaly) + 0.020 * np.sin(2.0 * anomaly))
    tilt = np.radians(23.439 - 4.0e-7 * days)
    ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    # Greenwich mean sidereal time: the almanac's 6.697375 h belongs to 0 h, so the day's hours are added
    universal = (days + 0.5) % 1.0 * 24.0
    sidereal = np.radians((6.697375 + 0.0657098242 * days + universal) % 24.0 * 15.0) + site.longitude
    hour = sidereal - ascension
    up = np.arcsin(
        np.sin(declination) * np.sin(site.latitude)
        + np.cos(declination) * np.cos(site.latitude) * np.cos(hour)
    )
    east = -np.cos(declination) * np.sin(hour)
    north = np.sin(declination) * np.cos(site.latitude) - np.cos(declination) * np.sin(
        site.latitude
    ) * np.cos(hour)
    return np.asarray(up), np.asarray(np.arctan2(east, north) % (2.0 * np.pi))


def clear_sun(up: ArrayLike) -> Floats:
    """Return the sun's power on level ground under a clear sky [W/m2] (source haurwitz-1945).

    `up` [rad] is the sun's height; no power below the horizon.
    """
    sine = np.sin(np.asarray(up, dtype=float))
    shown = np.maximum(sine, 1e-3)
    power = rule("haurwitz_c") * shown * np.exp(-rule("haurwitz_k") / shown)
    return np.where(sine > 0.0, power, 0.0)


def through_cloud(cloud: ArrayLike) -> Floats:
    """Return the share of the clear sky's sun under a share of cloud [-] (kasten-czeplak-1980)."""
    n = np.clip(np.asarray(cloud, dtype=float), 0.0, 1.0)
    return np.asarray(1.0 - rule("cloud_sun_c") * n ** rule("cloud_sun_n"))


def solar_hour(site: Site, begins: datetime, seconds: ArrayLike) -> Floats:
    """Return the mean solar time of day [h] at a site, 0 at solar midnight."""
    utc = begins.astimezone(UTC)
    midnight = utc.hour * HOUR + utc.minute * 60.0 + utc.second
    local = midnight + np.asarray(seconds, dtype=float) + site.longitude / (2.0 * np.pi) * DAY
    return np.asarray(local % DAY / HOUR)


def lit(site: Site, up: Floats, bearing: Floats, at: XY, obstacles: tuple[Obstacle, ...]) -> Floats:
    """Return the share of direct sun [-] (0.0 or 1.0) at a place for each of the sun's places.

    A wall shades what it stands between; a crown is a ball at the top of the tree's height. Bearings [rad]
    are from true north; `site.north` turns them into the plan's own directions (y into the house).
    """
    free = np.ones(np.broadcast(up, bearing).shape)
    if not obstacles:
        return free
    turned = bearing + site.north  # from 'straight into the house', clockwise: x to the right
    dx, dy = np.sin(turned), np.cos(turned)
    rise = np.tan(np.clip(up, 1e-4, 1.57))
    for thing in obstacles:
        free *= ~_behind(thing, at, dx, dy, rise)
    return np.where(up > 0.0, free, 0.0)


def _behind(
    thing: Obstacle, at: XY, dx: Floats, dy: Floats, rise: Floats
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Tell for each direction (dx, dy), climbing `rise` [m per m], whether the thing stands in it."""
    px, py = thing.p[0] - at[0], thing.p[1] - at[1]
    if thing.radius > 0.0:
        middle = max(thing.height - thing.radius, thing.radius)
        length = np.sqrt(1.0 + rise * rise)
        along = (px * dx + py * dy + middle * rise) / length
        gap = px * px + py * py + middle * middle - along * along
        return np.asarray((along > 0.0) & (gap < thing.radius**2))
    ex, ey = thing.q[0] - thing.p[0], thing.q[1] - thing.p[1]
    cross = dx * ey - dy * ex
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = (px * ey - py * ex) / cross
        part = (px * dy - py * dx) / cross
        hit = (np.abs(cross) > 1e-12) & (reach > 1e-6) & (part >= 0.0) & (part <= 1.0)
        return np.asarray(hit & (reach * rise < thing.height))
