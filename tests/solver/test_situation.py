from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.faults import FaultyInputError
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals, Length, default_arrivals
from solver.deals import deal
from solver.limits import Limits
from solver.rounds import Drill, Round
from solver.situation import (
    N_NATURALS,
    NATURALS,
    Situation,
    counts_of,
    greatest_first,
    still_elsewhere,
    tables_of,
    tiles_away,
)
from tests.solver.played import WALL, card, own, question

RACK = "111b 22c 345d NN FF J"


def faults(**settings: object) -> list[tuple[str, tuple[str | int, ...], str]]:
    with pytest.raises(FaultyInputError) as caught:
        question(RACK, **settings)
    return [(fault.kind, fault.place, fault.detail) for fault in caught.value.faults]


def test_the_pool_is_every_tile_not_seen() -> None:
    rack = parse_rack(RACK)
    situation = Situation(rack, parse_tiles("1b JJ N"), Arrivals.of(9, 15, 22))
    left = Counter(WALL) - Counter(rack.tiles) - Counter(parse_tiles("1b JJ N"))
    assert situation.unseen.tolist() == [left[tile] for tile in KINDS]
    assert situation.outlook.naturals == left.total() - left[Tile.JOKER] == 144 - 12 - 2
    assert (situation.outlook.jokers, situation.outlook.jokers_held) == (5, 1)
    assert situation.held.tolist() == counts_of(rack.tiles)[:35].tolist()


@pytest.mark.parametrize("name", ["small", "full"])
def test_tables_say_what_the_targets_want(name: str) -> None:
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
    tables = tables_of(own())
    rack = parse_rack("111b 22c 345d NN EE J 9b")
    few = Situation(rack, (), Arrivals.of(9, 15, 22))
    many = Situation(rack, (Tile.EAST,) * 2, Arrivals.of(9, 15, 22))
    gone = Situation(rack, (Tile.FLOWER,) * 8, Arrivals.of(9, 15, 22))
    before, smaller, after = (s.reach(tables, s.held) for s in (few, many, gone))
    paired = tables.plain[:, Tile.FLOWER.position] > 0
    assert np.all(before[paired] > 0) and not after[paired].any() and paired.any()
    assert np.all(smaller[tables.plain[:, Tile.EAST.position] == 0] > before)


@given(st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_tiles_away_is_what_is_left_after_serving_group_by_group(seed: int) -> None:
    rack, tables = deal(seed, 0).rack, tables_of(own())
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


def test_the_greatest_is_first_and_values_that_differ_by_the_last_digit_stay_as_they_come() -> None:
    more = np.nextafter(0.2, 1)
    assert greatest_first(np.array([0.2, more, 0.2, 0.5, more])).tolist() == [3, 0, 1, 2, 4]
    assert greatest_first(np.array([0.2, 0.2 + 1e-11])).tolist() == [1, 0]


def test_a_number_named_gets_the_arrivals_it_leaves() -> None:
    asked = question(RACK, round=Round.COURTESY, arrivals=Arrivals.of(1, 9, 7))
    assert [asked.giving(give).situation.arrivals.charleston for give in range(4)] == [0, 0, 0, 1]
    named = question(RACK, round=Round.COURTESY, give=2, arrivals=Arrivals.of(1, 9, 7))
    assert named.giving(2) == named
    assert question(RACK, round=Round.FIRST_LEFT).giving(1).situation.arrivals == default_arrivals(
        Round.FIRST_LEFT, 1
    )


def test_seen_and_rack_together_hold_no_more_than_the_set() -> None:
    assert faults(seen=parse_tiles("1b 1b")) == [
        ("too-many-copies", ("seen",), "five 1 bams (1b): the set holds four")
    ]
    assert faults(seen=(Tile.JOKER,) * 8)[0][1] == ("seen",)
    assert question(RACK, seen=parse_tiles("1b 2c FFFFFF")).situation.unseen[0] == 0


def test_tiles_that_stay_or_go_are_held_and_a_joker_never_goes() -> None:
    limits = Limits.of(stay=parse_tiles("1111b S"), go=parse_tiles("NNN"))
    assert faults(limits=limits) == [
        ("not-held", ("limits", "stay"), "four 1 bams (1b): the rack has three 1 bams"),
        ("not-held", ("limits", "stay"), "one south wind (S): the rack has no south winds"),
        ("not-held", ("limits", "go"), "three north winds (N): the rack has two north winds"),
    ]
    joker = Limits.of(go=(Tile.JOKER,))
    assert faults(limits=joker) == [("joker", ("limits", "go"), "a joker may never be passed")]
    assert question(RACK, limits=Limits.of(stay=(Tile.JOKER,)))


def test_arrivals_of_every_length_fit_the_pool() -> None:
    naturals = 144 - 13 + 1
    most = Arrivals.of(9, naturals - 9 - 22, 22)
    longest = Arrivals(3, (Length(5, 5, 0.5), Length(60, naturals - 63, 0.5)))
    for fits in (most, longest):
        assert question(RACK, arrivals=fits).situation.arrivals == fits
        detail = f"{naturals + 1} tiles to come: only {naturals} that are not jokers are unseen"
        assert faults(arrivals=fits.after(fits.charleston + 1)) == [("range", ("arrivals",), detail)]


def test_all_faults_are_named_at_once() -> None:
    wrong = {"give": 7, "seen": parse_tiles("11b"), "limits": Limits.of(go=(Tile.JOKER,)), "drill": Drill(1)}
    places = [("give",), ("seen",), ("limits", "go"), ("rack",)]
    assert [place for _, place, _ in faults(**wrong)] == places
