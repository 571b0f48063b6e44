"""How the trade writes numbers, read to SI floats and written back.

Read: `read("length", text)` or the named functions (`read_length`, ...). Write: `write(Quantity)`
or the named functions. SI inside: m, m2, m3, kg, s, degC, rad, plain slope ratio, m/s, Pa, m3/s.
"""

from __future__ import annotations

from slabwright.measure.both import LANGUAGES, Both
from slabwright.measure.errors import MeasureError
from slabwright.measure.kinds import KINDS, Kind, Quantity, System
from slabwright.measure.lengths import read_length
from slabwright.measure.money import Money, read_money, write_money
from slabwright.measure.plain import (
    read_angle,
    read_area,
    read_flow,
    read_mass,
    read_percent,
    read_pressure,
    read_rate,
    read_ratio,
    read_speed,
    read_temperature,
    read_volume,
)
from slabwright.measure.reading import read
from slabwright.measure.slopes import read_slope
from slabwright.measure.times import read_clock, read_duration
from slabwright.measure.units import DAY, FOOT, GRAVITY, HOUR, INCH, POUND, POUND_FORCE, PSI
from slabwright.measure.writing import (
    in_units,
    step_of,
    unit_of,
    write,
    write_clock,
    write_duration,
    write_length,
    write_slope,
)

__all__ = [
    "DAY",
    "FOOT",
    "GRAVITY",
    "HOUR",
    "INCH",
    "KINDS",
    "LANGUAGES",
    "POUND",
    "POUND_FORCE",
    "PSI",
    "Both",
    "Kind",
    "MeasureError",
    "Money",
    "Quantity",
    "System",
    "in_units",
    "read",
    "read_angle",
    "read_area",
    "read_clock",
    "read_duration",
    "read_flow",
    "read_length",
    "read_mass",
    "read_money",
    "read_percent",
    "read_pressure",
    "read_rate",
    "read_ratio",
    "read_slope",
    "read_speed",
    "read_temperature",
    "read_volume",
    "step_of",
    "unit_of",
    "write",
    "write_clock",
    "write_duration",
    "write_length",
    "write_money",
    "write_slope",
]
