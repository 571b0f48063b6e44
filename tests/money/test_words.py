"""Findings of the room: every text whole in both languages, every code used, every source known."""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, get_args, get_origin, get_type_hints

import pytest

import slabwright
from slabwright.findings import catalogue
from slabwright.money.quoting import deposit_limits
from slabwright.sheets.document import nomenclature
from slabwright.sources import all_sources

ROOM = Path(slabwright.__file__).parent / "money"
CODE = "\n".join(path.read_text(encoding="utf-8") for path in ROOM.glob("*.py"))


def test_every_finding_is_used_and_every_one_used_has_a_text() -> None:
    used = set(re.findall(r'find\(\s*"money",\s*"([a-z-]+)"', CODE))
    used |= set(re.findall(r'(?:RowError|ChangeError)\(\s*"([a-z-]+)"', CODE))
    used |= set(re.findall(r'code = "([a-z-]+)" if', CODE))
    assert used <= set(catalogue("money"))
    assert set(catalogue("money")) - used <= {"row-share-of"}


def test_limits_on_deposits_have_sources() -> None:
    for row in deposit_limits().values():
        assert row["source"] in all_sources()


def test_sources_named_in_comments_exist() -> None:
    for key in re.findall(r"\(?[sS]ource ([a-z0-9-]+[a-z0-9])", CODE):
        assert key in all_sources(), key


def has_floats(hint: Any) -> bool:
    if hint is float:
        return True
    origin = get_origin(hint)
    if origin in (tuple, Mapping, typing.Union, types.UnionType) or (
        isinstance(origin, type) and issubclass(origin, Mapping)
    ):
        return any(has_floats(arg) for arg in get_args(hint))
    return False


@pytest.mark.parametrize("module", ["model", "model_paper", "path", "days"])
def test_every_float_of_a_record_has_a_unit(module: str) -> None:
    held = import_module(f"slabwright.money.{module}")
    records = [v for v in vars(held).values() if isinstance(v, type) and is_dataclass(v)]
    own = [kind for kind in records if kind.__module__ == held.__name__]
    floats = {f.name for kind in own for f in fields(kind) if has_floats(get_type_hints(kind)[f.name])}
    assert floats <= set(nomenclature())
    assert own


def test_money_is_never_a_float() -> None:
    held = import_module("slabwright.money.model")
    for kind in vars(held).values():
        if isinstance(kind, type) and is_dataclass(kind) and kind.__module__ == held.__name__:
            for name, hint in get_type_hints(kind).items():
                if re.search(r"price|cost|total|direct|contingency|wage", name) and hint is float:
                    raise AssertionError(f"{kind.__name__}.{name}")
