"""What the tests need from Debian is asked for where it is missing, and said where it cannot be had."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from tests.kit.databases import missing

SCRIPT = Path("tests/setup-debian.sh").resolve()
Done = subprocess.CompletedProcess[str]
FAKE = '#!/bin/bash\necho "$@" >> "$ASKED"\nexit "${APT_ENDS:-0}"\n'


@pytest.fixture
def shell(tmp_path):
    """Return run(with_apt, ends): the script on a machine that has hardly any program."""
    programs = tmp_path / "bin"
    programs.mkdir()
    for name in ("bash", "id", "env", "mktemp", "rm", "tail", "postgres", "initdb"):
        (programs / name).symlink_to(shutil.which(name) or "/bin/true")
    asked = tmp_path / "asked"

    def run(*, with_apt: bool, ends: int = 0, also: str = "") -> tuple[Done, str]:
        for name in also.split():
            (programs / name).symlink_to("/bin/true")
        if with_apt:
            apt = programs / "apt-get"
            apt.write_text(FAKE)
            apt.chmod(0o755)
        env = {"PATH": str(programs), "ASKED": str(asked), "APT_ENDS": str(ends), "TMPDIR": str(tmp_path)}
        done = subprocess.run(["bash", SCRIPT], env=env, capture_output=True, text=True, check=False)
        return done, asked.read_text() if asked.exists() else ""

    return run


def test_with_everything_there_it_says_and_does_nothing(shell):
    done, asked = shell(with_apt=True, also="chromium")
    assert (done.returncode, done.stdout, done.stderr, asked) == (0, "", "", "")


def test_without_apt_it_names_what_is_missing_and_which_tests_go_without(shell):
    done, _ = shell(with_apt=False)
    assert done.returncode == 0
    assert "not installed: chromium" in done.stdout
    assert "tests/browser are skipped" in done.stdout
    assert "postgresql" not in done.stdout


@pytest.mark.skipif(os.getuid() != 0, reason="asks apt-get only as root")
def test_as_root_only_what_is_missing_is_asked_for(shell):
    done, asked = shell(with_apt=True)
    assert done.returncode == 0, done.stderr
    assert asked.splitlines() == ["update", "install --yes --no-install-recommends chromium"]


@pytest.mark.skipif(os.getuid() != 0, reason="asks apt-get only as root")
def test_when_apt_cannot_it_says_so_and_goes_on(shell):
    done, _ = shell(with_apt=True, ends=100)
    assert done.returncode == 0
    assert "apt-get could not install: chromium" in done.stdout


def test_a_missing_program_skips_a_test_but_fails_it_where_nothing_may_be_left_out(monkeypatch):
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match=r"need Chromium: tests/setup-debian\.sh"):
        missing("Chromium", "tests in a browser")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="need Chromium"):
        missing("Chromium", "tests in a browser")
