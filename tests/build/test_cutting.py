"""Cutting plans: against full enumeration, against what wood allows, and bad stock."""

from __future__ import annotations

import itertools
import random
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.build.cut_problem import cost_range, set_up
from slabwright.build.cutting import Cutting, Stock, _first_plans, _grow, cut
from slabwright.build.master import Master

FT = 0.3048
KERF = 0.0254 / 8


def least_cost(pieces: list[int], stocks: list[Stock], kerf: int) -> float:
    """Try every way to share pieces out over boards (small cases only)."""
    best = float("inf")

    def price(groups: list[list[int]]) -> float:
        offers = []
        for group in groups:
            used = sum(group) + kerf * (len(group) - 1)
            offers.append([(s.cost, i) for i, s in enumerate(stocks) if s.length >= used])
        if any(not o for o in offers):
            return float("inf")
        least = float("inf")
        for choice in itertools.product(*offers):
            counts = Counter(i for _, i in choice)
            if all(stocks[i].limit is None or n <= (stocks[i].limit or 0) for i, n in counts.items()):
                least = min(least, sum(c for c, _ in choice))
        return least

    def share(left: list[int], groups: list[list[int]]) -> None:
        nonlocal best
        if not left:
            best = min(best, price(groups))
            return
        for group in groups:
            group.append(left[0])
            share(left[1:], groups)
            group.pop()
        share(left[1:], [*groups, [left[0]]])

    share(pieces, [])
    return best


def check(plan: Cutting, pieces: list[tuple[float, int]], kerf: float) -> None:
    wanted = Counter({length: 0 for length, _ in pieces})
    for length, number in pieces:
        wanted[length] += number
    got = Counter(length for one in plan.cuts for length in one.pieces)
    for length, number in plan.uncut:
        got[length] += number
    assert +got == +wanted
    for one in plan.cuts:
        used = sum(one.pieces) + kerf * (len(one.pieces) - 1)
        assert used <= one.stock.length + 1e-9
        assert one.left == pytest.approx(max(0.0, one.stock.length - used - kerf), abs=1e-9)
    for stock, number in Counter(one.stock for one in plan.cuts).items():
        assert stock.limit is None or number <= stock.limit
    assert plan.cost == pytest.approx(sum(one.stock.cost for one in plan.cuts))
    assert plan.bound <= plan.cost + 1e-6


@settings(max_examples=60, deadline=None)
@given(
    pieces=st.lists(st.integers(1, 12), min_size=1, max_size=6),
    kerf=st.sampled_from([0, 1]),
    boards=st.lists(
        st.tuples(st.integers(6, 20), st.sampled_from([1, 2, 5, 7]), st.sampled_from([None, 1, 2])),
        min_size=1,
        max_size=3,
        unique_by=lambda b: b[0],
    ),
)
def test_no_sharing_out_is_cheaper(
    pieces: list[int], kerf: int, boards: list[tuple[int, int, int | None]]
) -> None:
    stocks = [Stock(float(a), float(c), n) for a, c, n in boards]
    stocks.append(Stock(25.0, 9.0))  # so that every case can be cut
    plan = cut([(float(p), 1) for p in pieces], stocks, kerf=float(kerf), grain=1.0)
    check(plan, [(float(p), 1) for p in pieces], float(kerf))
    assert plan.proved
    assert plan.cost == pytest.approx(least_cost(pieces, stocks, kerf))


@settings(max_examples=25, deadline=None)
@given(
    pieces=st.lists(
        st.tuples(st.floats(0.2, 5.9, allow_nan=False), st.integers(1, 4)), min_size=1, max_size=12
    )
)
def test_boards_of_a_job_hold_what_is_cut_from_them(pieces: list[tuple[float, int]]) -> None:
    stocks = [Stock(n * FT, n * FT) for n in range(8, 22, 2)]
    stocks += [Stock(3.1, 0.39, 2, "pile"), Stock(1.2, 0.15, 3, "pile")]
    plan = cut(pieces, stocks, kerf=KERF)
    check(plan, pieces, KERF)
    assert not plan.uncut
    assert plan.cost >= plan.bound - 1e-6


