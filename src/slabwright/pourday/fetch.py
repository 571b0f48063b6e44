"""The US National Weather Service's forecast over the network: the one edge of the room that asks outside.

Off unless somebody calls it. Every answer is kept in a folder and used again until it is too old; a failed
request is tried again after a pause that grows; an old answer is never handed out as a fresh one.
"""

from __future__ import annotations

import hashlib
import http.client
import json
import math
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlsplit

from slabwright.pourday.model import Site
from slabwright.pourday.weather import WeatherError

SERVICE = "https://api.weather.gov"
AGAIN = {408, 425, 429, 500, 502, 503, 504}
MOST_BYTES = 20_000_000


def fetch_forecast(
    site: Site,
    *,
    agent: str,
    cache: Path | None = None,
    service: str = SERVICE,
    timeout: float = 10.0,
    tries: int = 3,
    fresh: float = 3600.0,
    pause: Callable[[float], None] = time.sleep,
    clock: Callable[[], float] = time.time,
) -> str:
    """Return the grid forecast's JSON text for a site, for `read_nws`.

    :param agent: who asks; the service wants a name and a way to reach it.
    :param cache: folder of answers, made if need be; None keeps none.
    :param timeout: for each request [s]; `tries` of them, with pauses of 1, 2, 4 ... s between.
    :param fresh: how old a kept answer may be [s].

    WeatherError where the service cannot be reached, does not know the place or answers nonsense.
    """
    if not agent.strip():
        raise WeatherError("the weather service wants to know who asks; give a name and an address")
    latitude, longitude = math.degrees(site.latitude), math.degrees(site.longitude)
    ask = _Ask(agent, cache, timeout, tries, fresh, pause, clock)
    point = ask.get(f"{service}/points/{latitude:.4f},{longitude:.4f}")
    try:
        grid = json.loads(point)["properties"]["forecastGridData"]
        parts = urlsplit(str(grid))
    except (ValueError, KeyError, TypeError) as error:
        raise WeatherError(f"the weather service did not say which forecast covers {latitude:.4f}, "
                           f"{longitude:.4f}") from error  # fmt: skip
    if parts.scheme not in {"http", "https"} or parts.netloc != urlsplit(service).netloc:
        raise WeatherError(f"the weather service sent on to another place: {str(grid)[:120]}")
    return ask.get(str(grid))


class _Ask:
    """Requests with time-outs, tries and a folder of answers."""

    def __init__(
        self,
        agent: str,
        cache: Path | None,
        timeout: float,
        tries: int,
        fresh: float,
        pause: Callable[[float], None],
        clock: Callable[[], float],
    ) -> None:
        self._agent, self._cache, self._timeout = agent, cache, timeout
        self._tries, self._fresh, self._pause, self._clock = max(1, tries), fresh, pause, clock

    def get(self, address: str) -> str:
        """Return the text at an address, from the folder while it is fresh."""
        kept = self._kept(address)
        if kept is None:
            return self._asked(address)
        try:
            age = self._clock() - kept.stat().st_mtime if kept.exists() else None
            if age is not None and 0 <= age < self._fresh:  # none is fresh that a wrong clock dated ahead
                return kept.read_text(encoding="utf-8")
            text = self._asked(address, kept if age is not None else None)
            kept.parent.mkdir(parents=True, exist_ok=True)
            half = kept.with_suffix(".part")
            half.write_text(text, encoding="utf-8")
            half.replace(kept)  # an answer is there whole or not at all
        except (OSError, UnicodeDecodeError) as error:
            raise WeatherError(
                f"answers cannot be kept in {kept.parent}: {error}. Choose another folder"
            ) from error
        return text

    def _kept(self, address: str) -> Path | None:
        if self._cache is None:
            return None
        return self._cache / f"{hashlib.sha256(address.encode()).hexdigest()[:24]}.json"

    def _asked(self, address: str, old: Path | None = None) -> str:
        """Return the text at an address; where nobody answers, the message names an old answer."""
        request = urllib.request.Request(
            address, headers={"User-Agent": self._agent, "Accept": "application/geo+json"}
        )
        said = ""
        for attempt in range(self._tries):
            if attempt:
                self._pause(2.0 ** (attempt - 1))
            try:
                with urllib.request.urlopen(request, timeout=self._timeout) as answer:
                    body = answer.read(MOST_BYTES + 1)
                if len(body) > MOST_BYTES:
                    raise WeatherError(f"{address} answered with more than {MOST_BYTES:,} bytes")
                return str(body.decode("utf-8"))
            except urllib.error.HTTPError as error:
                said = f"{error.code} {error.reason}"
                error.close()
                if error.code not in AGAIN:
                    raise WeatherError(f"the weather service refused {address}: {said}") from error
            except UnicodeDecodeError as error:
                raise WeatherError(f"{address} did not answer with text") from error
            except (OSError, http.client.HTTPException) as error:
                said = str(error) or type(error).__name__
        hint = f"; an older answer is kept in {old}, to be given as a file" if old else ""
        raise WeatherError(f"the weather service could not be reached in {self._tries} tries: {said}{hint}")
