import random
from collections import Counter

import numpy as np

from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals
from solver.card_tables import N_NATURALS, NATURALS, tables_of
from solver.situation import Situation, counts_of
from tests.solver.racks import WALL, card

RACK = parse_rack("111b 22c 345d NN FF J")


def test_counts_follow_the_order_of_kinds() -> None:
    tiles = random.Random(1).sample(WALL, 60)
    counter = Counter(tiles)
    assert counts_of(tiles).tolist() == [counter[tile] for tile in KINDS]
    assert len(NATURALS) == N_NATURALS == 35


def test_the_pool_is_every_tile_not_seen() -> None:
    situation = Situation(RACK, parse_tiles("1b JJ N"), Arrivals(9, 15, 22))
    left = Counter(WALL) - Counter(RACK.tiles) - Counter(parse_tiles("1b JJ N"))
    assert situation.unseen.tolist() == [left[tile] for tile in KINDS]
    assert situation.outlook.naturals == left.total() - left[Tile.JOKER] == 144 - 12 - 2
    assert (situation.outlook.jokers, situation.outlook.jokers_held) == (5, 1)
    assert situation.held.tolist() == counts_of(RACK.tiles)[:35].tolist()


def test_a_heap_without_jokers_has_none_but_those_held() -> None:
    situation = Situation(RACK, (), Arrivals(9, 15, 0), jokers_in_wall=False)
    assert (situation.outlook.jokers, situation.outlook.jokers_held) == (0, 1)


def test_tables_say_what_the_targets_want() -> None:
    for name in ("small", "full"):
        tables = tables_of(card(name))
        assert tables_of(card(name)) is tables
        assert tables.plain.shape == tables.grouped.shape == (card(name).target_count, 35)
        assert np.all(tables.plain.sum(axis=1) + tables.grouped.sum(axis=1) == 14)
        for row, target in enumerate(tables.targets):
            hand = card(name).hands[tables.hand[row]]
            assert target in hand.targets
            assert tables.concealed[row] == hand.concealed
            wanted = Counter({tile: int(tables.plain[row, tile.position]) for tile in NATURALS})
            assert +wanted == Counter(g.tile for g in target.groups for _ in range(g.count) if g.count < 3)
        firsts = tables.first_of_hand()
        assert [tables.targets[first] for first in firsts] == [hand.targets[0] for hand in card(name).hands]


def test_tiles_all_seen_elsewhere_can_no_longer_come() -> None:
    """A target that lacks a flower in a pair is lost; one that wants none gains by the smaller pool."""
    tables = tables_of(card("small"))
    rack = parse_rack("111b 22c 345d NN EE J 9b")
    few = Situation(rack, (), Arrivals(9, 15, 22))
    many = Situation(rack, (Tile.FLOWER,) * 8, Arrivals(9, 15, 22))
    before, after = (s.reach(tables, s.held) for s in (few, many))
    paired = tables.plain[:, Tile.FLOWER.position] > 0
    without = ~paired & (tables.grouped[:, Tile.FLOWER.position] == 0)
    assert np.all(before[paired] > 0)
    assert not after[paired].any()
    assert np.all(after[without] > before[without])
    assert paired.any()
    assert without.any()
