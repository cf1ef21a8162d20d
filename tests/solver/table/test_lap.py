"""A person at a table of careful players: rules, tiles, and what comes in beside what was measured."""

from collections import Counter

import numpy as np
import pytest

from patterns.faults import FaultyInputError
from patterns.tiles import KINDS, Tile
from solver.ahead import sort_of
from solver.deals import Luck, deal, shuffled_wall
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Round
from solver.table.charleston import Seat
from solver.table.lap import Passed, TableLap, table_lap
from solver.table.players import Careful
from tests.benchmarks.lessons import watched
from tests.solver.played import small

SEED = 31


def played(index: int, blind: int = 0, stop: bool = False) -> list[tuple[TableLap, Passed]]:
    """Play a lap to its end; return each pass with what was known before it, and the end."""
    passes: list[Passed] = []
    steps = []
    while True:
        lap = table_lap(small(), SEED, index, passes)
        if not lap.rounds:
            return [*steps, (lap, passes[-1])]
        round_ = lap.rounds[-1 if stop else 0]
        count = lap.most if round_ is Round.COURTESY else PASS_SIZE
        goes_on = min(blind, count) if RULES[round_].blind else 0
        held = Seat(Counter(lap.rack.tiles))
        given = Careful().choose(small(), held, round_, count - goes_on, Luck(1)) if count > goes_on else ()
        passes.append(Passed(round_, given, goes_on))
        steps.append((lap, passes[-1]))


@pytest.mark.parametrize(("blind", "stop"), [(0, False), (2, False), (3, True)])
def test_she_gives_and_gets_as_many_and_no_tile_is_made_or_lost(blind: int, stop: bool) -> None:
    for index in range(4):
        steps = played(index, blind, stop)
        rack = Counter(deal(SEED, index).rack.tiles)
        for lap, made in steps[:-1]:
            assert Counter(lap.rack.tiles) == rack
            came = steps[-1][0].received[len(lap.received)]
            assert len(came) == len(made.given) and Tile.JOKER not in came
            rack = rack - Counter(made.given) + Counter(came)
            assert all(rack[tile] <= tile.copies for tile in KINDS)
        assert Counter(steps[-1][0].rack.tiles) == rack
        rounds = [made.round for _, made in steps[:-1]]
        second = [] if steps[-1][0].stopped or stop else [*SECOND_CHARLESTON]
        assert rounds == [*FIRST_CHARLESTON, *second, Round.COURTESY]


def test_the_first_pass_is_that_of_careful_players_with_the_next_tiles_of_the_wall() -> None:
    wall = shuffled_wall(SEED, 2)
    left = Seat(Counter(wall[14 + 2 * 13 : 14 + 3 * 13]))
    given = Counter(Careful().choose(small(), left, Round.FIRST_RIGHT, 3, Luck(9)))
    ((_, first), (after, _), *_) = played(2)
    # Ties are broken by luck, so this deal was taken for having none.
    assert Counter(after.received[0]) == given and first.round is Round.FIRST_RIGHT


def test_all_of_it_follows_from_the_deal_and_her_passes() -> None:
    (_, first), (_, second), *_ = played(5)
    assert table_lap(small(), SEED, 5, [first, second]) == table_lap(small(), SEED, 5, [first, second])
    rack = deal(SEED, 5).rack.tiles
    other = [tile for tile in rack if tile is not Tile.JOKER and tile not in first.given][:3]
    elsewhere = table_lap(small(), SEED, 5, [Passed(Round.FIRST_RIGHT, tuple(other))])
    assert elsewhere.received[0] == table_lap(small(), SEED, 5, [first]).received[0]


def test_some_tables_stop_the_second_charleston_and_most_do_not() -> None:
    laps = [table_lap(small(), SEED, index, [p for _, p in played(index)[:3]]) for index in range(24)]
    stopped = [lap for lap in laps if lap.stopped]
    assert 0 < len(stopped) < 12
    assert {lap.rounds for lap in stopped} == {(Round.COURTESY,)}
    others = {lap.rounds for lap in laps if not lap.stopped}
    assert others == {(Round.SECOND_LEFT, Round.COURTESY)}


@pytest.mark.parametrize(
    ("passes", "faults"),
    [
        ([Passed(Round.FIRST_LEFT, ())], ["round-order"]),
        ([Passed(Round.FIRST_RIGHT, (Tile.B5,) * 3, 1)], ["blind", "not-held"]),
        ([None, Passed(Round.FIRST_ACROSS, (Tile.JOKER,) * 2)], ["wrong-count", "joker"]),
    ],
)
def test_what_the_rules_do_not_allow(passes: list[Passed | None], faults: list[str]) -> None:
    first = played(0)[0][1]
    with pytest.raises(FaultyInputError) as refused:
        table_lap(small(), SEED, 0, [each or first for each in passes])
    assert [fault.kind for fault in refused.value.faults] == faults
    assert {fault.place[:2] for fault in refused.value.faults} == {("exchanges", len(passes) - 1)}


def test_a_courtesy_pass_is_of_no_more_than_the_player_across_wishes() -> None:
    lap, index = next(
        (lap, index) for index in range(20) if (lap := played(index, stop=True)[3][0]).most < PASS_SIZE
    )
    passes = [each for _, each in played(index, stop=True)[:3]]
    naturals = [tile for tile in lap.rack.tiles if tile is not Tile.JOKER]
    with pytest.raises(FaultyInputError) as refused:
        table_lap(small(), SEED, index, [*passes, Passed(Round.COURTESY, tuple(naturals[: lap.most + 1]))])
    assert [fault.kind for fault in refused.value.faults] == ["give"]


@pytest.mark.long
def test_what_comes_in_follows_the_shares_that_were_measured() -> None:
    """By sort, what came in at 150 tables beside what the shares predict of the tiles she cannot see.

    The shares were measured at simulated tables of another card: whether winds, dragons and ends of suits go
    first is what they have in common, so the order counts and not the digits.
    """
    ((came, *_), (predicted, *_), _) = watched(small(), 150, SEED, most=1)
    assert came.sum() == 450 == pytest.approx(predicted.sum())
    assert np.corrcoef(came, predicted)[0, 1] > 0.95
    assert came[sort_of(Tile.FLOWER)] == 0