def test_form_lumber_takes_nine_boards() -> None:
    """The pieces are 128 ft 2 in together, eight 16 ft boards hold 128 ft: nine is the least."""
    pieces = [(10 * FT, 3), (7.5 * FT, 4), (6 * FT, 5), ((4 + 8 / 12) * FT, 4), (3.25 * FT, 6)]
    assert sum(length * number for length, number in pieces) / FT == pytest.approx(128 + 2 / 12)
    plan = cut(pieces, [Stock(16 * FT, 1.0)], kerf=KERF)
    check(plan, pieces, KERF)
    assert (plan.cost, plan.proved) == (9.0, True)


def test_pile_is_used_before_new_boards() -> None:
    stocks = [Stock(8 * FT, 8 * FT), Stock(10 * FT, 10 * FT / 8, 2, "pile")]
    plan = cut([(5 * FT, 3)], stocks, kerf=0.0)
    assert [one.stock.origin for one in plan.cuts] == ["pile", "pile"]
    assert plan.proved


def test_a_piece_longer_than_every_board_is_handed_back() -> None:
    plan = cut([(5.0, 2), (1.0, 1)], [Stock(4.0, 4.0)])
    assert plan.uncut == ((5.0, 2),)
    assert [one.pieces for one in plan.cuts] == [(1.0,)]


def test_a_pile_too_small_hands_back_what_is_missing() -> None:
    plan = cut([(2.0, 5)], [Stock(4.0, 1.0, 2)], grain=1.0)
    assert plan.uncut == ((2.0, 1),)
    assert len(plan.cuts) == 2
    assert not plan.proved


def test_a_pile_all_too_short_cuts_nothing() -> None:
    plan = cut([(2.0, 5)], [Stock(1.0, 1.0, 9)])
    assert plan.cuts == ()
    assert plan.uncut == ((2.0, 5),)


def test_nothing_wanted_costs_nothing() -> None:
    assert cut([], [Stock(4.0, 1.0)]).cost == 0.0
    assert cut([(1.0, 0)], [Stock(4.0, 1.0)]).cuts == ()


def test_exact_fits_are_fits() -> None:
    """Three pieces of 5 ft 4 in come out of 16 ft without a saw cut, and do not with one."""
    piece = (5 + 4 / 12) * FT
    assert len(cut([(piece, 3)], [Stock(16 * FT, 1.0)]).cuts) == 1
    assert len(cut([(piece, 3)], [Stock(16 * FT, 1.0)], kerf=KERF).cuts) == 2
    # The last saw cut is not needed: two of 7 ft 11 15/16 in and one cut make 16 ft exactly.
    half = (8 - 1 / 192) * FT
    assert len(cut([(half, 2)], [Stock(16 * FT, 1.0)], kerf=KERF).cuts) == 1


def test_same_pieces_same_boards() -> None:
    pieces = [(0.37 * n + 0.4, 1 + n % 3) for n in range(14)]
    stocks = [Stock(n * FT, n * FT) for n in (8, 10, 12, 16)]
    one = cut(pieces, stocks, kerf=KERF)
    assert cut(pieces, stocks, kerf=KERF) == one
    # The order in which pieces are asked for does not change the cost.
    assert cut(pieces[::-1], stocks, kerf=KERF).cost == pytest.approx(one.cost)


@pytest.mark.parametrize("bad", [(-1.0, 1), (0.0, 1), (float("nan"), 1), (float("inf"), 1), (1.0, -1)])
def test_what_cannot_be_a_piece(bad: tuple[float, int]) -> None:
    with pytest.raises(ValueError, match="cannot be cut"):
        cut([bad], [Stock(4.0, 1.0)])


