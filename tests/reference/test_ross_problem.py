"""Source: Ross, A First Course in Probability, problem 2.55(a). Recalled, then recomputed exactly.

A bridge hand holds the ace and the king of at least one suit: four patterns, of which several may be met.
"""

import pytest

from tests.reference.urns import at_least, at_least_one

SUITS = ("spades", "hearts", "diamonds", "clubs")
COPIES: dict[object, int] = {(rank, suit): 1 for rank in ("ace", "king") for suit in SUITS}
DEMANDS: list[dict[object, int]] = [{("ace", suit): 1, ("king", suit): 1} for suit in SUITS]


def test_ace_and_king_of_a_suit() -> None:
    chance = at_least_one(52, DEMANDS, COPIES, 13)
    assert chance == pytest.approx(9895443 / 45023650, rel=1e-12)
    assert chance == pytest.approx(0.219783, abs=5e-7)


def test_adding_the_four_patterns_up_says_too_much() -> None:
    assert 4 * at_least(52, [(1, 1), (1, 1)], 13) == pytest.approx(0.2353, abs=5e-5)
