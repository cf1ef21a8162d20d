from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.tiles import Tile
from solver.card_tables import N_NATURALS, tables_of
from solver.deals import deal
from solver.nearness import tiles_away
from solver.situation import counts_of, still_elsewhere
from tests.solver.racks import card


@given(st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_tiles_away_is_what_is_left_after_serving_group_by_group(seed: int) -> None:
    rack = deal(seed, 0).rack
    tables = tables_of(card("small"))
    jokers = rack.tiles.count(Tile.JOKER)
    away = tiles_away(tables, counts_of(rack.tiles)[:N_NATURALS], jokers)
    for row, target in enumerate(tables.targets):
        left = Counter(rack.tiles)
        lacking = in_groups = 0
        for group in sorted(target.groups, key=lambda group: group.takes_jokers):
            served = min(group.count, left[group.tile])
            left[group.tile] -= served
            if group.takes_jokers:
                in_groups += group.count - served
            else:
                lacking += group.count - served
        assert away[row] == lacking + max(0, in_groups - jokers)


def test_a_passed_tile_that_must_have_come_back_is_not_elsewhere() -> None:
    passed = [Tile.C5, Tile.B1, Tile.C5, Tile.C5]
    assert still_elsewhere(passed, Counter()) == (Tile.B1, Tile.C5, Tile.C5, Tile.C5)
    assert still_elsewhere(passed, Counter({Tile.C5: 2})) == (Tile.B1, Tile.C5, Tile.C5)
    assert still_elsewhere(passed, Counter({Tile.C5: 4})) == (Tile.B1,)
