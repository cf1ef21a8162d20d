from collections import Counter

import numpy as np
import pytest

from patterns.card import Card
from patterns.tiles import KINDS
from solver.card_tables import tables_of
from solver.deals import Luck
from solver.table.aim import JOKER, Aim
from tests.solver.played import small
from tests.solver.table.tables import COPIES, aim_of, card_of, free_of, position, tiles_away

STATE = (
    "_cost",
    "_group_cost",
    "_lack_plain",
    "_lack_grouped",
    "_total",
    "_group_total",
    "plain_away",
    "grouped_away",
)


def dealt(seed: int, card: Card, size: int = 14) -> Aim:
    order = Luck(seed).shuffled([kind for kind, copies in enumerate(COPIES) for _ in range(copies)])
    held = np.bincount(order[:size], minlength=len(KINDS))
    passed = np.bincount(order[size : size + 6], minlength=len(KINDS))
    passed[JOKER] = 0
    return Aim(tables_of(card), held, COPIES - held - passed, 20, passed)


def wander(aim: Aim, seed: int, steps: int) -> None:
    chance = Luck(seed, 1)
    visible = np.zeros(len(KINDS), np.int64)
    for _ in range(steps):
        move = chance.below(3)
        hidden = np.flatnonzero(aim.unseen + aim.elsewhere)
        if move == 0:
            held = np.flatnonzero(aim.held)
            kind = int(held[chance.below(len(held))])
            aim.drop(kind)
            visible[kind] += 1
        elif move == 1:
            aim.take(int(hidden[chance.below(len(hidden))]))
        else:
            kind = int(hidden[chance.below(len(hidden))])
            aim.see(kind)
            visible[kind] += 1
        assert min(aim.held.min(), aim.unseen.min(), aim.elsewhere.min()) >= 0
        assert (aim.held + aim.unseen + aim.elsewhere + visible == COPIES).all()


@pytest.mark.parametrize("seed", range(6))
def test_the_state_kept_tile_by_tile_is_the_state_computed_afresh(seed: int) -> None:
    aim = dealt(seed, small())
    aim.refresh(11)
    costs = aim._costs
    wander(aim, seed, 80)
    kept = {name: getattr(aim, name).copy() for name in STATE}
    fresh = Aim(aim.tables, aim.held, aim.unseen, 11)
    fresh._costs = costs
    for kind in range(JOKER):
        fresh._columns(kind)
    assert (fresh._cost == kept["_cost"]).all() and (fresh._cost.sum(axis=0) == kept["_total"]).all()
    aim.refresh(11)
    for name in ("_lack_plain", "_lack_grouped", "plain_away", "grouped_away"):
        assert (getattr(aim, name) == kept[name]).all(), name


def test_a_refresh_with_the_pool_unchanged_changes_nothing() -> None:
    aim = dealt(3, small())
    kind = int(np.flatnonzero(aim.unseen)[0])
    aim.take(kind)
    aim.drop(kind)
    aim.unseen[kind] += 1
    aim.update(kind)
    kept = {name: getattr(aim, name).copy() for name in STATE}
    aim.refresh(20)
    for name in STATE:
        assert (getattr(aim, name) == kept[name]).all(), name


@pytest.mark.parametrize("seed", range(8))
def test_tiles_away_are_a_plain_recount(seed: int) -> None:
    aim = dealt(seed, small(), 13)
    wander(aim, seed, 25)
    free = free_of(aim, ())
    recount = [tiles_away(target, free) for target in aim.tables.targets]
    assert aim.away().tolist() == recount


