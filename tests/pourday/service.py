"""A weather service on this machine, which answers as it is told to."""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Service(ThreadingHTTPServer):
    """Answers as it is told to, and keeps what was asked."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.asked: list[tuple[str, str]] = []
        self.answer: dict = {"properties": {"here": True}}
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
            body = json.dumps(self.server.answer)
        try:
            self.send_response(int(status))
            self.end_headers()
            if status == 200:
                self.wfile.write(body.encode())
        except OSError:
            pass

    def log_message(self, *args: object) -> None:
        """Say nothing."""


@contextmanager
def serving() -> Iterator[Service]:
    made = Service()
    thread = threading.Thread(target=made.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield made
    finally:
        made.shutdown()
        made.server_close()
        thread.join()


def grid(begins: str, *, hours: int = 96) -> dict:
    """A grid forecast in the service's documented shape: mild and dry, from a moment in UTC on."""

    def layer(unit: str, *values: float) -> dict:
        each = hours // len(values)
        day, hour = begins[:10], int(begins[11:13])
        rows = []
        for n, value in enumerate(values):
            at = hour + n * each
            date_ = f"{day[:8]}{int(day[8:]) + at // 24:02d}"
            rows.append({"validTime": f"{date_}T{at % 24:02d}:00:00+00:00/PT{each}H", "value": value})
        return {"uom": unit, "values": rows}

    return {
        "properties": {
            "temperature": layer("wmoUnit:degC", 12, 20, 12, 20, 12, 20, 12, 20),
            "dewpoint": layer("wmoUnit:degC", 8),
            "windSpeed": layer("wmoUnit:km_h-1", 8),
            "skyCover": layer("wmoUnit:percent", 40),
            "probabilityOfPrecipitation": layer("wmoUnit:percent", 10),
        }
    }
