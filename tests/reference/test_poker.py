"""Source: the standard table of poker hands, 5 of 52 cards, and the same deck with one joker.

Recalled, then recomputed exactly. The joker stands for any rank, as a joker does in a group of tiles.
"""

from math import comb

import pytest

from tests.reference.urns import at_least, at_least_with_jokers

HANDS, WITH_JOKER = comb(52, 5), comb(53, 5)
COUNTING = 1e-6


def test_the_decks() -> None:
    assert (HANDS, WITH_JOKER) == (2598960, 2869685)


def test_full_house() -> None:
    """Three of one rank and two of another fill the hand, so no two such demands meet."""
    both = at_least(52, [(3, 4), (2, 4)], 5)
    assert 13 * 12 * both * HANDS == pytest.approx(3744, abs=COUNTING)


def test_four_of_a_kind() -> None:
    assert 13 * at_least(52, [(4, 4)], 5) * HANDS == pytest.approx(624, abs=COUNTING)


def test_five_of_a_kind_with_a_joker() -> None:
    one_rank = at_least_with_jokers(52, 1, [], [(5, 4)], 5)
    assert 13 * one_rank * WITH_JOKER == pytest.approx(13, abs=COUNTING)


def test_four_of_a_kind_or_better_with_a_joker() -> None:
    """Two ranks cannot both make four in five cards: the ranks do not overlap."""
    one_rank = at_least_with_jokers(52, 1, [], [(4, 4)], 5)
    assert 13 * one_rank * WITH_JOKER == pytest.approx(3133, abs=COUNTING)


def test_three_of_a_kind_or_better_with_a_joker() -> None:
    """Two ranks overlap when the joker and two of each come; the joker is asked for by an absent kind."""
    one_rank = at_least_with_jokers(52, 1, [], [(3, 4)], 5)
    assert 13 * one_rank * WITH_JOKER == pytest.approx(149773, abs=COUNTING)
    overlap = at_least_with_jokers(52, 1, [(2, 4), (2, 4)], [(1, 0)], 5)
    assert (13 * one_rank - comb(13, 2) * overlap) * WITH_JOKER == pytest.approx(146965, abs=COUNTING)
