import random
from collections import Counter
from dataclasses import replace
from itertools import product
from math import comb

import numpy as np
import pytest

from solver.arrivals import Arrivals, Length, default_arrivals
from solver.reach.counting import (
    MAX_JOKERS,
    Mixed,
    Outlook,
    binomial,
    kernel,
    mixed_ways,
    own_polynomial,
    shared_polynomial,
)
from solver.rounds import Round


def test_every_entry_of_the_table_is_the_nearest_float() -> None:
    n = np.arange(153)[:, None]
    k = np.arange(153)[None, :]
    expected = [[float(comb(a, b)) for b in range(153)] for a in range(153)]
    assert np.array_equal(binomial(n, k), expected)


SEEDS = range(25)


def subsets(unseen: list[int]) -> list[list[int]]:
    """Return, for every subset of the unseen tiles, how many of each kind it has."""
    ends = np.cumsum(unseen)
    choices = product((0, 1), repeat=sum(unseen))
    return [[sum(c[end - size : end]) for end, size in zip(ends, unseen, strict=True)] for c in choices]


@pytest.mark.parametrize("seed", SEEDS)
def test_own_polynomial_counts_subsets_that_cover_what_is_missing(seed: int) -> None:
    rnd = random.Random(seed)
    states = tuple((rnd.randint(1, 3), rnd.randint(0, 4)) for _ in range(rnd.randint(1, 3)))
    unseen = [a for _, a in states]
    expected = np.zeros(sum(unseen) + 1)
    for taken in subsets(unseen):
        if all(x >= missing for x, (missing, _) in zip(taken, states, strict=True)):
            expected[sum(taken)] += 1
    assert np.array_equal(own_polynomial(states), expected)


@pytest.mark.parametrize("seed", SEEDS)
def test_shared_polynomial_counts_subsets_by_jokers_they_leave_short(seed: int) -> None:
    rnd = random.Random(seed)
    states = tuple((rnd.randint(1, 6), rnd.randint(0, 4)) for _ in range(rnd.randint(1, 3)))
    unseen = [a for _, a in states]
    expected = np.zeros((sum(unseen) + 1, MAX_JOKERS + 1))
    for taken in subsets(unseen):
        short = sum(max(0, missing - k) for k, (missing, _) in zip(taken, states, strict=True))
        expected[sum(taken), short:] += 1
    assert np.array_equal(shared_polynomial(states), expected)


@pytest.mark.parametrize("claims", [True, False])
@pytest.mark.parametrize("seed", SEEDS)
def test_mixed_ways_count_where_every_tile_goes(seed: int, claims: bool) -> None:
    """Each unseen tile stays away, comes as an own arrival, or (if of use) is claimed."""
    rnd = random.Random(seed)
    states = tuple(
        (rnd.randint(1, 3), rnd.randint(1, 5), rnd.randint(0, 4)) for _ in range(rnd.randint(1, 2))
    )
    owner = [kind for kind, (*_, unseen) in enumerate(states) for _ in range(unseen)]
    expected: Counter[tuple[int, int, int]] = Counter()
    for fate in product("-oc" if claims else "-o", repeat=len(owner)):
        came = Counter(zip(fate, owner, strict=True))
        own = [came["o", kind] for kind in range(len(states))]
        claimed = [came["c", kind] for kind in range(len(states))]
        if all(x >= missing for x, (missing, *_) in zip(own, states, strict=True)):
            needs = zip(own, claimed, states, strict=True)
            short = sum(max(0, grouped - (x - missing) - y) for x, y, (missing, grouped, _) in needs)
            if short <= MAX_JOKERS:
                expected[sum(own), sum(claimed), short] += 1
    assert {(x, y, u): ways for x, y, u, ways in mixed_ways(states, claims)} == expected


OUTLOOK = Outlook(naturals=130, jokers=7, jokers_held=1, arrivals=Arrivals.of(9, 15, 22))
OUTLOOKS = [
    OUTLOOK,
    Outlook(100, 0, 8, Arrivals.of(3, 10, 5)),
    Outlook(20, 8, 0, Arrivals.of(0, 12, 8)),
    Outlook(12, 3, 2, Arrivals.of(4, 8, 0)),
    Outlook(30, 2, 0, Arrivals.of(0, 0, 7)),
    Outlook(30, 2, 6, Arrivals.of(0, 0, 0)),
]
FORECASTS = [
    replace(OUTLOOK, arrivals=default_arrivals(Round.FIRST_RIGHT, 3)),
    Outlook(100, 0, 8, Arrivals(3, (Length(10, 5, 0.25), Length(5, 0, 0.5), Length(0, 12, 0.25)))),
    Outlook(20, 8, 0, Arrivals(0, (Length(12, 8, 0.3), Length(20, 0, 0.2), Length(0, 20, 0.5)))),
    Outlook(12, 3, 2, Arrivals(4, (Length(0, 0, 0.7), Length(8, 0, 0.3)))),
]
MIXED = ((1, 2, 3), (2, 1, 2))


@pytest.mark.parametrize(("own", "shared"), [(0, 0), (7, 0), (0, 9), (5, 7)])
@pytest.mark.parametrize("outlook", [*OUTLOOKS, *FORECASTS])
def test_all_arrivals_together_are_certain(outlook: Outlook, own: int, shared: int) -> None:
    x = [comb(own, count) for count in range(own + 1)]
    k = [comb(shared, count) for count in range(shared + 1)]
    total = np.einsum("xkv,x,k->", kernel(outlook, own, shared, ()), x, k)
    assert total == pytest.approx(1, abs=1e-12)


def test_a_mixed_kind_takes_jokers_and_arrivals_away() -> None:
    """One copy unseen, one missing in a pair and one in a group: it must come, and a joker must serve."""
    outlook = replace(OUTLOOK, jokers=0)
    chances = kernel(outlook, 0, 0, ((1, 1, 1),))[0, 0]
    assert chances.tolist() == [pytest.approx(24 / 130, abs=1e-13)] + [0.0] * 8


@pytest.mark.parametrize("mixed", [(), MIXED])
@pytest.mark.parametrize("outlook", FORECASTS)
def test_a_forecast_weighs_the_kernels_of_its_lengths(outlook: Outlook, mixed: tuple[Mixed, ...]) -> None:
    lengths = [
        share * kernel(replace(outlook, arrivals=each), 3, 2, mixed) for share, each in outlook.arrivals.parts
    ]
    assert np.allclose(kernel(outlook, 3, 2, mixed), sum(lengths), rtol=1e-12, atol=0)


@pytest.mark.parametrize("outlook", [*OUTLOOKS[:2], *FORECASTS])
@pytest.mark.parametrize("mixed", [(), MIXED])
def test_a_shared_tile_less_is_one_that_comes_or_does_not(outlook: Outlook, mixed: tuple[Mixed, ...]) -> None:
    more, fewer = kernel(outlook, 3, 4, mixed), kernel(outlook, 3, 3, mixed)
    assert np.allclose(more[:, :-1] + more[:, 1:], fewer, rtol=1e-12, atol=0)
