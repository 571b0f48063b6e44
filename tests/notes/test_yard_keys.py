"""Lawns, sprinkler lines, fences and ground to keep off: read, and checked for points that have no place."""

from __future__ import annotations

import pytest

from slabwright.notes import NotesError, parse_notes

JOB = """
title: yard
baseline: [A, B]
tape: [{from: A, to: B, reads: 40'}]
points: {P1: [5', 5'], P2: [20', 5'], P3: [20', 25'], K1: [0', 30']}
levels: [{set-up: S1, rod: {P1: 4', P2: 4' 2}}]
sprinklers: [{head: H1, at: P1, throw: 12', line: west}]
lawns: [{name: lawn, corners: [P1, P2, %(lawn)s]}]
sprinkler-lines: [{line: west, most: 12 gpm, pipe: 3/4 in}]
off-paving: strict
buried: [{kind: sprinkler, along: [P1, P2], pipe: 1 in}]
slabs: [{name: walk, use: walk, along: [P1, P2], width: 3'}]
access:
  truck-stops-at: K1
  or-stops-at: [%(stand)s]
  barrow-width: 26
  fences: [{name: side, along: [P1, %(fence)s]}]
  keep-off: [{name: bed, corners: [P1, P2, %(bed)s]}]
"""
GOOD = {"lawn": "P3", "stand": "P2", "fence": "P3", "bed": "P3"}


def test_all_are_read() -> None:
    notes = parse_notes(JOB % GOOD)
    assert notes.lawns[0].corners == ("P1", "P2", "P3")
    assert notes.sprinkler_lines[0].most == pytest.approx(12 * 6.30901964e-05)
    assert notes.sprinkler_lines[0].pipe == pytest.approx(0.75 * 0.0254)
    assert notes.off_paving == "strict"
    assert notes.buried[0].pipe == pytest.approx(0.0254)
    assert notes.access.barrow_width == pytest.approx(26 * 0.0254)
    assert notes.access.fences[0].along == ("P1", "P3")


@pytest.mark.parametrize("key", sorted(GOOD))
def test_a_point_that_was_never_measured(key: str) -> None:
    with pytest.raises(NotesError) as told:
        parse_notes(JOB % {**GOOD, key: "P9"})
    assert "P9" in str(told.value)
    assert "was never measured" in str(told.value)
