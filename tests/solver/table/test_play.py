from collections import Counter

import numpy as np
import pytest

from patterns.tiles import KINDS
from solver.table.aim import JOKER
from solver.table.game import Shown, Table, _claim, _discard, _exchange_jokers, play_out
from tests.solver.table.tables import card_of, free_of, position, table_of, tiles_away
from tests.solver.table.watched import Watch, watched

GAMES = [("small", 40), ("full", 4)]
WINDS = "flower*2 north*4 east*4 west*4"
ODDS = "1c 2c 3c 4c 5c 6c 7c 8c 9c 1d 2d 3d 4d"


def games() -> list[Watch]:
    return [watch for name, count in GAMES for watch in watched(name, count)]


def test_games_end_by_a_hand_drawn_or_claimed_and_by_a_dead_wall() -> None:
    """Every move of these games was checked as it was made, see `watched`."""
    endings = [watch.game.ending for watch in games()]
    assert len(endings) == sum(count for _, count in GAMES)
    assert {ending.winner for ending in endings} == {0, 1, 2, 3, None}
    assert {ending.self_drawn for ending in endings if ending.winner is not None} == {True, False}
    moves = sum((watch.moves for watch in games()), Counter())
    assert moves["claims"] > len(endings) and moves["exchanges"] > len(endings) // 4


def test_the_winner_holds_a_complete_hand_consistent_with_the_groups_shown() -> None:
    for watch in games():
        ending, table = watch.game.ending, watch.table
        if ending.winner is None:
            continue
        aim, shown = table.aims[ending.winner], table.shown[ending.winner]
        assert ending.hand is not None and aim.held.sum() == 14
        free = free_of(aim, shown)
        rows = np.flatnonzero(table.tables.hand == ending.hand)
        complete = [row for row in rows if tiles_away(table.tables.targets[row], free, shown) == 0]
        assert complete
        if table.tables.concealed[rows[0]]:
            assert not shown


def test_nobody_else_was_complete_before() -> None:
    for watch in games():
        for seat, aim in enumerate(watch.table.aims):
            if seat == watch.game.ending.winner:
                continue
            free = free_of(aim, watch.table.shown[seat])
            shown = watch.table.shown[seat]
            counted = [
                99 if away is None or (shown and concealed) else away
                for away, concealed in (
                    (tiles_away(target, free, shown), watch.table.tables.concealed[row])
                    for row, target in enumerate(watch.table.tables.targets)
                )
            ]
            assert aim.away().tolist() == counted
            assert min(counted) > 0


def test_the_wall_is_dead_only_when_it_is_empty() -> None:
    dead = [watch for watch in games() if watch.game.ending.winner is None]
    assert dead
    for watch in dead:
        ending = watch.game.ending
        assert (ending.drawn, ending.hand, ending.self_drawn) == (99, None, False)
        assert not watch.table.wall
    for watch in games():
        assert sum(watch.game.ending.draws) == watch.game.ending.drawn <= 99


def test_east_discards_first_and_turns_go_to_the_right_but_for_claims() -> None:
    for watch in games():
        if watch.turns:
            assert watch.turns[0] == 0
        steps = Counter(
            (after - before) % 4 for before, after in zip(watch.turns, watch.turns[1:], strict=False)
        )
        claims = watch.moves["claims"]
        assert steps[0] == 0 and steps[2] + steps[3] <= claims


def test_a_concealed_hand_claims_the_last_tile_and_no_other() -> None:
    card = card_of("*" + WINDS, "flower*2 1crak*4 2crak*4 3crak*4")
    east = "F F 1c 1c 1c 1c 2c 2c 2c 2c 3c 3c 3c N"
    table = table_of(card, [east, "F F N N N E E E E W W W 9d", ODDS, ODDS], "")
    for kind in ("N", "W"):
        table.discards.append(position(kind))
        assert not _claim(table, 1, position(kind))
        assert not table.aims[1].completes(position(kind))
    table.discards.clear()
    aim = table.aims[1]
    aim.drop(position("9d"))
    aim.take(position("W"))
    assert aim.completes(position("N"))
    ending = play_out(table)
    assert (ending.winner, ending.self_drawn, ending.hand) == (1, False, 0)
    assert table.shown[1] == []


def test_a_claim_for_a_single_or_a_pair_is_refused_but_for_the_last_tile() -> None:
    card = card_of(WINDS)
    table = table_of(card, [ODDS + " F", "F N N N N E E E W W W J 9d", ODDS, ODDS], "")
    table.discards.append(position("F"))
    assert not _claim(table, 1, position("F"))
    table.aims[1].drop(position("9d"))
    table.aims[1].take(position("E"))
    assert table.aims[1].completes(position("F"))


