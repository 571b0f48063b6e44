"""The harnesses of `python -m fuzz` still ask their readers, and a few spoilt files of each end in words."""

from __future__ import annotations

import random

import pytest
from fuzz.mutating import packed, spoilt_archive, spoilt_text
from fuzz.readers import READERS

QUICK = ("job", "measure", "points", "table", "weather", "workbook")


@pytest.mark.parametrize("name", QUICK)
def test_a_reader_answers_for_its_own_seeds_and_for_spoilt_ones(name: str) -> None:
    reader = READERS[name]
    seeds, ask = tuple(reader.seeds())[:12], reader.ask()
    outcomes = {ask(seed) for seed in seeds}
    dice = random.Random(name)
    for _ in range(40):
        seed = dice.choice(seeds)
        archive = reader.kind == "zip"
        outcomes.add(ask(spoilt_archive(seed, dice, 60_000) if archive else spoilt_text(seed, dice, seeds)))
    assert all(isinstance(outcome, str) and outcome for outcome in outcomes)
    assert len(outcomes) > 3, "whatever is sent, the reader says the same"


def test_what_a_reader_raises_is_not_kept_quiet(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_args: object, **_named: object) -> None:
        raise KeyError("a fault of our own")

    monkeypatch.setattr("slabwright.priced.read_books", broken)
    with pytest.raises(KeyError, match="a fault of our own"):
        READERS["table"].ask()(b"group,code\n")


def test_an_archive_is_put_together_as_it_was_told() -> None:
    assert packed([("a", b"1"), ("a", b"2")]).count(b"a") >= 2
