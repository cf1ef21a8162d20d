"""Reach against counting every arrival, and against exact fractions."""

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction

import numpy as np
import pytest

import solver.reach.evaluate as evaluate
from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.arrivals import Arrivals, Length, default_arrivals
from solver.reach.counting import Outlook
from solver.reach.evaluate import Demands, missing, reach_of
from solver.rounds import Round
from solver.situation import Situation, counts_of, tables_of
from tests.solver.played import WALL
from tests.solver.reach.exact_reference import (
    Kind,
    agrees,
    demand_of,
    full_case,
    reach_by_counting,
    reach_by_fractions,
    reach_under,
    tiny_case,
)


@pytest.mark.parametrize("others", [0, 7], ids=["crowded", "roomy"])
@pytest.mark.parametrize("seed", range(4))
def test_demands_valued_together_are_worth_what_each_is_alone(seed: int, others: int) -> None:
    """Own kinds of one demand are shared kinds of another; in a crowded pool no kernel has room for both."""
    rng = np.random.default_rng(seed)
    unseen, kept = np.zeros((2, 35), np.int8)
    unseen[:6] = rng.integers(1, 4, 6)
    unseen[6 : 6 + others] = 8
    plain, grouped = np.zeros((2, 80, 35), np.int8)
    plain[:, :6] = rng.integers(0, 3, (80, 6)) * (rng.random((80, 6)) < 0.4)
    grouped[:, :6] = rng.integers(0, 4, (80, 6)) * (rng.random((80, 6)) < 0.4)
    concealed = rng.random(80) < 0.5
    outlook = Outlook(int(unseen.sum()), 3, 1, Arrivals.of(2, 3, 2))
    together = reach_of(Demands.of(missing(plain, grouped, kept), concealed, unseen), outlook, unseen)
    assert ((together > 0) & (together < 1)).sum() > 20
    for row, value in enumerate(together.tolist()):
        kinds: list[Kind] = [
            (int(u), 0, int(p), int(g)) for u, p, g in zip(unseen, plain[row], grouped[row], strict=True)
        ]
        exact = reach_by_fractions(kinds[:13], 3, 1, (2, 3, 2), bool(concealed[row]))
        assert agrees(value, exact)


def worsened(better: np.ndarray, worse: np.ndarray) -> bool:
    return bool((better < worse * (1 - 1e-12)).any())


@pytest.mark.parametrize("seed", range(12))
def test_a_tile_kept_never_lowers_reach_and_a_useful_one_raises_it(seed: int) -> None:
    rnd = random.Random(seed)
    tables = tables_of(shipped_card("small"))
    rack = Rack(tuple(rnd.sample(WALL, 14)))
    situation = Situation(rack, (), Arrivals.of(6, 15, 22))
    whole = situation.reach(tables, situation.held)
    for tile in set(rack.tiles) - {Tile.JOKER}:
        less = situation.held - counts_of([tile])[:35]
        reach = situation.reach(tables, less)
        assert not worsened(whole, reach)
        wanted = tables.plain[:, tile.position] + tables.grouped[:, tile.position]
        useful = wanted >= situation.held[tile.position]
        assert np.allclose(whole[~useful], reach[~useful], rtol=1e-13, atol=0)
        assert (whole[useful] > reach[useful]).sum() >= (useful & (whole > 1e-9) & (whole < 0.9)).sum()


@pytest.mark.parametrize("sort", ["charleston", "draws", "claims"])
def test_more_arrivals_never_lower_reach(sort: str) -> None:
    rnd = random.Random(sort)
    tables = tables_of(shipped_card("small"))
    for _ in range(6):
        rack = Rack(tuple(rnd.sample(WALL, 14)))
        counts = {"charleston": rnd.randint(0, 9), "draws": rnd.randint(0, 15), "claims": rnd.randint(0, 22)}
        grown = []
        for more in range(0, 6, 2):
            arrivals = Arrivals.of(**{**counts, sort: counts[sort] + more})
            situation = Situation(rack, (), arrivals)
            grown.append(situation.reach(tables, situation.held))
        assert not worsened(grown[1], grown[0])
        assert not worsened(grown[2], grown[1])
        assert (grown[2] > grown[0]).any()


