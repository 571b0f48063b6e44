"""Django made ready for tests: settings from a folder of this run alone, never from a person's own office."""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import tempfile
from pathlib import Path

SETTINGS = "slabwright.office.settings"
SECRET = "signs only what the tests make, and is known to everybody"


def home() -> Path:
    """Return this process's SLABWRIGHT_HOME; call `django_ready` first."""
    return Path(os.environ["SLABWRIGHT_HOME"])


def django_ready() -> None:
    """Load the office's settings for tests that run in this process; the second call does nothing.

    What differs from a real office, all of it for speed: passwords are hashed by a quick method, static
    files are not compressed, and SQLite does not wait for the disk. `office` (tests/kit/serving.py) starts
    the real thing.
    """
    if loaded():
        return
    for name in [n for n in os.environ if n.startswith("SLABWRIGHT_")]:
        del os.environ[name]
    folder = Path(tempfile.mkdtemp(prefix="slabwright-office-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    (folder / "static").mkdir()
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": SETTINGS,
        "SLABWRIGHT_HOME": str(folder),
        "SLABWRIGHT_SECRET": SECRET,
        # Playwright keeps an event loop in the thread of the tests, which Django takes for an asynchronous
        # program; the tests are not.
        "DJANGO_ALLOW_ASYNC_UNSAFE": "1",
    }
    import django
    from django.conf import settings

    settings.DATABASES  # noqa: B018 - loads them
    # Not handed on: a worker started by this process must load its own, in a folder of its own.
    del os.environ["DJANGO_SETTINGS_MODULE"]
    settings.PASSWORD_HASHERS = ["tests.kit.hashing.Quick"]
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = {**settings.STORAGES, "staticfiles": plain}
    default = settings.DATABASES["default"]
    # A file, as in an office: in memory several threads would lock each other out.
    default["TEST"] = {"NAME": str(folder / "test.sqlite3")}
    options = default.get("OPTIONS", {})
    if "init_command" in options:
        options["init_command"] = options["init_command"].replace("synchronous=FULL", "synchronous=OFF")
    django.setup()


def blocked(config: object) -> None:
    """Make a test that touches the database without asking for it fail, however late Django was loaded."""
    from pytest_django.plugin import blocking_manager_key

    blocker = config.stash[blocking_manager_key]  # type: ignore[attr-defined]
    if not blocker.is_active:
        blocker.block()


def loaded() -> bool:
    """Whether this process has its settings already."""
    conf = sys.modules.get("django.conf")
    return conf is not None and bool(conf.settings.configured)
