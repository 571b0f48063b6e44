"""Starting the office: its folder, its database, its static files, and a server with several workers."""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from slabwright.office.upgrade import OfficeError as OfficeError  # what this room raises

SETTINGS = "slabwright.office.settings"
Tell = Callable[[str], None]


def prepare(home: Path | None = None) -> None:
    """Set Django up for the office whose data lie in `home`; without it, in the environment's or the user's.

    Raises OfficeError where the folder cannot be used or the extra is not installed.
    """
    if home is not None:
        os.environ["SLABWRIGHT_HOME"] = str(home)
    os.environ["DJANGO_SETTINGS_MODULE"] = SETTINGS
    try:
        import django
    except ImportError as error:
        raise OfficeError(
            'the office needs its own libraries: pip install "slabwright[office]", or make office in a clone'
        ) from error
    try:
        from slabwright.office.settings import home as folder

        folder().mkdir(parents=True, exist_ok=True, mode=0o700)
        django.setup()
    except OSError as error:
        raise OfficeError(
            f"{error.filename or folder()} cannot be used: {error.strerror}. "
            "Choose another folder with --home"
        ) from error
    except ValueError as error:
        raise OfficeError(str(error)) from error


def bring_up_to_date(tell: Tell) -> None:
    """Make the database's tables what this version needs, and lay static files out. Raises OfficeError."""
    from django.core.management import call_command
    from django.db import DatabaseError, connection
    from django.db.migrations.executor import MigrationExecutor

    from slabwright.office import clock, upgrade
    from slabwright.office.settings import home

    try:
        executor = MigrationExecutor(connection)
        upgrade.not_newer(executor)
        steps = [
            (m.app_label, m.name) for m, _ in executor.migration_plan(executor.loader.graph.leaf_nodes())
        ]
        if steps:
            upgrade.hold(home(), "bringing its database to this version")
            upgrade.copy_before(executor, steps, tell)
            tell(f"the database: {len(steps)} step{'s' if len(steps) > 1 else ''} to this version")
            call_command("migrate", verbosity=0, interactive=False)
        clock.look(tell)
        call_command("collectstatic", verbosity=0, interactive=False)
    except DatabaseError as error:
        why = str(error).splitlines()[0]
        damaged = "not a database" in why or "malformed" in why
        todo = (
            "It is damaged: move it away and take a backup back, see docs/office.md"
            if damaged
            else "Is its folder writable and its disk not full?"
        )
        raise OfficeError(f"the database cannot be used: {why}. {todo}") from error
    except OSError as error:
        raise OfficeError(f"{error.filename} cannot be written: {error.strerror}") from error
    finally:
        connection.close()  # workers open their own


def bring_in(files: tuple[Path, ...], tell: Tell) -> None:
    """Bring job files in as jobs where no job has their title yet. Raises OfficeError."""
    from slabwright.files import head_of
    from slabwright.notes import NotesError
    from slabwright.notes.reader import MAX_BYTES, decode
    from slabwright.office.actions import jobs
    from slabwright.office.models import Job
    from slabwright.office.planning import tree_of

    for file in files:
        try:
            text = decode(head_of(file, MAX_BYTES), file.name)
            if Job.objects.filter(title=str(tree_of(text).get("title", ""))[:200]).exists():
                continue
            job = jobs.bring_in(person=None, text=text)
        except (OSError, NotesError) as error:
            raise OfficeError(f"{file} cannot be brought in: {error}") from error
        tell(f"brought in {job.title}")
    if files:
        from slabwright.solving import rest

        rest()  # workers are forked from this process


def warm() -> None:
    """Load the engine and plan one small job, so that the first edit is as quick as those after it."""
    import gc

    from slabwright.notes import new_job
    from slabwright.office.planning import planned

    planned(new_job("walk"), "warm")
    gc.freeze()  # what stays for good need not be looked through again: it makes single edits wait 40 ms


def free(host: str, port: int) -> bool:
    """Return whether a server may listen there."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as one:
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            one.bind((host, port))
        except OSError:
            return False
    return True


def workers_for(cores: int | None) -> int:
    """Return how many workers serve: one more than cores, for one that waits for the disk."""
    return (cores or 1) + 1


def serve(*, host: str, port: int, workers: int | None, tell: Tell) -> None:
    """Serve until told to stop. Raises OfficeError where the port is taken."""
    from gunicorn.app.base import BaseApplication

    from slabwright.office.upgrade import let_go

    if not free(host, port):
        raise OfficeError(f"port {port} of {host} is taken: choose another with --port")
    count = workers or workers_for(os.cpu_count())
    options: dict[str, Any] = {
        "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
        "workers": count,
        # A phone on a bad signal sends slowly; its thread waits, the worker does not.
        "worker_class": "gthread",
        "threads": 4,
        "timeout": 60,
        "graceful_timeout": 20,
        # A line that is kept stays with one worker, which may be busy while the others are not.
        "keepalive": 0,
        "max_requests": 5000,
        "max_requests_jitter": 500,
        "limit_request_line": 4094,
        "limit_request_field_size": 8190,
        "preload_app": True,
        "worker_tmp_dir": "/dev/shm" if Path("/dev/shm").is_dir() else None,
        "proc_name": "slabwright-office",
        "loglevel": "warning",
        # In each worker: the solver keeps threads of its own, which do not outlive a fork.
        "post_worker_init": lambda _worker: warm(),
        # The home is held by the master alone: workers that outlive it must not keep the next office out.
        "post_fork": lambda _server, _worker: let_go(),
        "control_socket_disable": True,
    }

    class Server(BaseApplication):  # type: ignore[misc]  # gunicorn has no types
        def load_config(self) -> None:
            for key, value in options.items():
                if key in self.cfg.settings and value is not None:
                    self.cfg.set(key, value)

        def load(self) -> Any:
            from django.db import connections

            from slabwright import plan  # noqa: F401  # the engine is loaded once and shared
            from slabwright.office.wsgi import application

            connections.close_all()
            return application

    tell(f"the office is open at http://{'localhost' if host in ('127.0.0.1', '::1') else host}:{port}/")
    tell(f"{count} workers; stop with Ctrl-C")
    Server().run()