def test_what_cannot_be_stock() -> None:
    with pytest.raises(ValueError, match="cannot be used"):
        cut([(1.0, 1)], [Stock(0.0, 1.0)])
    with pytest.raises(ValueError, match="coarser grain"):
        cut([(1.0, 1)], [Stock(4.0, 1.0)], grain=1e-6)


def test_the_solver_is_silent(capfd: pytest.CaptureFixture[str]) -> None:
    cut([(1.1, 7), (0.7, 4)], [Stock(4.0, 1.0), Stock(3.0, 0.8)])
    assert capfd.readouterr() == ("", "")


ODD = [Stock(17, 17 / 8, 1, "pile"), Stock(11, 11 / 8, 2, "pile"), Stock(9, 9 / 8, 1, "pile")]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(3, 19), min_size=3, max_size=6), st.integers(0, 3))
def test_no_sharing_out_is_cheaper_with_a_pile_of_odd_lengths(pieces: list[int], piles: int) -> None:
    """A pile costs an eighth of its length: costs have no common step, and yet the proof closes."""
    stocks = [Stock(20, 20), Stock(14, 14), *ODD[:piles]]
    plan = cut([(float(p), 1) for p in pieces], stocks, kerf=1.0, grain=1.0)
    best = least_cost(pieces, stocks, 1)
    assert plan.bound <= best + 1e-6
    assert plan.proved
    assert plan.cost == pytest.approx(best)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(3, 19), min_size=3, max_size=6), st.integers(1, 3))
def test_the_costs_left_for_a_cheaper_plan_hold_the_cheapest(pieces: list[int], piles: int) -> None:
    stocks = [Stock(20, 20), Stock(14, 14), *ODD[:piles]]
    problem, _ = set_up([(float(p), 1) for p in pieces], stocks, 1.0, 1.0)
    master = Master(problem.numbers, problem.limits, problem.leave)
    _first_plans(problem, master)
    root = _grow(problem, master, problem.numbers, problem.limits)
    assert root is not None
    best = least_cost(pieces, stocks, 1)
    for more in (0.0, 1.0, 5.0):  # plans as good as can be, and worse ones
        low, high = cost_range(problem, root[0], root[3], best + more)
        assert root[0] - 1e-6 <= low <= best + 1e-6
        assert more == 0.0 or low - 1e-6 <= best <= high + 1e-6


def test_a_pile_of_odd_lengths_leaves_few_costs() -> None:
    """Boards of 10 and a pile of one 7.3: a plan costs 10 k, or 10 k + 7.3 / 8 and then has used the pile."""
    stocks = [Stock(10.0, 10.0), Stock(7.3, 7.3 / 8, 1, "pile")]
    problem, _ = set_up([(3.0, 12)], stocks, 0.0, 0.1)
    low, high = cost_range(problem, 31.0, [0.0 if b.limit is None else -5.0 for b in problem.boards], 50.0)
    assert (low, high) == pytest.approx((40.0, 40.0 + 7.3 / 8))
    assert cost_range(problem, 40.95, [0.0] * 2, 50.0) == pytest.approx((50.0, 50.0))
    assert problem.lift(40.95) == pytest.approx(40.95)


def test_tract_sized_jobs_with_an_odd_pile_are_proved() -> None:
    """Of eight jobs like those of the bench, each with 60 to 100 pieces, seven or more."""
    proved = 0
    for seed in range(1008, 1016):
        rng = random.Random(seed)
        pieces = [(rng.uniform(0.6, 6.0), 1) for _ in range(rng.randint(60, 100))]
        lengths = [(rng.uniform(1.0, 4.9), rng.randint(1, 3)) for _ in range(rng.randint(3, 8))]
        pile = [Stock(length, length / 8, count, "pile") for length, count in lengths]
        plan = cut(pieces, [*(Stock(n * FT, n * FT) for n in range(8, 22, 2)), *pile], kerf=KERF)
        check(plan, pieces, KERF)
        proved += plan.proved
    assert proved >= 7
