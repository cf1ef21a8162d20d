import random
from collections import Counter
from itertools import product

import numpy as np
import pytest

from solver.reach.counting import MAX_JOKERS, mixed_ways, own_polynomial, shared_polynomial

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


def test_nothing_missing_is_one_way() -> None:
    assert own_polynomial(()).tolist() == [1]
    assert shared_polynomial(()).tolist() == [[1] * 9]
    assert mixed_ways((), True) == ((0, 0, 0, 1.0),)


def test_more_missing_than_unseen_is_no_way() -> None:
    assert own_polynomial(((3, 2),)).tolist() == [0, 0, 0]
    assert mixed_ways(((3, 1, 2),), True) == ()
