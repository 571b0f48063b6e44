"""A job is made in its own system and on its own soil."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright.notes.reader import parse_notes
from slabwright.plan import make

TEXT = (Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml").read_text()


def test_a_metric_job_buys_metric_bars_and_boards() -> None:
    text = TEXT.replace("  stock: [8', 10', 12', 16']\n", "")
    text = "\n".join(
        row for row in text.splitlines() if "size: 2x" not in row and row.strip() not in ("boards:",)
    )  # no pile
    plan = make(parse_notes(text.replace("units: imperial", "units: metric")))
    bought = {round(length, 4) for lot in plan.built.steel for length, _ in lot.stock}
    assert bought == {6.0}
    boards = {round(b.stock, 4) for b in plan.built.forms.boards if b.origin == "yard"}
    assert boards
    assert all(length * 10 == pytest.approx(round(length * 10)) for length in boards)
    imperial = make(parse_notes(text))
    assert {round(length, 4) for lot in imperial.built.steel for length, _ in lot.stock} == {6.096}


def test_wheels_are_checked_on_the_soil_that_is_there() -> None:
    from slabwright.slab.thickness import subgrade

    assert subgrade("sand") > subgrade("clay")
    shares = []
    for soil in ("sand", "clay"):
        text = TEXT.replace("use: walk", "use: driveway", 1)
        notes = parse_notes(text)
        notes = notes.model_copy(update={"place": notes.place.model_copy(update={"soil": soil})})
        found = [f for f in make(notes).findings if f.code in ("thickness-wheel", "thickness-edge")]
        shares.append([f.values["edge"].si for f in found])  # type: ignore[union-attr]
    assert shares[0] != shares[1]
    assert max(shares[0], default=0.0) < max(shares[1], default=0.0)
