"""The client against a server on this machine: retries, time-outs, the folder of answers."""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from tests.pourday.slabs import CHICAGO

from slabwright.pourday.fetch import fetch_forecast
from slabwright.pourday.weather import WeatherError


class Service(ThreadingHTTPServer):
    """Answers as it is told to, and keeps what was asked."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.asked: list[tuple[str, str]] = []
        self.plan: list[int | str] = []  # statuses to answer with before the good answer; 'slow' waits
        self.grid = f"http://127.0.0.1:{self.server_address[1]}/gridpoints/LOT/76,73"

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}"


class Handler(BaseHTTPRequestHandler):
    server: Service

    def do_GET(self) -> None:
        self.server.asked.append((self.path, self.headers["User-Agent"]))
        status = self.server.plan.pop(0) if self.server.plan else 200
        if status == "slow":
            time.sleep(0.6)
            status = 503
        if self.path.startswith("/points"):
            body = json.dumps({"properties": {"forecastGridData": self.server.grid}})
        else:
            body = json.dumps({"properties": {"here": True}})
        try:
            self.send_response(int(status))
            self.end_headers()
            if status == 200:
                self.wfile.write(body.encode())
        except OSError:
            pass

    def log_message(self, *args: object) -> None:
        """Say nothing."""


@pytest.fixture
def service() -> Iterator[Service]:
    made = Service()
    thread = threading.Thread(target=made.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    yield made
    made.shutdown()
    made.server_close()
    thread.join()


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
    with pytest.raises(WeatherError):
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
