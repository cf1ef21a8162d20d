from collections import Counter
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chisquare

from solver.deals import Luck


def test_numbers_are_those_of_every_machine() -> None:
    chance = Luck(7, 3)
    assert [chance.below(1000) for _ in range(8)] == [670, 161, 542, 633, 639, 947, 632, 326]


def test_orders_are_those_of_every_machine() -> None:
    assert Luck(0).shuffled(range(12)) == [9, 0, 6, 10, 2, 7, 1, 3, 8, 4, 5, 11]
    assert "".join(Luck(2**63 - 1, 2**32).shuffled("threepass")) == "septsaehr"


def test_the_same_name_gives_the_same_chance_and_another_name_another() -> None:
    def orders(*names: tuple[int, ...]) -> set[tuple[int, ...]]:
        return {tuple(Luck(*name).shuffled(range(30))) for name in names}

    assert len(orders((4, 1), (4, 1))) == 1
    assert len(orders((4, 1), (1, 4), (4, 2), (5, 1), (4,), (4, 1, 1))) == 6


@pytest.mark.parametrize("limit", [1, 2, 3, 152, 2**63 + 1, 2**64 - 1, 2**64])
def test_too_high_raw_numbers_are_drawn_again(limit: int) -> None:
    raw = [int(number) for number in np.random.PCG64(np.random.SeedSequence((9, 9))).random_raw(64)]
    multiple = limit * (2**64 // limit)
    chance = Luck(9, 9)
    expected = [number % limit for number in raw if number < multiple]
    assert [chance.below(limit) for _ in expected] == expected
    assert limit != 2**63 + 1 or 16 < len(expected) < 48


def test_every_order_is_equally_likely() -> None:
    """The chance of so uneven a count is over 1 in 1,000 for a fair shuffle, and these names are fixed."""
    counts = Counter(tuple(Luck(17, name).shuffled("abcd")) for name in range(4800))
    assert set(counts) == set(permutations("abcd"))
    assert chisquare(list(counts.values())).pvalue > 1e-3


def test_every_item_is_equally_likely_in_every_place() -> None:
    places = np.zeros((13, 13))
    chance = Luck(23)
    for _ in range(2600):
        places[range(13), chance.shuffled(range(13))] += 1
    assert chisquare(places.ravel(), ddof=24).pvalue > 1e-3


@given(st.lists(st.integers(0, 5), max_size=20), st.integers(0, 2**64 - 1))
@settings(max_examples=50)
def test_a_shuffle_keeps_the_items_and_leaves_the_given_ones_alone(items: list[int], seed: int) -> None:
    before = list(items)
    assert Counter(Luck(seed).shuffled(items)) == Counter(before)
    assert items == before


def test_below_stays_below() -> None:
    chance = Luck(3)
    assert {chance.below(6) for _ in range(200)} == set(range(6))


def test_a_negative_seed_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        Luck(-1)
