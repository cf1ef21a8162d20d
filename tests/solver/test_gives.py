"""What a pass gives away, against exact reach with and without the tiles."""

import numpy as np
import pytest

from patterns.card import Card
from patterns.tiles import KINDS, Tile
from solver.arrivals import default_arrivals
from solver.deals import Luck
from solver.gives import Receivers, receivers
from solver.rounds import Round
from solver.situation import N_NATURALS, Objective, Situation, counts_of, tables_of
from tests.solver.played import own, tiny

NATURALS = [tile for tile in KINDS if tile is not Tile.JOKER]
DEFAULT = Objective.STRENGTH


def gain(card: Card, *passed: Tile) -> float:
    return receivers(card).gain(passed, DEFAULT)


def counted(card: Card, found: Receivers, passed: tuple[Tile, ...]) -> float:
    """Return the mean log of how many times as strong the racks are with the tiles, by exact reach."""
    tables, logs = tables_of(card), []
    for rack in found.racks:
        situation = Situation(rack, (), default_arrivals(Round.FIRST_RIGHT, 0))
        more = situation.held + counts_of(passed)[:N_NATURALS]
        reach = np.maximum.reduceat(
            situation.reach(tables, np.stack([situation.held, more])), tables.first_of_hand(), axis=1
        )
        without, with_them = DEFAULT.counted(reach).sum(axis=1)
        logs.append(np.log(with_them / without))
    return float(np.mean(logs))


def test_gains_are_about_those_of_exact_reach() -> None:
    found, luck = receivers(own()), Luck(5)
    passes = [tuple(luck.shuffled(NATURALS)[: 1 + number % 3]) for number in range(18)]
    passes += [(tile,) * 3 for tile in luck.shuffled(NATURALS)[:6]]
    exact = np.array([counted(own(), found, passed) for passed in passes])
    ours = np.log1p([gain(own(), *passed) for passed in passes])
    assert np.corrcoef(exact, ours)[0, 1] > 0.8
    assert ours.mean() == pytest.approx(exact.mean(), rel=0.35)


def test_racks_that_may_get_a_pass_are_ten_tiles_that_a_deal_can_leave() -> None:
    for rack in receivers(own()).racks:
        assert len(rack.tiles) == 10 and (counts_of(rack.tiles) <= [tile.copies for tile in KINDS]).all()
    assert len({rack.tiles for rack in receivers(own()).racks}) == len(receivers(own()).racks)


def test_what_no_target_wants_gives_nothing_away_and_more_tiles_never_less() -> None:
    assert gain(tiny()) == 0
    assert gain(tiny(), Tile.B1, Tile.B1, Tile.C9) == 0
    assert 0 < gain(tiny(), Tile.EAST) < gain(tiny(), Tile.EAST, Tile.NORTH)
    assert gain(tiny(), Tile.NORTH, Tile.EAST) == gain(tiny(), Tile.EAST, Tile.NORTH)


def test_a_usual_pass_gives_less_than_three_of_what_most_targets_want() -> None:
    gains = [gain(own(), tile, tile, tile) for tile in NATURALS]
    assert min(gains) <= receivers(own()).usual[DEFAULT] < max(gains)


def test_likelier_hands_count_the_more() -> None:
    """So tiles that help them add more to the strength than to the plain sum."""
    passed = (Tile.EAST, Tile.EAST, Tile.NORTH)
    assert receivers(tiny()).gain(passed, Objective.SUM) < gain(tiny(), *passed)
