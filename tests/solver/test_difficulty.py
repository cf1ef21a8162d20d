import random
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest

from patterns.tiles import Tile
from solver.arrivals import default_arrivals
from solver.card_tables import tables_of
from solver.deals import chances_from_deal
from solver.rounds import Round
from tests.solver.racks import card
from tests.solver.reach.exact_reference import Kind, reach_by_fractions


def from_nothing(kinds: Sequence[Kind], concealed: bool) -> float:
    """Return the exact reach over all lengths of play: 14 dealt are as good as 14 more draws."""
    total = Fraction(0)
    for share, each in default_arrivals(Round.FIRST_RIGHT, 3).parts:
        arrivals = (each.charleston, 14 + each.draws, each.claims)
        total += Fraction(share) * reach_by_fractions(list(kinds), 8, 0, arrivals, concealed)
    return float(total)


@pytest.mark.parametrize("name", ["small", "full"])
def test_one_chance_a_hand_strictly_between_never_and_always(name: str) -> None:
    chances = chances_from_deal(card(name))
    assert len(chances) == len(card(name).hands)
    assert all(0 < chance < 1 for chance in chances)


def test_a_chance_is_the_exact_reach_of_the_best_target_from_nothing() -> None:
    """14 dealt and some drawn with jokers, some from exchanges, some claims, nothing held."""
    small = card("small")
    tables, chances = tables_of(small), chances_from_deal(small)
    for hand in random.Random(1).sample(range(len(small.hands)), 8):
        demands = set()
        for row in np.flatnonzero(tables.hand == hand):
            wanted = zip(tables.plain[row].tolist(), tables.grouped[row].tolist(), strict=True)
            copies = [8 if kind == Tile.FLOWER.position else 4 for kind in range(35)]
            demands.add(tuple(sorted((n, 0, *want) for n, want in zip(copies, wanted, strict=True))))
        concealed = small.hands[hand].concealed
        best = max(from_nothing(kinds, concealed) for kinds in demands)
        assert chances[hand] == pytest.approx(best, rel=1e-12)


def test_pairs_only_and_concealed_hands_are_harder_than_open_ladders() -> None:
    by_name = dict(zip([h.name for h in card("small").hands], chances_from_deal(card("small")), strict=True))
    assert by_name["Country Dance"] < by_name["Missing Rung"]
    assert by_name["Keyhole"] < by_name["Missing Rung"]
