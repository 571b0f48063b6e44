"""A real office for tests: its own process with its workers, its own home, on SQLite or PostgreSQL.

Fixtures: `office` is one that runs on from test to test and is emptied before each; `own_office` makes one
for the test alone, to be killed, starved or set up otherwise. While either is there, models in the test speak
to its database.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from tests.kit import databases, postgres, ready
from tests.kit.postgres import free_port

START = 40.0  # [s] until it must answer, on a machine that is busy


@dataclass(slots=True)
class Office:
    """One office and its process; `database` is what SLABWRIGHT_DATABASE says, empty for SQLite in `home`."""

    home: Path
    database: str
    workers: int = 1
    more: dict[str, str] = field(default_factory=dict)
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Return its address without a slash at the end."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def log(self) -> str:
        """Return what it wrote so far."""
        path = self.home / "log.txt"
        return path.read_text(encoding="utf-8", errors="replace") if path.exists() else ""

    def environment(self) -> dict[str, str]:
        """Return the environment of its processes: this one's, with its own home, database and secret."""
        left_out = ("DJANGO_", "SLABWRIGHT_", "PYTEST_")
        env = {k: v for k, v in os.environ.items() if not k.startswith(left_out)}
        return env | {
            "DJANGO_SETTINGS_MODULE": ready.SETTINGS,
            "SLABWRIGHT_HOME": str(self.home),
            "SLABWRIGHT_DATABASE": self.database,
            "SLABWRIGHT_SECRET": ready.SECRET,
            **self.more,
        }

    def manage(self, *words: str) -> str:
        """Run a command of Django's or the office's on it; return its words, or raise RuntimeError."""
        call = [sys.executable, "-m", "django", *words]
        run = subprocess.run(call, env=self.environment(), capture_output=True, text=True, check=False)
        if run.returncode:
            raise RuntimeError(f"{' '.join(words)}: {run.stderr or run.stdout}")
        return run.stdout

    def start(self) -> None:
        """Start its workers and wait until it answers; RuntimeError with its log when it does not."""
        # Whatever ends the tests, the office ends with them.
        call = ["setpriv", "--pdeathsig", "TERM", "--"] if shutil.which("setpriv") else []
        call += [sys.executable, "-m", "slabwright", "office"]
        call += ["--port", str(self.port), "--workers", str(self.workers)]
        with (self.home / "log.txt").open("ab") as out:
            self.process = subprocess.Popen(
                call, env=self.environment(), stdout=out, stderr=out, start_new_session=True, cwd=self.home
            )
        end = time.monotonic() + START
        while not self.answers():
            if self.process.poll() is not None or time.monotonic() > end:
                self.kill()
                raise RuntimeError(f"the office did not start:\n{self.log[-4000:]}")
            time.sleep(0.05)

    def answers(self) -> bool:
        """Whether its health page says that it stands."""
        try:
            with urllib.request.urlopen(f"{self.url}/health/", timeout=5) as answer:
                return bool(answer.status == 200)
        except (urllib.error.URLError, OSError):
            return False

    def stop(self) -> None:
        """Stop it as a service manager would; kill it when that takes too long."""
        if self.process is None:
            return
        if self.process.poll() is None:
            self.process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(10)
        self.kill()

    def kill(self) -> None:
        """End it and its workers at once, as `kill -9` does."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None


@dataclass(slots=True)
class Kind:
    """How offices on one kind of database are made new: from an image with every table, made once."""

    server: postgres.Server | None
    folder: Path
    made: int = 0
    stands: bool = False  # whether the image is whole

    def _image(self) -> Office:
        """Return the office that stands as the image, tables made and static files gathered once."""
        home = self.folder / "image"
        database = self.server.url("image") if self.server else ""
        image = Office(home, database)
        if not self.stands:
            home.mkdir(exist_ok=True)
            if self.server:
                self.server.drop("image")
                self.server.create("image")
            image.manage("migrate", "--verbosity", "0", "--no-input")
            image.manage("collectstatic", "--verbosity", "0", "--no-input")
            self.stands = True
        return image

    def new(self, **more: Any) -> Office:
        """Return an office with a home and a database of its own, not started."""
        image = self._image()
        self.made += 1
        home = self.folder / f"office-{self.made}"
        home.mkdir()
        shutil.copytree(image.home / "static", home / "static")
        office = Office(home, self.server.url(home.name) if self.server else "", **more)
        self.empty(office)
        return office

    def empty(self, office: Office) -> None:
        """Put an office back to how it was when it was new; it may go on running."""
        shutil.rmtree(office.home / "photos", ignore_errors=True)
        if self.server:
            self.server.drop(office.home.name)
            self.server.create(office.home.name, like="image")
            return
        with (
            contextlib.closing(sqlite3.connect(self.folder / "image/office.sqlite3")) as image,
            contextlib.closing(sqlite3.connect(office.home / "office.sqlite3")) as own,
        ):
            image.backup(own)


@pytest.fixture(scope="session")
def _kinds(request: pytest.FixtureRequest) -> Iterator[Callable[[str], Kind]]:
    """Return a way to each kind of office; their folders go at the end."""
    folder = Path(tempfile.mkdtemp(prefix="slabwright-offices-"))
    kinds: dict[str, Kind] = {}

    def kind(name: str) -> Kind:
        if name not in kinds:
            server = request.getfixturevalue("postgres_server") if name == "postgresql" else None
            (folder / name).mkdir()
            kinds[name] = Kind(server, folder / name)
        return kinds[name]

    yield kind
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def _standing(_kinds: Callable[[str], Kind]) -> Iterator[Callable[[str], Office]]:
    """Return a way to the office that runs on from test to test, one of each kind."""
    up: dict[str, Office] = {}

    def standing(name: str) -> Office:
        office = up.get(name)
        if office is None:
            office = up[name] = _kinds(name).new()
            office.start()
        elif office.process is None or office.process.poll() is not None or not office.answers():
            office.kill()
            _kinds(name).empty(office)
            office.start()
        else:
            _kinds(name).empty(office)
        return office

    yield standing
    for office in up.values():
        office.kill()


def _wanted(request: pytest.FixtureRequest) -> str:
    callspec = getattr(request.node, "callspec", None)
    return str(callspec.params.get("each_database", "sqlite")) if callspec else "sqlite"


@contextlib.contextmanager
def speaking_to(office: Office, blocker: Any) -> Iterator[None]:
    """Let models in this thread speak to the office's database."""
    record = databases.record(office.database or str(office.home / "office.sqlite3"))
    with blocker.unblock(), databases.turned_to(record):
        yield


@pytest.fixture
def office(
    request: pytest.FixtureRequest, _standing: Callable[[str], Office], django_db_blocker: Any
) -> Iterator[Office]:
    """Return a running office with nothing in it, on SQLite, or on what `each_database` says."""
    standing = _standing(_wanted(request))
    with speaking_to(standing, django_db_blocker):
        yield standing


@pytest.fixture
def own_office(
    request: pytest.FixtureRequest, _kinds: Callable[[str], Kind], django_db_blocker: Any
) -> Iterator[Callable[..., Office]]:
    """Return a maker of offices for this test alone: own_office(workers=2, more={"SLABWRIGHT_HTTPS": "1"}).

    It is not started: call `start()`. Models speak to the one that was made last.
    """
    kind, made = _kinds(_wanted(request)), []
    with contextlib.ExitStack() as stack:

        def make(**more: Any) -> Office:
            office = kind.new(**more)
            made.append(office)
            stack.callback(office.kill)
            stack.enter_context(speaking_to(office, django_db_blocker))
            return office

        yield make
