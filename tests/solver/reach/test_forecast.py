"""Reach when the length of play is not known: each length counted exactly and weighed by its share."""

import random
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest

from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import KINDS
from solver.arrivals import Length, MixedArrivals, default_arrivals
from solver.rounds import Round
from solver.situation import Situation, tables_of
from tests.solver.reach.exact_reference import Kind, reach_by_counting, reach_by_fractions
from tests.solver.reach.ours import agrees, demand_of, reach_under
from tests.solver.reach.tiny_pools import full_case, tiny_case

Count = Callable[[list[Kind], int, int, tuple[int, int, int], bool], Fraction]
Case = tuple[list[Kind], int, int, MixedArrivals, bool]


def several_lengths(
    rnd: random.Random, case: tuple[list[Kind], int, int, tuple[int, int, int], bool], most: int
) -> Case:
    """Return the case with one to four lengths of play, its own among them, each of up to ``most`` draws."""
    kinds, jokers, held, (charleston, *first), concealed = case
    room = sum(unseen for unseen, *_ in kinds) - charleston
    lengths = [(first[0], first[1])]
    for _ in range(rnd.randint(0, 3)):
        draws = rnd.randint(0, min(most, room))
        lengths.append((draws, rnd.randint(0, min(most, room - draws))))
    rnd.shuffle(lengths)
    parts = [rnd.random() for _ in lengths]
    shares = [part / sum(parts) for part in parts]
    forecast = MixedArrivals(
        charleston, tuple(Length(*each, s) for each, s in zip(lengths, shares, strict=True))
    )
    return kinds, jokers, held, forecast, concealed


def by_length(count: Count, case: Case) -> list[Fraction]:
    """Return the exact reach under each length."""
    kinds, jokers, held, forecast, concealed = case
    return [
        count(kinds, jokers, held, (forecast.charleston, each.draws, each.claims), concealed)
        for each in forecast.lengths
    ]


def expected(count: Count, case: Case) -> Fraction:
    """Return the exact reach of all lengths together, the shares taken as they are."""
    shares = [Fraction(each.share) for each in case[3].lengths]
    return sum((s * reach for s, reach in zip(shares, by_length(count, case), strict=True)), Fraction(0))


def tiny_cases(block: int) -> list[Case]:
    rnd = random.Random(300 + block)
    return [several_lengths(rnd, tiny_case(rnd), 3) for _ in range(40)]


@pytest.mark.parametrize("block", range(10))
def test_equals_counting_every_arrival_of_every_length(block: int) -> None:
    for case in tiny_cases(block):
        assert agrees(reach_under(*case), expected(reach_by_counting, case)), case


def test_tiny_pools_cover_what_they_should() -> None:
    """The 400 cases above hold several lengths, jokers, claims, concealed hands and mixed kinds."""
    cases = [case for block in range(10) for case in tiny_cases(block)]
    inside = [
        case for case in cases if len(case[3].lengths) > 1 and 0 < expected(reach_by_fractions, case) < 1
    ]
    assert len(inside) > 100
    for matters in (
        lambda case: case[1] and case[3].mean_draws,
        lambda case: case[2] > 0,
        lambda case: case[3].charleston and case[3].mean_claims and not case[4],
        lambda case: case[4] and case[3].mean_claims,
        # Some lengths with claims and some without.
        lambda case: (
            not case[4] and 0 < sum(each.claims > 0 for each in case[3].lengths) < len(case[3].lengths)
        ),
        lambda case: any(plain > kept and grouped for _, kept, plain, grouped in case[0]),
        lambda case: len(set(by_length(reach_by_fractions, case))) > 1,
    ):
        assert sum(map(bool, map(matters, inside))) > 10


@pytest.mark.parametrize("block", range(3))
def test_equals_exact_fractions_on_pools_of_full_size(block: int) -> None:
    rnd = random.Random(400 + block)
    possible = 0
    for _ in range(40):
        case = several_lengths(rnd, full_case(rnd), 20)
        exact = expected(reach_by_fractions, case)
        possible += exact > 0
        assert agrees(reach_under(*case), exact), case
    assert possible > 10


@pytest.mark.parametrize("seed", range(2))
def test_default_arrivals_on_targets_of_the_full_card(seed: int) -> None:
    rnd = random.Random(500 + seed)
    tables = tables_of(shipped_card("full"))
    held = rnd.sample([tile for tile in KINDS for _ in range(tile.copies)], 14)
    forecast = default_arrivals(rnd.choice((Round.FIRST_RIGHT, Round.FIRST_ACROSS)), 3)
    situation = Situation(Rack(tuple(held)), (), forecast)
    reach = situation.reach(tables, situation.held)
    likeliest = np.argsort(-reach)[:6].tolist()
    for row in {*likeliest, *rnd.sample(range(len(reach)), 6)}:
        *demand, concealed = demand_of(situation, tables, row)
        assert agrees(float(reach[row]), expected(reach_by_fractions, (*demand, forecast, concealed)))


def test_claims_of_a_forecast_are_of_no_use_to_concealed_hands_nor_to_pairs() -> None:
    pair: Kind = (4, 0, 2, 0)
    group: Kind = (4, 0, 0, 3)
    rest: Kind = (8, 0, 0, 0)
    many = MixedArrivals(2, (Length(3, 6, 0.5), Length(4, 2, 0.5)))
    few = many.without_claims()
    assert reach_under([group, rest], 0, 0, many, True) == reach_under([group, rest], 0, 0, few, True)
    assert reach_under([group, rest], 0, 0, many, False) > reach_under([group, rest], 0, 0, few, False)
    assert reach_under([pair, rest], 0, 0, many, False) == pytest.approx(
        reach_under([pair, rest], 0, 0, few, False)
    )
