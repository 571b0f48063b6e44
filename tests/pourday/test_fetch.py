"""The client against a server on this machine: retries, time-outs, the folder of answers."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.pourday.service import Service, serving
from tests.pourday.slabs import CHICAGO

from slabwright.pourday.fetch import fetch_forecast
from slabwright.pourday.weather import WeatherError


@pytest.fixture
def service() -> Iterator[Service]:
    with serving() as made:
        yield made


def ask(service: Service, **other) -> str:
    return fetch_forecast(CHICAGO, agent="tests (tests@example.org)", service=service.address, **other)


def test_two_requests_one_answer(service: Service) -> None:
    assert json.loads(ask(service)) == {"properties": {"here": True}}
    assert [path for path, _ in service.asked] == ["/points/41.9000,-87.6000", "/gridpoints/LOT/76,73"]
    assert {agent for _, agent in service.asked} == {"tests (tests@example.org)"}


def test_tries_again_with_growing_pauses(service: Service) -> None:
    service.plan = [503, 429]
    pauses: list[float] = []
    assert ask(service, pause=pauses.append)
    assert pauses == [1.0, 2.0]


def test_gives_up(service: Service) -> None:
    service.plan = [500] * 9
    with pytest.raises(WeatherError, match="3 tries: 500"):
        ask(service, pause=lambda s: None)
    assert len(service.asked) == 3


def test_does_not_ask_again_what_is_refused(service: Service) -> None:
    service.plan = [404]
    with pytest.raises(WeatherError, match="404"):
        ask(service, pause=lambda s: None)
    assert len(service.asked) == 1


def test_time_out(service: Service) -> None:
    service.plan = ["slow"] * 2
    with pytest.raises(WeatherError, match="2 tries"):
        ask(service, timeout=0.15, tries=2, pause=lambda s: None)


def test_answers_are_kept_while_fresh(service: Service, tmp_path: Path) -> None:
    ask(service, cache=tmp_path / "kept")
    assert len(service.asked) == 2
    ask(service, cache=tmp_path / "kept")
    assert len(service.asked) == 2
    old = time.time() - 7200
    for path in (tmp_path / "kept").iterdir():
        os.utime(path, (old, old))
    ask(service, cache=tmp_path / "kept")
    assert len(service.asked) == 4
    assert all(path.suffix == ".json" for path in (tmp_path / "kept").iterdir())


def test_an_old_answer_is_no_answer(service: Service, tmp_path: Path) -> None:
    ask(service, cache=tmp_path)
    service.plan = [500] * 9
    with pytest.raises(WeatherError, match=r"an older answer is kept in .*\.json, to be given as a file"):
        ask(service, cache=tmp_path, fresh=0.0, pause=lambda s: None)


def test_is_not_sent_elsewhere(service: Service) -> None:
    service.grid = "http://example.invalid/gridpoints"
    with pytest.raises(WeatherError, match="another place"):
        ask(service)


def test_nobody_answers() -> None:
    with pytest.raises(WeatherError, match="could not be reached"):
        fetch_forecast(CHICAGO, agent="tests", service="http://127.0.0.1:9", tries=1)
    with pytest.raises(WeatherError, match="who asks"):
        fetch_forecast(CHICAGO, agent=" ")


def test_a_folder_that_cannot_be_made(service: Service, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(WeatherError, match="answers cannot be kept in"):
        ask(service, cache=tmp_path / "file" / "kept")
