"""Play to the end: the rules of claims, jokers and the last tile, and games that anyone can play again."""

from collections import Counter
from hashlib import sha256

import numpy as np
import pytest

from patterns.tiles import KINDS, Tile
from solver.rounds import ORDER
from solver.table.charleston import PassRule
from solver.table.game import Game, Shown, Table, _claim, _exchange_jokers, play_game, play_out
from solver.table.players import Careful
from tests.solver.played import own
from tests.solver.table.rivals import Nearest, RandomLegal
from tests.solver.table.tables import KONGS, Watch, card_of, free_of, position, table_of, tiles_away, watched

GAMES = 24
WHOLE_SET = Counter({tile: tile.copies for tile in KINDS})
MIXED: list[PassRule] = [Careful(), Nearest(), RandomLegal(), Careful()]
ODDS = "1c 2c 3c 4c 5c 6c 7c 8c 9c 1d 2d 3d 4d"
# First 16 hex digits of the SHA-256 of all that happened: the same on every machine and version.
DIGESTS: dict[tuple[int, int], str] = {
    (0, 0): "09fc65f93df5b232",
    (1, 1): "736805a2ecdd713f",
    (2**63 - 1, 123456): "69c6a32047bf49f2",
}


def digest(game: Game) -> str:
    def names(tiles: tuple[Tile, ...]) -> str:
        return " ".join(tile.value for tile in tiles)

    lines = [names(made.held) for made in game.passes[:4]]
    lines += [
        f"{made.seat} {made.round.value}: {names(made.held)}: {names(made.given)}" for made in game.passes
    ]
    lines += [f"{names(seat.rack.tiles)}: {names(seat.seen())}" for seat in game.seats]
    ending = game.ending
    lines.append(f"{ending.winner} {ending.hand} {ending.drawn} {ending.self_drawn}")
    return sha256("\n".join(lines).encode()).hexdigest()[:16]


@pytest.mark.parametrize(("named", "expected"), DIGESTS.items())
def test_a_seed_and_a_number_name_a_game_for_good(named: tuple[int, int], expected: str) -> None:
    assert digest(play_game(own(), MIXED, *named)) == expected


def test_the_deal_is_the_same_whatever_the_rules() -> None:
    one, other = (play_game(own(), rules, 7, 0) for rules in (MIXED, [RandomLegal()] * 4))
    assert [made.held for made in one.passes[:4]] == [made.held for made in other.passes[:4]]
    assert one.seats != other.seats
    assert [made.round for made in one.passes[::4]] == list(ORDER)


@pytest.mark.parametrize("number", range(3))
def test_east_has_fourteen_tiles_and_passes_lead_from_the_deal_to_the_start(number: int) -> None:
    game = play_game(own(), MIXED, 1, number)
    assert [len(made.held) for made in game.passes[:4]] == [14, 13, 13, 13]
    dealt = sum((Counter(made.held) for made in game.passes[:4]), Counter())
    assert dealt == sum((seat.tiles for seat in game.seats), Counter()) and not dealt - WHOLE_SET
    for number, seat in enumerate(game.seats):
        given = Counter(tile for made in game.passes if made.seat == number for tile in made.given)
        assert not Counter(seat.seen()) - given
        assert not Counter(seat.seen()) + seat.tiles - WHOLE_SET


def games() -> tuple[Watch, ...]:
    return watched(GAMES)


def test_games_end_by_a_hand_drawn_or_claimed_and_by_a_dead_wall() -> None:
    """Every move of these games was checked as it was made, see `watch_game`."""
    endings = [watch.game.ending for watch in games()]
    assert {ending.winner for ending in endings} == {0, 1, 2, 3, None}
    assert {ending.self_drawn for ending in endings if ending.winner is not None} == {True, False}
    moves = sum((watch.moves for watch in games()), Counter())
    assert moves["claims"] > len(endings) and moves["exchanges"] > len(endings) // 4
    for watch in games():
        ending = watch.game.ending
        assert ending.drawn <= 99
        if ending.winner is None:
            assert (ending.drawn, ending.hand, ending.self_drawn) == (
                99,
                None,
                False,
            ) and not watch.table.wall


def test_the_winner_alone_holds_a_complete_hand_consistent_with_the_groups_shown() -> None:
    for watch in games():
        ending, table = watch.game.ending, watch.table
        for seat, aim in enumerate(table.aims):
            free, shown = free_of(aim, table.shown[seat]), table.shown[seat]
            counted = [
                99 if away is None or (shown and concealed) else away
                for away, concealed in (
                    (tiles_away(target, free, shown), table.tables.concealed[row])
                    for row, target in enumerate(table.tables.targets)
                )
            ]
            if seat == ending.winner:
                assert ending.hand is not None and aim.held.sum() == 14
                assert 0 in [counted[row] for row in np.flatnonzero(table.tables.hand == ending.hand)]
            else:
                assert aim.away().tolist() == counted and min(counted) > 0


