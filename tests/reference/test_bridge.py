"""Source: the tables printed in any bridge encyclopedia (suit splits: Borel and Chéron, 1940).

Recalled, then recomputed exactly before it came here: a hand is 13 of 52 cards; and with k cards of a suit
among the 26 that two players hold unseen, the chance that they lie h in one hand and k - h in the other,
in per cent.
"""

from itertools import combinations

import numpy as np
import pytest

from solver.arrivals import Arrivals
from solver.reach.counting import Outlook
from solver.reach.evaluate import Demands, missing, reach_of
from tests.reference.urns import at_least

SPLITS = [
    (2, 1, 52.00),
    (3, 2, 78.00),
    (4, 3, 49.74),
    (4, 2, 40.70),
    (5, 3, 67.83),
    (5, 4, 28.26),
    (5, 5, 3.91),
    (6, 4, 48.45),
    (6, 3, 35.53),
    (7, 4, 62.17),
    (8, 5, 47.12),
]


def holds_at_least(missing_cards: int, held: int) -> float:
    """Reach of "this player holds so many of the suit", the suit being one kind of the pool."""
    unseen = np.zeros(35, np.int8)
    unseen[0] = missing_cards
    wanted = np.zeros((1, 35), np.int8)
    wanted[0, 0] = held
    lack = missing(wanted, np.zeros_like(wanted), np.zeros(35, np.int8))
    outlook = Outlook(26, 0, 0, Arrivals.of(0, 13, 0))
    return float(reach_of(Demands.of(lack, np.array([False]), unseen), outlook, unseen)[0])


@pytest.mark.parametrize(("cards", "longer", "per_cent"), SPLITS)
def test_split(cards: int, longer: int, per_cent: float) -> None:
    one_side = holds_at_least(cards, longer) - holds_at_least(cards, longer + 1)
    sides = 1 if 2 * longer == cards else 2
    assert 100 * sides * one_side == pytest.approx(per_cent, abs=0.005)


@pytest.mark.parametrize("cards", range(2, 9))
def test_the_splits_of_a_suit_are_certain_together(cards: int) -> None:
    sides = [holds_at_least(cards, held) - holds_at_least(cards, held + 1) for held in range(cards + 1)]
    assert sum(sides) == pytest.approx(1, abs=1e-12)
    assert sides == pytest.approx(sides[::-1], abs=1e-12)


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
