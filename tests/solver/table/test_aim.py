"""One seat's view of the targets against a plain recount, and what it costs to lack tiles."""

from math import comb, exp

import numpy as np
import pytest

from patterns.card import HAND_SIZE, Card
from patterns.tiles import KINDS
from solver.deals import Luck
from solver.situation import tables_of
from solver.table.aim import IMPOSSIBLE, JOKER, MAX_LACK, Aim, costs_for
from tests.solver.played import own
from tests.solver.table.tables import COPIES, KONGS, aim_of, card_of, free_of, position, tiles_away

HORIZONS = [(99, 24), (60, 12), (40, 4), (45, 1), (12, 3), (5, 1), (1, 1), (152, 38), (30, 0)]
_EACH_MISSING = 2.0


@pytest.mark.parametrize(("pool", "draws"), HORIZONS)
def test_costs_are_in_range_and_grow_with_what_lacks_and_shrink_with_what_may_come(
    pool: int, draws: int
) -> None:
    costs = costs_for(pool, draws)
    for table in (costs.plain, costs.grouped, costs.hidden):
        assert table.shape[0] == MAX_LACK == HAND_SIZE + 1
        assert (table >= 0).all() and (table <= IMPOSSIBLE).all() and (table[0] == 0).all()
        assert (np.diff(table, axis=0) >= 0).all()
        assert (np.diff(table[:, : min(pool, 8) + 1], axis=1) <= 0).all()
    # Claims and jokers never make it dearer.
    assert (costs.grouped <= costs.hidden).all() and (costs.hidden <= costs.plain).all()


@pytest.mark.parametrize(
    ("lack", "unseen", "pool", "draws"), [(1, 4, 60, 12), (2, 3, 60, 12), (3, 4, 99, 24)]
)
def test_a_pair_costs_minus_the_log_of_its_chance(lack: int, unseen: int, pool: int, draws: int) -> None:
    ways = sum(comb(unseen, hit) * comb(pool - unseen, draws - hit) for hit in range(lack, unseen + 1))
    cost = costs_for(pool, draws).plain[lack, unseen] - _EACH_MISSING * lack
    assert exp(-cost) == pytest.approx(ways / comb(pool, draws), rel=1e-5)


def dealt(seed: int, card: Card, size: int = 14) -> Aim:
    order = Luck(seed).shuffled([kind for kind, copies in enumerate(COPIES) for _ in range(copies)])
    held = np.bincount(order[:size], minlength=len(KINDS))
    passed = np.bincount(order[size : size + 6], minlength=len(KINDS))
    passed[JOKER] = 0
    return Aim(tables_of(card), held, COPIES - held - passed, 20, passed)


def wander(aim: Aim, seed: int, steps: int) -> None:
    """Take, drop and see tiles as they may come in a game."""
    luck = Luck(seed, 1)
    visible = np.zeros(len(KINDS), np.int64)
    for _ in range(steps):
        move = luck.below(3)
        hidden = np.flatnonzero(aim.unseen + aim.elsewhere)
        if move == 0:
            held = np.flatnonzero(aim.held)
            kind = int(held[luck.below(len(held))])
            aim.drop(kind)
            visible[kind] += 1
        elif move == 1:
            aim.take(int(hidden[luck.below(len(hidden))]))
        else:
            kind = int(hidden[luck.below(len(hidden))])
            aim.see(kind)
            visible[kind] += 1
        assert min(aim.held.min(), aim.unseen.min(), aim.elsewhere.min()) >= 0
        assert (aim.held + aim.unseen + aim.elsewhere + visible == COPIES).all()


@pytest.mark.parametrize("seed", range(8))
def test_what_is_kept_tile_by_tile_is_what_is_computed_afresh_and_a_plain_recount(seed: int) -> None:
    aim = dealt(seed, own(), 13)
    wander(aim, seed, 60)
    free = free_of(aim, ())
    assert aim.away().tolist() == [tiles_away(target, free) for target in aim.tables.targets]
    aim.refresh(11)
    fresh = Aim(aim.tables, aim.held, aim.unseen, 11)
    scores, useful = aim.scores(), aim.usefulness()
    assert (scores == fresh.scores()).all() and (useful == fresh.usefulness()).all()
    assert np.isfinite(scores).all() and scores[aim.best()] == scores.min()
    needs = {tile.position: plain + grouped for tile, plain, grouped in aim.tables.targets[aim.best()].needs}
    assert aim.surplus(aim.best()).tolist() == [
        max(0, int(held) - needs.get(kind, 0)) * (kind != JOKER) for kind, held in enumerate(aim.held)
    ]
    # With the pool as large as before, changes tile by tile come to the same.
    kind = int(np.flatnonzero(aim.unseen)[0])
    aim.take(kind)
    aim.drop(kind)
    aim.unseen[kind] += 1
    aim.update(kind)
    assert (aim.scores() == scores).all()


@pytest.mark.parametrize("seed", range(30))
def test_a_tile_completes_exactly_when_taking_it_leaves_nothing_away(seed: int) -> None:
    tables, luck = tables_of(own()), Luck(seed, 2)
    target = tables.targets[luck.below(len(tables.targets))]
    needs = [g.tile.position for g in target.groups for _ in range(g.count)]
    grouped = {g.tile.position for g in target.groups if g.takes_jokers}
    held = luck.shuffled(needs)[1:]
    held = [JOKER if kind in grouped and luck.below(3) == 0 else kind for kind in held]
    counts = np.minimum(np.bincount(held, minlength=len(KINDS)), COPIES)
    aim = Aim(tables, counts, COPIES - counts, 5)
    found = 0
    for kind in range(JOKER):
        if aim.unseen[kind]:
            tried = Aim(tables, aim.held, aim.unseen, 5)
            tried.take(kind)
            complete = bool((tried.away() == 0).any())
            assert aim.completes(kind) == complete
            found += complete
    assert found or counts.sum() < 13
    assert not aim.completes(JOKER)


def test_a_closed_target_is_neither_near_nor_complete_nor_best() -> None:
    aim = aim_of(card_of(KONGS, "south*2 white*4 east*4 flower*4"), "S S red red red red E E E E F F F")
    assert aim.completes(position("F")) and aim.best() == 0
    aim.open[0] = False
    assert not aim.completes(position("F")) and aim.best() == 1
    assert aim.away().tolist() == [99, 5]


def test_a_joker_redeemed_from_an_own_group_is_free_again() -> None:
    aim = aim_of(card_of(KONGS), "S S red red red J E E E E F F F")
    aim.show(position("red"), 2, 1)
    aim.redeem(position("red"))
    assert free_of(aim, ())[JOKER] == 1 and aim.free[JOKER] == 1
    assert aim.locked[position("red")] == 3 and aim.locked[JOKER] == 0


def test_a_tile_passed_is_not_counted_again_when_it_turns_up() -> None:
    north, nothing = position("N"), np.zeros(len(KINDS), np.int64)
    passed = nothing.copy()
    passed[north] = 2
    aim = Aim(tables_of(own()), nothing, COPIES - passed, 20, passed)
    aim.see(north)
    assert (aim.unseen[north], aim.elsewhere[north]) == (2, 1)
    for _ in range(3):
        aim.take(north)
    assert (aim.unseen[north], aim.elsewhere[north], aim.held[north]) == (0, 0, 3)
