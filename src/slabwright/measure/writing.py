"""Writing quantities as the trade does, in either system.

What is written can be read again: read(kind, write(x)) is within half of the last place written. No
thousands are marked, except in money, so that nothing written has two meanings.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from slabwright.measure.kinds import Kind, Quantity, System, kind_of
from slabwright.measure.money import write_money
from slabwright.measure.numbers import DUST, decimal, feet_inches, finite, steps
from slabwright.measure.units import DAY, FOOT, HOUR, INCH, UNITS

_PER_FOOT = {"en": "in per ft", "es": "in por pie"}
_DEGREE = {"F": "°F", "C": "°C", "deg": "°"}
_TRIMMED = frozenset(("percent", "angle", "speed", "area", "mass", "flow"))
_MEGA = 1e6
_WHOLE_FROM = 1000.0  # lb or kg: no scale that weighs so much shows a tenth
_STYLES = ("feet-inches", "dimension", "inches", "feet", "metres", "millimetres")
_SIXTEENTH = Fraction(1, 16)


def write(quantity: Quantity, *, system: System = System.IMPERIAL, lang: str = "en") -> str:
    """Return the quantity as the trade writes it.

    `lang` ('en' or 'es') changes the few words in it; decimals keep the point, as Mexico and the United
    States write them. ValueError for an unknown kind and for NaN or an infinity.
    """
    row = kind_of(quantity.kind)
    finite(quantity.si)
    own = _OWN.get(row.name)
    if own is not None:
        return own(row, quantity.si, system, lang)
    return _plain(row, quantity.si, system)


def unit_of(kind: str, system: System = System.IMPERIAL) -> str:
    """Return the unit that `kind` is counted in ('ft2', 'm2', ...), as for the head of a column."""
    row = kind_of(kind)
    return row.imperial if system == System.IMPERIAL else row.metric


def in_units(kind: str, si: float, system: System = System.IMPERIAL) -> float:
    """Return a value [SI] as a plain number of `unit_of(kind, system)`."""
    row = kind_of(kind)
    table = UNITS.get(row.dimension)
    if table is None or row.dimension == "money":
        return si
    unit = table[unit_of(kind, system)]
    return (si - unit.shift) / unit.factor


def step_of(kind: str, system: System = System.IMPERIAL) -> float:
    """Return the step [m] in which a kind of length is written: of a height difference 1/8 in, or 1 mm.

    ValueError for a kind that is no length.
    """
    row = kind_of(kind)
    if row.dimension != "length":
        raise ValueError(f"{kind} is no length, so it is written in no one step")
    return 0.001 if system == System.METRIC else INCH / row.fraction


def write_length(
    m: float,
    *,
    system: System = System.IMPERIAL,
    to: Fraction = _SIXTEENTH,
    style: str | None = None,
    plus: bool = False,
) -> str:
    """Return a length [m].

    `style` is 'feet-inches' (15'-6 1/2", below a foot 4 3/8"), 'dimension' (feet always: 0'-8"),
    'inches' (186 1/2"), 'feet' (12.45 ft), 'metres' (4.724 m) or 'millimetres' (4724 mm). Without one,
    imperial is 'feet-inches' and metric is millimetres below a metre and metres from there on. `to` is
    the fraction of an inch; metric is always to the millimetre. `plus` writes the + of a rise.
    """
    if style is None:
        if system == System.IMPERIAL:
            style = "feet-inches"
        else:
            style = "millimetres" if steps(finite(m), 0.001) < 1000 else "metres"
    if style not in _STYLES:
        raise ValueError(f"{style!r} is not a style of length; the styles are {', '.join(_STYLES)}")
    if style == "feet":
        return f"{decimal(_dusted(m) / FOOT, 2, plus=plus)} ft"
    if style == "metres":
        return f"{decimal(_dusted(m), 3, plus=plus)} m"
    if style == "millimetres":
        return f"{decimal(_dusted(m) * 1000.0, 0, plus=plus)} mm"
    if to.numerator != 1:
        raise ValueError(f"a fraction of an inch to round to is one part of it, such as 1/16, not {to}")
    feet = {"feet-inches": "auto", "dimension": "always", "inches": "never"}[style]
    return feet_inches(m, to.denominator, feet=feet, plus=plus)


def _dusted(m: float) -> float:
    """Return the length without the dust of arithmetic."""
    return 0.0 if abs(finite(m)) < DUST else m


def write_slope(
    slope: float,
    *,
    system: System = System.IMPERIAL,
    style: str | None = None,
    to: Fraction = _SIXTEENTH,
    lang: str = "en",
) -> str:
    """Return a slope [-].

    `style` is 'both' (1/4 in per ft (2.1 %)), 'per-foot', 'percent' (2.1 %) or 'ratio' (1:48). Without
    one, imperial is 'both' and metric 'percent'. A level slope is 0 % in every style.
    """
    style = style or ("both" if system == System.IMPERIAL else "percent")
    if style not in {"both", "per-foot", "percent", "ratio"}:
        raise ValueError(f"{style!r} is not a style of slope; the styles are both, per-foot, percent, ratio")
    if abs(finite(slope)) * FOOT < DUST:
        return "0 %"
    percent = f"{decimal(slope * 100.0, 1, trim=True)} %"
    if style == "percent":
        return percent
    if style == "ratio":
        run = 1.0 / abs(slope)
        sign = "-" if slope < 0 else ""
        return f"{sign}1:{decimal(run, 0 if run >= 19.95 else 1, trim=True)}"
    # A slope times a foot is a length, so the tape's fractions are written by the same hand.
    rise = feet_inches(slope * FOOT, to.denominator, feet="never").rstrip('"')
    per_foot = f"{rise} {_PER_FOOT.get(lang, _PER_FOOT['en'])}"
    return per_foot if style == "per-foot" else f"{per_foot} ({percent})"


def write_duration(s: float) -> str:
    """Return a duration [s]: 45 s, 4 min 30 s, 1 h 30 min, 2 d 6 h; to s, min or h as it grows."""
    size = finite(s)
    if size < 0:
        raise ValueError(f"a duration of {size} s cannot be written")
    if steps(size, 1.0) < 600:
        minutes, seconds = divmod(steps(size, 1.0), 60)
        if not minutes:
            return f"{decimal(size, 0)} s"
        return f"{minutes} min" + (f" {seconds} s" if seconds else "")
    if steps(size, 60.0) < 48 * 60:
        hours, minutes = divmod(steps(size, 60.0), 60)
        return " ".join(filter(None, (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "")))
    days, hours = divmod(steps(size, HOUR), 24)
    return f"{days} d" + (f" {hours} h" if hours else "")


def write_clock(s: float, *, system: System = System.IMPERIAL) -> str:
    """Return a time of day [s after midnight] to the minute: 7:00 am, or 7:00 in metric; +1 d after it
    for the next day.
    """
    if finite(s) < 0:
        raise ValueError(f"a time {s} s after midnight cannot be written")
    minutes = steps(s, 60.0)
    days, minutes = divmod(minutes, int(DAY) // 60)
    hour, minute = divmod(minutes, 60)
    later = f" +{days} d" if days else ""
    if system == System.METRIC:
        return f"{hour}:{minute:02d}{later}"
    return f"{(hour - 1) % 12 + 1}:{minute:02d} {'pm' if hour >= 12 else 'am'}{later}"


def _plain(row: Kind, si: float, system: System) -> str:
    imperial = system == System.IMPERIAL
    key = row.imperial if imperial else row.metric
    places = row.places[0 if imperial else 1]
    if row.name == "pressure" and not imperial and abs(si) < _MEGA:
        key = "kPa"
    unit = UNITS[row.dimension][key]
    value = (si - unit.shift) / unit.factor
    if row.name == "temperature":
        # Nothing is false about a temperature of 0.
        value = float(steps(value, 1.0)) * (1.0 if value >= 0 else -1.0)
    if row.name == "mass" and abs(value) >= _WHOLE_FROM:
        places = 0
    mark = _DEGREE.get(key, key)
    number = decimal(value, places, trim=row.dimension in _TRIMMED)
    return f"{number}{'' if mark == '°' else ' '}{mark}"


def _length(row: Kind, si: float, system: System, _: str) -> str:
    to = Fraction(1, row.fraction)
    imperial = system == System.IMPERIAL
    plus = row.name == "height_difference"
    style = {
        "feet_inches": "dimension" if imperial else "metres",
        "inches": "inches" if imperial else "millimetres",
    }.get(row.name)
    return write_length(si, system=system, to=to, style=style, plus=plus)


def _slope(_: Kind, si: float, system: System, lang: str) -> str:
    return write_slope(si, system=system, lang=lang)


def _count(_: Kind, si: float, __: System, ___: str) -> str:
    return decimal(si, 0)


def _ratio(_: Kind, si: float, __: System, ___: str) -> str:
    return decimal(si, 2)


def _duration(_: Kind, si: float, __: System, ___: str) -> str:
    return write_duration(si)


def _clock(_: Kind, si: float, system: System, __: str) -> str:
    return write_clock(si, system=system)


def _money(_: Kind, si: float, __: System, ___: str) -> str:
    # repr gives the shortest decimal that is this float, which is what was meant.
    return write_money(Decimal(repr(float(si))))


_OWN: dict[str, Callable[[Kind, float, System, str], str]] = {
    **dict.fromkeys(("length", "fine_length", "feet_inches", "inches", "height_difference"), _length),
    "slope": _slope,
    "duration": _duration,
    "clock": _clock,
    "count": _count,
    "ratio": _ratio,
    "money": _money,
}
