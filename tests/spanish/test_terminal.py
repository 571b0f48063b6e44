"""The terminal in Spanish: asked by --lang or by the environment; what is typed wrong, help, and talk."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from slabwright import measure
from slabwright.cli import main, tongue
from slabwright.cli.tongue import asked_in, of_environment, said, speaking
from slabwright.tables import table

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "side-walk" / "job.yaml"
ENGLISH = re.compile(
    r"\b(the|is|are|not|of|or|and|with|must|was|written|missing|than|cannot|this|that)\b", re.I
)
QUOTED = re.compile(r"'[^']*'|\"[^\"]*\"|`[^`]*`|--[a-z-]+")


def run(*args: str, **environment: str) -> str:
    clean = dict.fromkeys(("SLABWRIGHT_LANG", "LC_ALL", "LC_MESSAGES", "LANG"), "")
    return CliRunner().invoke(main, list(args), env={**clean, **environment}).output


@pytest.mark.parametrize(
    ("environment", "lang"),
    [
        ({}, "en"),
        ({"LANG": "es_MX.UTF-8"}, "es"),
        ({"LANG": "es"}, "es"),
        ({"LANG": "en_US.UTF-8"}, "en"),
        ({"LC_ALL": "en_US", "LANG": "es_MX"}, "en"),
        ({"SLABWRIGHT_LANG": "es", "LC_ALL": "en_US"}, "es"),
        ({"LANG": "est_EE"}, "en"),
    ],
)
def test_the_environment_asks(environment: dict[str, str], lang: str) -> None:
    assert of_environment(environment) == lang


def test_the_command_line_goes_before_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SLABWRIGHT_LANG", "es")
    assert asked_in(["check", "job.yaml"]) == "es"
    assert asked_in(["check", "job.yaml", "--lang", "en"]) == "en"
    assert asked_in(["check", "--lang=en", "job.yaml"]) == "en"
    assert asked_in(["check", "--lang", "xx"]) == "es"


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("check", "--lang", "es"), "Falta el argumento 'JOB'."),
        (("plan", "--lang", "es", "--paper", "B5", "x.yaml"), "Valor que no sirve en '--paper'"),
        (("check", "--lang", "es", "gone.yaml"), "1 error en gone.yaml; no se planeó nada."),
        (("plan", "--lang", "es", "--date", "5/4", str(EXAMPLE)), "no es una fecha"),
        (("pour", "--lang", "es", "--low", "48X", str(EXAMPLE)), "no es una unidad de temperatura"),
        (("pour", "--lang", "es", str(EXAMPLE)), "falta el clima"),
        (("price", "--lang", "es", "--book", "gone.csv", str(EXAMPLE)), "no existe el archivo o la carpeta"),
    ],
)
def test_what_is_typed_wrong_is_told_in_spanish(args: tuple[str, ...], told: str) -> None:
    output = run(*args)
    assert told in output
    assert not ENGLISH.search(QUOTED.sub("", output))


def test_what_is_brought_in_wrong_is_told_in_spanish(tmp_path: Path) -> None:
    rows = tmp_path / "readings.csv"
    rows.write_text("point,reading\nQ1,abc\n", encoding="utf-8")
    output = run("bring-in", str(EXAMPLE), str(rows), SLABWRIGHT_LANG="es")
    assert "aquí falta un número" in output
    assert "se dejó como estaba" in output
    assert "was left" not in output


def test_without_a_wish_it_speaks_english() -> None:
    assert "Missing argument" in run("check")
    assert "Usage:" in run("--help")
    assert "Uso:" in run("--help", LANG="es_MX.UTF-8")


def commands() -> list[click.Command]:
    assert isinstance(main, click.Group)
    found: list[click.Command] = []
    for one in main.commands.values():
        found += [one, *(one.commands.values() if isinstance(one, click.Group) else ())]
    return found


@pytest.mark.parametrize("command", commands(), ids=lambda one: str(one.name))
def test_every_command_and_option_has_its_help_in_spanish(command: click.Command) -> None:
    book = table("cli", "help_es")
    own = book[command.name]
    assert own["help"]
    for one in command.params:
        if isinstance(one, click.Option) and one.help:
            name = max(one.opts, key=len).lstrip("-")
            assert own.get(name) or book["shared"].get(name), f"{command.name} --{name}"


def test_help_is_left_as_it_was() -> None:
    before = [(one.help, [getattr(p, "help", None) for p in one.params]) for one in commands()]
    run("plan", "--help", SLABWRIGHT_LANG="es")
    assert before == [(one.help, [getattr(p, "help", None) for p in one.params]) for one in commands()]


def test_talk_without_words_stays_english() -> None:
    with speaking("es"):
        assert said("a sentence that nobody wrote down.") == "a sentence that nobody wrote down."
        assert said("slabwright: no completion for tcsh.") == "slabwright: no hay complemento para tcsh."
    assert said("slabwright: no completion for tcsh.") == "slabwright: no completion for tcsh."


def test_the_terminal_speaks_the_languages_of_the_house() -> None:
    assert tongue.LANGUAGES == measure.LANGUAGES
