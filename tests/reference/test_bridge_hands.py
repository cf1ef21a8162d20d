"""Source: standard facts of a bridge hand, 13 of 52 cards. Recalled, then recomputed exactly."""

from itertools import combinations

import pytest

from tests.reference.urns import at_least


def test_all_four_aces() -> None:
    assert at_least(52, [(4, 4)], 13) == pytest.approx(0.002641, abs=5e-7)


def test_a_void_in_at_least_one_suit() -> None:
    assert 1 - at_least(52, [(1, 13)] * 4, 13) == pytest.approx(0.0510655, abs=5e-8)


def test_a_void_by_inclusion_and_exclusion() -> None:
    """P(void in all of s suits) = 1 - P(a card of the 13 s in them)."""
    total = 0.0
    for size in range(1, 4):
        for suits in combinations(range(4), size):
            total += (-1) ** (size + 1) * (1 - at_least(52, [(1, 13 * len(suits))], 13))
    assert total == pytest.approx(0.0510655, abs=5e-8)
