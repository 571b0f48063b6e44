"""Concrete that waited in the truck has that much less time, and nothing else changes."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import ModuleType

import pytest

from slabwright.pourday.crew_model import CrewPlan, PanelTurn, PanelWork, PlanRow
from slabwright.pourday.day import forecast
from slabwright.pourday.from_job import by_plan
from slabwright.pourday.model import Band, MixDay


def _slabs() -> ModuleType:
    spec = importlib.util.spec_from_file_location("pour_slabs", Path(__file__).with_name("slabs.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SLABS = _slabs()


def test_what_waited_sets_sooner_by_about_the_wait() -> None:
    one = SLABS.panels(1)[0]
    weather = SLABS.days(SLABS.MILD)
    fresh, old = (
        forecast(
            (replace(one, waited=waited),),
            weather,
            SLABS.CHICAGO,
            MixDay(),
            day=date(2026, 5, 14),
            samples=8,
        ).windows[0]
        for waited in (0.0, 1800.0)
    )
    assert fresh.broom_end.likely is not None
    assert old.broom_end.likely is not None
    assert fresh.broom_end.likely - old.broom_end.likely == pytest.approx(1800.0, abs=420.0)
    assert fresh.placed_at == old.placed_at


def test_panels_of_one_truck_wait_longer_and_those_of_the_next_begin_anew() -> None:
    panels = SLABS.panels(3)
    works = [PanelWork("walk", p.panel, 3.0, 1.0, "chute") for p in panels]
    begins = (25500.0, 26500.0, 29100.0)
    once = Band(0.0, 0.0, 0.0, 1.0)
    turns = tuple(
        PanelTurn("walk", p.panel, Band(t, t, t, 1.0), once, once, once, 0.0)
        for p, t in zip(panels, begins, strict=True)
    )
    best = object.__new__(PlanRow)
    crew = CrewPlan(best, (), turns, ((25200.0, 2.0), (28800.0, 1.0)), None, 0.1, 1, 1, 0.0)
    made = by_plan(panels, works, (2.0, 1.0), crew)
    assert [p.placed_at for p in made] == list(begins)
    assert [p.waited for p in made] == [0.0, 1000.0, 0.0]
