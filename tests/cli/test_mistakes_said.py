"""Mistakes of a job file on the command line, in English and Spanish."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from slabwright.cli import main
from slabwright.cli.talk import UNUSABLE

ZOO = Path(__file__).parents[1] / "notes" / "zoo"


def run(*args: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in args])


@pytest.mark.parametrize("command", ["check", "plan", "pour", "price"])
def test_mistakes_are_said_in_the_language_asked_for(command: str) -> None:
    job = ZOO / "many-mistakes.yaml"
    made = run(command, job, "--lang", "es", *(["--book", job] if command == "price" else []))
    assert made.exit_code == UNUSABLE
    assert "levls: no es una clave de este lugar; ¿quiso decir levels?" in made.stderr
    assert '"30\' 14"" no se puede leer, en el carácter 5: pulgadas después de pies' in made.stderr
    assert f"5 errores en {job}; no se planeó nada." in made.stderr
    assert "Write for example" not in made.stderr


def test_one_mistake_is_one_and_english_is_the_default() -> None:
    job = ZOO / "width-without-unit.yaml"
    assert f"1 error en {job}; no se planeó nada." in run("check", job, "--lang", "es").stderr
    made = run("check", job)
    assert "the unit is missing" in made.stderr
    assert f"1 mistake in {job}; nothing was planned." in made.stderr


def test_readings_after_the_pour_that_cannot_be_read_are_said_in_spanish(tmp_path: Path) -> None:
    job = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"
    rows = tmp_path / "rows.csv"
    rows.write_text("point,reading\nP1,4 foots\n,5'\n", encoding="utf-8")
    made = run("as-built", job, rows, "--lang", "es")
    assert made.exit_code == UNUSABLE
    assert "'foots' no es una unidad de longitud" in made.stderr
    assert "el punto no tiene nombre" in made.stderr