def test_east_discards_first_and_turns_go_to_the_right_but_for_claims() -> None:
    for watch in games():
        assert not watch.turns or watch.turns[0] == 0
        steps = Counter((after - before) % 4 for before, after in zip(watch.turns, watch.turns[1:]))  # noqa: B905
        assert steps[0] == 0 and steps[2] + steps[3] <= watch.moves["claims"]


def test_a_concealed_hand_claims_the_last_tile_and_no_other() -> None:
    card = card_of("*" + KONGS, "flower*2 1crak*4 2dot*4 4bam*4")
    east = "F F 1c 1c 1c 1c 2d 2d 2d 2d 4b 4b 4b red"
    table = table_of(card, [east, "S S red red red E E E E F F F 9d", ODDS, ODDS])
    for kind in ("red", "F"):
        table.discards.append(position(kind))
        assert not _claim(table, 1, position(kind))
        assert not table.aims[1].completes(position(kind))
    table.discards.clear()
    table.aims[1].drop(position("9d"))
    table.aims[1].take(position("F"))
    assert table.aims[1].completes(position("red"))
    ending = play_out(table)
    assert (ending.winner, ending.self_drawn, ending.hand) == (1, False, 0)
    assert table.shown[1] == []


def test_of_two_that_a_discard_completes_the_next_in_turn_wins() -> None:
    near = "S S red red red red E E E E F F F"
    table = table_of(card_of(KONGS), ["F F F F F F F F J J J J J J", ODDS, near, near])
    ending = play_out(table)
    assert (ending.winner, ending.self_drawn) == (2, False)


def test_a_claim_for_a_pair_is_refused_but_for_the_last_tile() -> None:
    table = table_of(card_of(KONGS), [ODDS + " S", "S red red red red E E E F F F J 9d", ODDS, ODDS])
    table.discards.append(position("S"))
    assert not _claim(table, 1, position("S"))
    table.aims[1].drop(position("9d"))
    table.aims[1].take(position("E"))
    assert table.aims[1].completes(position("S"))


def test_a_claim_leaves_the_pair_of_the_same_kind_alone() -> None:
    card = card_of("red*2 red*4 east*4 flower*4")
    table = table_of(card, [ODDS + " red", "red red J J J J E E E E F F 9d", ODDS, ODDS])
    table.discards.append(position("red"))
    assert _claim(table, 1, position("red"))
    (group,) = table.shown[1]
    assert (group.naturals, group.jokers) == (1, 3)
    assert table.aims[1].free[position("red")] == 2


def shown_by(racks: list[str], owner: int, kind: str, naturals: int, jokers: int) -> Table:
    table = table_of(card_of(KONGS), racks)
    table.shown[owner].append(Shown(position(kind), naturals, jokers))
    table.aims[owner].show(position(kind), naturals, jokers)
    return table


def test_a_natural_of_a_pair_is_not_spared_for_a_joker() -> None:
    racks = [ODDS + " 5d", "S S J J " + ODDS[:26], "S S red red red red E E E E F F 1b", ODDS]
    table = shown_by(racks, 1, "S", 2, 2)
    _exchange_jokers(table, 2)
    assert table.shown[1][0].jokers == 2


def test_a_hand_dealt_complete_wins_before_any_discard() -> None:
    east = "S S red red red red E E E E F F F F"
    ending = play_out(table_of(card_of(KONGS), [east, ODDS, ODDS, ODDS]))
    assert (ending.winner, ending.drawn, ending.self_drawn) == (0, 0, True)


def test_a_hand_completed_by_a_joker_exchange_after_a_claim_wins_and_was_not_drawn() -> None:
    """Seat 2 shows red dragons with a joker; seat 1 claims a flower, then exchanges a red for the joker."""
    card = card_of("south*2 white*4 east*4 flower*4", KONGS)
    near = "S S white white white E E E E red F F J"
    table = table_of(card, ["F F F F F F F F J J J J J J", near, "red red red J " + ODDS[:26], ODDS])
    table.shown[2].append(Shown(position("red"), 3, 1))
    table.aims[2].show(position("red"), 3, 1)
    assert not table.aims[1].completes(position("F"))
    ending = play_out(table)
    assert (ending.winner, ending.hand, ending.self_drawn) == (1, 0, False)
    assert [(group.kind, group.naturals, group.jokers) for group in table.shown[1]] == [(position("F"), 3, 1)]
    assert table.shown[2][0].jokers == 0
