"""Weather -> slab heat -> set -> working windows -> crew and trucks -> cure, strip, open.

`forecast(panels, weather, site, mix, day=...) -> PourDay`. Readers of weather stand in weather.py and
weather_files.py; fetch.py alone asks the network, and only when it is called.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from slabwright.pourday.day import forecast
    from slabwright.pourday.model import PourDay

__all__ = ["PourDay", "forecast"]


def __getattr__(name: str) -> Any:
    """Load the stage when it is asked for, so that naming the room costs nothing."""
    if name == "forecast":
        from slabwright.pourday.day import forecast

        return forecast
    if name == "PourDay":
        from slabwright.pourday.model import PourDay

        return PourDay
    raise AttributeError(name)