def reaches(seeds: range) -> list[list[float]]:
    tables = tables_of(shipped_card("small"))
    found = []
    for seed in seeds:
        situation = Situation(Rack(tuple(random.Random(seed).sample(WALL, 14))), (), Arrivals.of(9, 15, 22))
        found.append(situation.reach(tables, situation.held).tolist())
    return found


def test_forgetting_states_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    expected = reaches(range(6))
    monkeypatch.setattr(evaluate, "_MAX_REMEMBERED", 10)
    assert reaches(range(6)) == expected


def test_threads_may_share_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    expected = reaches(range(8))
    monkeypatch.setattr(evaluate, "_MAX_REMEMBERED", 100)
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(reaches, [range(8)] * 8)) == [expected] * 8


Count = Callable[[list[Kind], int, int, tuple[int, int, int], bool], Fraction]
Case = tuple[list[Kind], int, int, Arrivals, bool]


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
    forecast = Arrivals(charleston, tuple(Length(*each, s) for each, s in zip(lengths, shares, strict=True)))
    return kinds, jokers, held, forecast, concealed


def by_length(count: Count, case: Case) -> list[Fraction]:
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
        exact = expected(reach_by_counting, case)
        assert exact == expected(reach_by_fractions, case)
        assert agrees(reach_under(*case), exact), case


def test_tiny_pools_cover_what_they_should() -> None:
    """The 400 cases above hold several lengths, jokers, claims, concealed hands and mixed kinds."""
    cases = [case for block in range(10) for case in tiny_cases(block)]
    inside = [case for case in cases if 0 < expected(reach_by_fractions, case) < 1]
    for matters in (
        lambda case: len(case[3].lengths) > 1,
        lambda case: case[1] and case[3].mean_draws,
        lambda case: case[2] > 0,
        lambda case: case[3].charleston and case[3].mean_claims and not case[4],
        lambda case: case[4] and case[3].mean_claims,
        lambda case: any(plain > kept and grouped for _, kept, plain, grouped in case[0]),
        lambda case: any(kept > plain > 0 and grouped for _, kept, plain, grouped in case[0]),
    ):
        assert sum(map(bool, map(matters, inside))) > 10


@pytest.mark.parametrize("block", range(4))
def test_several_lengths_equal_exact_fractions_on_pools_of_full_size(block: int) -> None:
    rnd = random.Random(400 + block)
    possible = 0
    for _ in range(40):
        case = several_lengths(rnd, full_case(rnd), 20)
        exact = expected(reach_by_fractions, case)
        possible += exact > 0
        assert agrees(reach_under(*case), exact), case
    assert possible > 10


@pytest.mark.parametrize("seed", range(4))
def test_targets_of_the_full_card_equal_exact_fractions(seed: int) -> None:
    """Under arrivals that are stated and under the defaults, other tiles seen or not."""
    rnd = random.Random(seed)
    tables = tables_of(shipped_card("full"))
    tiles = rnd.sample(WALL, 30 if seed % 2 else 14)
    stated = Arrivals(rnd.choice((3, 6, 9)), (Length(rnd.randint(5, 20), rnd.randint(0, 22), 1.0),))
    coming = stated if seed % 2 else default_arrivals(rnd.choice((Round.FIRST_RIGHT, Round.FIRST_ACROSS)), 3)
    situation = Situation(Rack(tuple(tiles[:14])), tuple(tiles[14:]), coming)
    reach = situation.reach(tables, situation.held)
    likeliest = np.argsort(-reach)[:8].tolist()
    for row in {*likeliest, *rnd.sample(range(len(reach)), 8)}:
        *demand, concealed = demand_of(situation, tables, row)
        assert agrees(float(reach[row]), expected(reach_by_fractions, (*demand, coming, concealed)))
