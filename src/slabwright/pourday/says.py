"""What the day of the pour makes worth saying: findings from the windows, the weather and the mix."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from slabwright.findings import Finding, find
from slabwright.measure import HOUR, Quantity
from slabwright.pourday.clocks import clocks_change
from slabwright.pourday.crew_model import said_chance
from slabwright.pourday.delivery import slump_lost
from slabwright.pourday.model import Floats, MixDay, PanelWindow, PourDay, Site, Weather
from slabwright.pourday.sun import sun_place
from slabwright.pourday.tables import rule

LIKELY = 0.10  # chances from here on are said aloud
GRAVE = 0.30
SHORT = 2700.0  # [s] a broom window shorter than this needs every hand
AFTER = ("strip", "walk", "drive")


def day_findings(
    result: PourDay, weather: Weather, site: Site, mix: MixDay, placed: Floats, day: date
) -> tuple[Finding, ...]:
    """Return what weather, clock and delivery ask for, whatever the panel."""
    found = [find("pourday", "forecast-only", samples=result.samples)]
    found += _delivery(mix)
    if rule("spin_up") > float(placed.min()):
        found.append(find("pourday", "base-from-first-day"))
    change = clocks_change(weather, day)
    if change:
        code = "clocks-forward" if change > 0 else "clocks-back"
        found.append(find("pourday", code, hours=Quantity("duration", abs(change))))
    up = sun_place(site, weather.begins, placed)[0]
    if (up < 0.0).any():
        found.append(find("pourday", "night-pour", panels=int((up < 0.0).sum())))
    found += _rain(result, weather, placed)
    if result.cold.needed:
        least = float(weather.air_temperature[: int(placed.max() / HOUR) + 73].min())
        found.append(
            find(
                "pourday",
                "cold-weather",
                air=Quantity("temperature", least),
                held=Quantity("temperature", result.cold.held),
                days=int(rule("cold_period") / (24 * HOUR)),
            )
        )
        if mix.delivered < rule("cold_least"):
            found.append(
                find(
                    "pourday",
                    "concrete-cold",
                    warm=Quantity("temperature", mix.delivered),
                    least=Quantity("temperature", rule("cold_least")),
                )
            )
        elif mix.delivered > rule("cold_least") + rule("cold_above"):
            found.append(
                find(
                    "pourday",
                    "concrete-too-warm",
                    warm=Quantity("temperature", mix.delivered),
                    most=Quantity("temperature", rule("cold_least") + rule("cold_above")),
                )
            )
    return tuple(found)


def _delivery(mix: MixDay) -> list[Finding]:
    found = []
    if mix.delivered > rule("hot_most"):
        found.append(
            find(
                "pourday",
                "concrete-hot",
                warm=Quantity("temperature", mix.delivered),
                most=Quantity("temperature", rule("hot_most")),
            )
        )
    if mix.hauled > rule("discharge"):
        found.append(
            find(
                "pourday",
                "haul-long",
                hauled=Quantity("duration", mix.hauled),
                most=Quantity("duration", rule("discharge")),
            )
        )
    lost = slump_lost(mix.delivered)
    if lost >= 0.0127:
        found.append(
            find(
                "pourday",
                "slump-heat",
                lost=Quantity("inches", lost),
                warm=Quantity("temperature", mix.delivered),
            )
        )
    return found


def _rain(result: PourDay, weather: Weather, placed: Floats) -> list[Finding]:
    if weather.rain_chance is None:
        return [find("pourday", "rain-unknown")]
    hours = np.arange(weather.hours) * HOUR
    during = (hours >= placed.min() - HOUR) & (hours <= placed.max() + rule("rain_fresh"))
    if not during.any():
        return []
    worst = float(weather.rain_chance[during].max())
    if worst < rule("rain_likely"):
        return []
    k = int(np.argmax(np.where(during, weather.rain_chance, -1.0)))
    first = result.windows[0].placed_at + hours[k] - placed[0]
    return [find("pourday", "rain-fresh", chance=said_chance(worst), when=Quantity("clock", float(first)))]


def window_findings(
    result: PourDay, mix: MixDay, dragged: tuple[float, ...], sawn: tuple[bool, ...]
) -> tuple[Finding, ...]:
    """Return what the panels' windows ask for.

    `dragged` [-]: chance by panel that water must be dragged off; `sawn` by panel: its joints are sawn.
    """
    found: list[Finding] = []
    for window, drag, cut in zip(result.windows, dragged, sawn, strict=True):
        where = f"{window.slab}, panel {window.panel}"
        found += _surface(window, mix, where)
        if drag >= 0.5:
            found.append(find("pourday", "drag-water", where=where, chance=said_chance(drag)))
        found += _window(window, where, cut)
    return (*_together(found), *_ended(result))


def _together(found: list[Finding]) -> list[Finding]:
    """Return one finding a code, the gravest of its panels, with the places of all of them."""
    groups: dict[str, list[Finding]] = {}
    for finding in found:
        groups.setdefault(finding.code, []).append(finding)
    made = []
    for group in groups.values():
        worst = max(group, key=_gravity)
        made.append(replace(worst, where="; ".join(f.where for f in group)))
    return made


def _gravity(finding: Finding) -> float:
    chance, length = finding.values.get("chance"), finding.values.get("length")
    if isinstance(chance, Quantity):
        return chance.si
    return -length.si if isinstance(length, Quantity) else 0.0


def _surface(window: PanelWindow, mix: MixDay, where: str) -> list[Finding]:
    found = []
    limit = rule("evaporation_caution" if mix.entrained else "evaporation_act") / HOUR
    if window.shrink_chance >= LIKELY:
        code = "shrink-likely" if window.shrink_chance >= GRAVE else "shrink-possible"
        found.append(
            find(
                "pourday",
                code,
                where=where,
                chance=said_chance(window.shrink_chance),
                limit=Quantity("evaporation", limit),
            )
        )
    if window.frost_chance >= 0.02:
        code = "frost-likely" if window.frost_chance >= LIKELY else "frost-possible"
        found.append(
            find(
                "pourday",
                code,
                where=where,
                chance=said_chance(window.frost_chance),
                coldest=Quantity("temperature", window.coldest),
            )
        )
    return found


def _window(window: PanelWindow, where: str, sawn: bool) -> list[Finding]:
    broom, end = window.broom.likely, window.broom_end.likely
    found = []
    if broom is not None and end is not None and end - broom < SHORT:
        found.append(
            find("pourday", "window-short", where=where, length=Quantity("duration", max(0.0, end - broom)))
        )
    saw, by = window.saw.likely, window.saw_by.likely
    if sawn and saw is not None and by is not None and by < saw:
        found.append(find("pourday", "saw-early", where=where))
    return found


def _ended(result: PourDay) -> list[Finding]:
    """Return one finding for each thing that the weather ends before, on any panel."""
    found = []
    until = Quantity("clock", result.known_until)
    unfinished = [w for w in result.windows if w.broom_end.late is None or w.final_set.late is None]
    if unfinished:
        found.append(find("pourday", "weather-ends-in-finishing", panels=len(unfinished), until=until))
    for name in AFTER:
        open_ = [w for w in result.windows if getattr(w, name).late is None]
        if open_:
            found.append(find("pourday", f"weather-ends-before-{name}", panels=len(open_), until=until))
    return found
