"""`slabwright office` as a person at the machine meets it: starting, a taken port, a bad folder, backups."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from tests.kit.postgres import free_port

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "side-walk" / "job.yaml"


def call(*words: str, home: Path, typed: str = "") -> subprocess.CompletedProcess[str]:
    env = {k: v for k, v in os.environ.items() if not k.startswith(("SLABWRIGHT_", "DJANGO_"))}
    return subprocess.run(
        [sys.executable, "-m", "slabwright", "office", *words],
        env=env | {"SLABWRIGHT_HOME": str(home)},
        input=typed,
        capture_output=True,
        text=True,
        timeout=90,
        check=False,
    )


def test_it_opens_with_the_demo_job_and_a_first_page_and_a_backup_goes_round(tmp_path):
    """Start, first page, stop; back up; restore into another home; refuse one that holds something."""
    port, home = free_port(), tmp_path / "home"
    env = {k: v for k, v in os.environ.items() if not k.startswith(("SLABWRIGHT_", "DJANGO_"))}
    words = ["--home", str(home), "--port", str(port), "--workers", "1", "--load", str(DEMO)]
    log = (tmp_path / "log").open("wb")
    run = subprocess.Popen([sys.executable, "-m", "slabwright", "office", *words], env=env, stderr=log)
    try:
        page = ""
        for _ in range(300):
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
                    page = answer.read().decode()
                break
            except OSError:
                assert run.poll() is None, (tmp_path / "log").read_text()
                time.sleep(0.1)
        assert 'name="shop"' in page, "the first visit makes the owner's account"
    finally:
        run.terminate()
        run.wait(30)
        log.close()
    said = (tmp_path / "log").read_text()
    assert "brought in Juniper Court 7 - side walk" in said
    assert "Traceback" not in said
    assert "SIGABRT" not in said
    assert (home / "secret").stat().st_mode & 0o077 == 0
    kept = tmp_path / "kept.zip"
    done = call("backup", str(kept), home=home)
    assert done.returncode == 0, done.stderr
    assert "1 jobs, 1 revisions, 0 photos" in done.stderr
    again = call("restore", str(kept), home=tmp_path / "other")
    assert again.returncode == 0, again.stderr
    refused = call("restore", str(kept), home=tmp_path / "other")
    assert refused.returncode == 2
    assert "not empty" in refused.stderr


def test_a_taken_port_and_a_home_that_is_a_file_are_named(tmp_path):
    (tmp_path / "file").write_text("in the way")
    bad = call("--home", str(tmp_path / "file"), home=tmp_path)
    assert bad.returncode != 0
    assert "Traceback" not in bad.stderr
    assert "file" in bad.stderr
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = call("--port", str(port), home=tmp_path / "home")
    assert done.returncode == 3
    assert f"port {port} of 127.0.0.1 is taken" in done.stderr
    assert "--port" in done.stderr


@pytest.mark.parametrize("content", ["", "not a zip"])
def test_what_is_no_backup_is_refused(tmp_path, content):
    bad = tmp_path / "bad.zip"
    bad.write_text(content)
    done = call("restore", str(bad), home=tmp_path / "home")
    assert done.returncode == 2
    assert "is no backup" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_password_for_nobody_is_said(tmp_path):
    done = call("password", "nobody@example.test", home=tmp_path / "home")
    assert done.returncode == 2
    assert "nobody here has the address" in done.stderr


def test_a_database_address_of_another_kind_is_refused(tmp_path):
    env = os.environ | {"SLABWRIGHT_DATABASE": "mysql://here/office", "SLABWRIGHT_HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-m", "slabwright", "office"],
        env=env,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 3
    assert "write postgresql://" in done.stderr
