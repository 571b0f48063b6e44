"""A small good job that tests change."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import BaseModel

from slabwright.notes.values import Reading

GOOD = """\
title: Quince Lane 4 - walk
house:
  walls: [A, B]
  doors: [{name: back door, on: A-B, from: 8', width: 2' 8, sill: sill}]
tape:
  - A-B: 30'
  - {from: A, to: P1, reads: 10' 2 3/8, with: steel}
square-off:
  - P1: {wall: A-B, along: 9', out: 4' 9}
  - {point: P2, wall: A-B, along: 24', out: 4' 9}
  - Q1: {wall: A-B, along: 9', out: 3'}
  - Q2: {wall: A-B, along: 9', out: 8'}
levels:
  - set-up: S1
    rod: {sill: 4' 1, Q1: 4' 8, Q2: 4' 9 1/4}
existing:
  - {name: old patio, edge: [Q1, Q2]}
slabs:
  - name: side walk
    use: walk
    along: [P1, P2]
    width: 3'
    meets: [{existing: old patio}]
"""


@pytest.fixture
def good() -> str:
    return GOOD


@pytest.fixture
def same() -> Any:
    """Return a comparison of records that leaves the lines they were written on out of account."""

    def bare(value: Any) -> Any:
        if isinstance(value, BaseModel):
            return {name: bare(getattr(value, name)) for name in type(value).model_fields}
        if isinstance(value, Reading):
            return value.si
        if isinstance(value, dict):
            return {key: bare(inner) for key, inner in value.items()}
        return [bare(inner) for inner in value] if isinstance(value, tuple) else value

    return lambda one, other: bare(one) == bare(other)