@pytest.mark.parametrize("seed", range(40))
def test_a_tile_completes_exactly_when_taking_it_leaves_nothing_away(seed: int) -> None:
    card = small()
    chance = Luck(seed, 2)
    target = tables_of(card).targets[chance.below(len(tables_of(card).targets))]
    needs = [g.tile.position for g in target.groups for _ in range(g.count)]
    grouped = {g.tile.position for g in target.groups if g.takes_jokers}
    held = chance.shuffled(needs)[1:]
    held = [JOKER if kind in grouped and chance.below(3) == 0 else kind for kind in held]
    counts = np.minimum(np.bincount(held, minlength=len(KINDS)), COPIES)
    aim = Aim(tables_of(card), counts, COPIES - counts, 5)
    found = 0
    for kind in range(JOKER):
        if aim.unseen[kind]:
            tried = Aim(aim.tables, aim.held, aim.unseen, 5)
            tried.take(kind)
            complete = bool((tried.away() == 0).any())
            assert aim.completes(kind) == complete
            found += complete
    assert found or counts.sum() < 13
    assert not aim.completes(JOKER)


def test_a_closed_target_is_neither_near_nor_complete_nor_best() -> None:
    card = card_of("flower*2 north*4 east*4 west*4", "flower*2 south*4 east*4 west*4")
    aim = aim_of(card, "F F N N N N E E E E W W W")
    assert aim.completes(position("W")) and aim.best() == 0
    aim.open[0] = False
    assert not aim.completes(position("W")) and aim.best() == 1
    assert aim.away().tolist() == [99, 5]


@pytest.mark.parametrize("seed", range(10))
def test_scores_are_finite_and_guide_to_surplus_and_usefulness(seed: int) -> None:
    aim = dealt(seed, small())
    wander(aim, seed, 60)
    scores = aim.scores()
    assert np.isfinite(scores).all() and scores[aim.best()] == scores.min()
    useful = aim.usefulness()
    assert useful.shape == (JOKER,) and np.isfinite(useful).all() and (useful >= 0).all()
    surplus = aim.surplus(aim.best())
    needs = {tile.position: plain + grouped for tile, plain, grouped in aim.tables.targets[aim.best()].needs}
    assert surplus.tolist() == [
        max(0, int(held) - needs.get(kind, 0)) * (kind != JOKER) for kind, held in enumerate(aim.held)
    ]


def test_jokers_in_a_shown_group_serve_that_group_alone() -> None:
    card = card_of("flower*2 north*4 east*4 west*4")
    aim = aim_of(card, "F F N N J J E E E E W W W")
    aim.show(position("N"), 2, 2)
    assert aim.away().tolist() == [1]
    assert aim.completes(position("W"))
    assert not aim.completes(position("N")), "a discard may not take the place of a joker"


def test_naturals_in_a_shown_group_do_not_make_the_pair() -> None:
    card = card_of("north*2 north*4 east*4 west*4")
    aim = aim_of(card, "N N J J J J E E E E W W W W")
    assert aim.away().tolist() == [0]
    aim.show(position("N"), 2, 2)
    assert aim.away().tolist() == [2]
    aim.take(position("N"))
    aim.take(position("N"))
    assert aim.away().tolist() == [0]


def test_a_joker_redeemed_from_an_own_group_is_free_again() -> None:
    aim = aim_of(card_of("flower*2 north*4 east*4 west*4"), "F F N N N J E E E E W W W")
    aim.show(position("N"), 2, 1)
    aim.redeem(position("N"))
    assert free_of(aim, ())[JOKER] == 1 and aim.free[JOKER] == 1
    assert aim.locked[position("N")] == 3 and aim.locked[JOKER] == 0


def test_a_tile_passed_is_not_counted_again_when_it_turns_up() -> None:
    card = small()
    north = position("N")
    passed = np.zeros(len(KINDS), np.int64)
    passed[north] = 2
    aim = Aim(tables_of(card), np.zeros(len(KINDS), np.int64), COPIES - passed, 20, passed)
    aim.see(north)
    assert (aim.unseen[north], aim.elsewhere[north]) == (2, 1)
    aim.take(north)
    aim.take(north)
    aim.take(north)
    assert (aim.unseen[north], aim.elsewhere[north], aim.held[north]) == (0, 0, 3)


def test_a_target_of_one_kind_far_over_the_set_has_a_cost() -> None:
    aim = aim_of(card_of("flower*6 flower*6 north*2"), "1b 2b 3b")
    assert np.isfinite(aim.scores()).all()
    assert Counter(aim.away().tolist()) == {14: 1}
