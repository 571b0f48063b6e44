"""Sun and sky: pvlib for the sun's place and Haurwitz' clear sky, psychrolib for moist air, and the printed
example of Walton's sky (NBSIR 83-2655, quoted in a mailing list): clear, air 293 K, dew point 283 K,
emissivity 0.815, 340.6 W/m2.
"""

from __future__ import annotations

import warnings
from datetime import UTC, datetime

import numpy as np
import pytest

from slabwright.pourday.model import Site
from slabwright.pourday.moist import dew_from, saturation, sky_power, sky_power_walton
from slabwright.pourday.sun import clear_sun, sun_place

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import pandas as pd
    import psychrolib
    import pvlib

PLACES = [(41.9, -87.6), (29.8, -95.4), (61.2, -149.9), (-33.9, 151.2), (0.0, 0.0), (64.0, -21.9)]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("year", [2024, 2026, 2031])
def test_sun_place(place: tuple[float, float], year: int) -> None:
    """Height and bearing within 0.02 degree, all the year; the bearing's share of a high sun's circle."""
    begins = datetime(year, 1, 1, tzinfo=UTC)
    seconds = np.arange(0.0, 366 * 86400.0, 6151.0)
    up, bearing = sun_place(Site.of_degrees(*place), begins, seconds)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        times = pd.DatetimeIndex(pd.Timestamp(begins) + pd.to_timedelta(seconds, unit="s"))
        spa = pvlib.solarposition.get_solarposition(times, *place, method="nrel_numpy")
    assert np.degrees(up) == pytest.approx(spa["elevation"].to_numpy(), abs=0.02)
    turned = (np.degrees(bearing) - spa["azimuth"].to_numpy() + 180) % 360 - 180
    assert np.abs(turned * np.cos(up)).max() < 0.02


def test_clear_sky() -> None:
    up = np.radians(np.arange(1.0, 90.0))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = pvlib.clearsky.haurwitz(pd.Series(90.0 - np.degrees(up)))["ghi"].to_numpy()
    assert clear_sun(up) == pytest.approx(theirs, rel=2e-3, abs=0.5)


def test_night_is_dark() -> None:
    assert clear_sun(np.radians([-30.0, -0.01, 0.0])) == pytest.approx(0.0)


def test_moist_air() -> None:
    """Saturation within 0.5 % from 0 to 45 degC, dew point within 0.1 K."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for warm in range(0, 46, 5):
        assert float(saturation(warm)) == pytest.approx(psychrolib.GetSatVapPres(warm) / 1e3, rel=0.005)
        for share in (0.1, 0.3, 0.6, 0.9, 1.0):
            theirs = psychrolib.GetTDewPointFromRelHum(warm, share)
            if theirs > 0:
                assert float(dew_from(warm, share)) == pytest.approx(theirs, abs=0.1)


@pytest.mark.parametrize(("warm", "share", "dew"), [(20, 0.5, 9.261), (25, 0.6, 16.698), (30, 0.3, 10.540)])
def test_dew_point_worked(warm: float, share: float, dew: float) -> None:
    """Worked with Magnus' other constants: 0.05 K."""
    assert float(dew_from(warm, share)) == pytest.approx(dew, abs=0.05)


def test_walton_example() -> None:
    """0.815 x sigma x 293^4 = 340.6 W/m2 printed, 340.3 unrounded."""
    power = float(sky_power_walton(293 - 273.15, 283 - 273.15, 0.0))
    assert power == pytest.approx(340.6, abs=0.5)


def test_two_skies_agree() -> None:
    """Berdahl and Martin against Walton: published skies differ by a tenth; more below freezing."""
    for air in (5.0, 20.0, 35.0):
        for below in (2.0, 5.0, 10.0 if air > 10 else 5.0):
            ours = float(sky_power(air, air - below, 0.0, 12.0))
            assert ours == pytest.approx(float(sky_power_walton(air, air - below, 0.0)), rel=0.12)