def test_a_claim_shows_the_whole_group_and_closes_other_targets() -> None:
    card = card_of(WINDS, "flower*2 south*4 east*4 north*4", "flower*2 1bam*4 east*3 2bam*5", "*" + WINDS)
    table = table_of(card, [ODDS + " E", "F F N N N N E E W W W J 9d", ODDS, ODDS], "")
    table.discards.append(position("E"))
    assert _claim(table, 1, position("E"))
    (group,) = table.shown[1]
    assert (group.kind, group.naturals, group.jokers) == (position("E"), 3, 1)
    assert table.aims[1].open.tolist() == [True, True, False, False]
    assert table.discards == []


def test_a_claim_leaves_the_pair_of_the_same_kind_alone() -> None:
    card = card_of("north*2 north*4 east*4 west*4")
    table = table_of(card, [ODDS + " N", "N N J J J J E E E E W W 9d", ODDS, ODDS], "")
    table.discards.append(position("N"))
    assert _claim(table, 1, position("N"))
    (group,) = table.shown[1]
    assert (group.naturals, group.jokers) == (1, 3)
    assert table.aims[1].free[position("N")] == 2


def shown_by(card_text: str, racks: list[str], owner: int, kind: str, naturals: int, jokers: int) -> Table:
    table = table_of(card_of(card_text), racks, "")
    table.shown[owner].append(Shown(position(kind), naturals, jokers))
    table.aims[owner].show(position(kind), naturals, jokers)
    return table


def test_a_joker_is_taken_only_for_a_natural_of_its_group() -> None:
    racks = [ODDS + " 5d", "N N J J " + ODDS[:26], "F F N E E E W W W W J 1b 2b", ODDS]
    table = shown_by(WINDS, racks, 1, "N", 2, 2)
    _exchange_jokers(table, 0)
    assert table.shown[1][0].jokers == 2, "East holds no north"
    before = table.aims[2].held.copy(), table.aims[1].held.copy()
    _exchange_jokers(table, 2)
    change = np.zeros(len(KINDS), np.int64)
    change[JOKER], change[position("N")] = 1, -1
    assert (table.aims[2].held - before[0] == change).all()
    assert (table.aims[1].held - before[1] == -change).all()
    assert (table.shown[1][0].naturals, table.shown[1][0].jokers) == (3, 1)


def test_a_natural_of_a_pair_is_not_spared_for_a_joker() -> None:
    racks = [ODDS + " 5d", "F F J J " + ODDS[:26], "F F N N N N E E E E W W 1b", ODDS]
    table = shown_by(WINDS, racks, 1, "F", 2, 2)
    _exchange_jokers(table, 2)
    assert table.shown[1][0].jokers == 2


def test_a_discard_is_a_joker_only_when_nothing_else_is_left() -> None:
    card = card_of(WINDS)
    table = shown_by(WINDS, ["N N N N E E E E W W W W J J", ODDS, ODDS, ODDS], 0, "N", 4, 0)
    for kind in ("E", "W"):
        table.aims[0].show(position(kind), 4, 0)
    assert _discard(table, 0) == JOKER
    table = table_of(card, ["N N N J J J J J J J J 1b E W", ODDS, ODDS, ODDS], "")
    assert _discard(table, 0) == position("1b")


def test_a_hand_dealt_complete_wins_before_any_discard() -> None:
    ending = play_out(table_of(card_of(WINDS), ["F F N N N N E E E E W W W W", ODDS, ODDS, ODDS], ""))
    assert (ending.winner, ending.drawn, ending.self_drawn) == (0, 0, True)


def test_a_hand_completed_by_a_joker_exchange_after_a_claim_wins_at_once() -> None:
    # Seat 2 shows norths with a joker; seat 1 claims a west, then exchanges a north for the joker it lacks.
    card = card_of("flower*2 south*4 east*4 west*4", WINDS)
    racks = [ODDS + " W", "F F S S S S E E E N W W J", "N N N J " + ODDS[:26], ODDS]
    table = table_of(card, racks, "")
    table.shown[2].append(Shown(position("N"), 3, 1))
    table.aims[2].show(position("N"), 3, 1)
    table.aims[0].drop(position("W"))
    table.discards.append(position("W"))
    assert not table.aims[1].completes(position("W"))
    assert _claim(table, 1, position("W"))
    _exchange_jokers(table, 1)
    assert table.aims[1].away()[0] == 0


def test_a_table_that_lost_a_tile_is_noticed() -> None:
    table = watched(*GAMES[0])[0].table
    table.check()
    kind = table.discards.pop()
    with pytest.raises(AssertionError):
        table.check()
    table.discards.append((kind + 1) % JOKER)
    with pytest.raises(AssertionError):
        table.check()
    table.discards[-1] = kind
    table.check()
