"""Forecasts stated beside reach."""

import random

import numpy as np
import pytest

from solver.advice import advise
from solver.arrivals import Arrivals, Length, MixedArrivals, arrivals_alone
from solver.card_tables import N_NATURALS, tables_of
from solver.forecast import reach_of_targets, some_hand, union
from solver.limits import Choice, Limits
from solver.rescore import score
from solver.rounds import Drill, Round
from solver.situation import Situation, counts_of
from tests.solver.racks import WALL, question, random_rack


def test_the_union_is_of_independent_hands() -> None:
    assert union(np.array([[0.5, 0.5], [0.0, 0.25]])).tolist() == [0.75, 0.25]


def test_reach_under_the_situations_own_arrivals_is_its_reach() -> None:
    asked = question(random_rack(random.Random(1)), "full")
    situation, tables = asked.situation, tables_of(asked.card)
    every = np.arange(len(tables.targets))
    found = reach_of_targets(situation, tables, situation.held, every, situation.arrivals)
    assert found == pytest.approx(situation.reach(tables, situation.held), rel=1e-12)
    longer = reach_of_targets(situation, tables, situation.held, every, Arrivals(10, 40, 40))
    assert (longer >= found).all() and (longer > found).any()


def test_some_hand_mixes_the_lengths_after_the_union() -> None:
    """Two lengths, one of them without any tile to come: then only a complete target counts."""
    asked = question(random_rack(random.Random(2)), "small")
    tables = tables_of(asked.card)
    one, none = Arrivals(0, 30, 10), Arrivals(0, 0, 0)
    both = MixedArrivals(0, (Length(30, 10, 0.25), Length(0, 0, 0.75)))
    situation = Situation(asked.rack, (), both)
    targets = score(situation, tables, np.ones(len(asked.card.hands)), ()).target
    reach = reach_of_targets(situation, tables, situation.held, targets, one)
    assert not reach_of_targets(situation, tables, situation.held, targets, none).any()
    expected = 0.25 * (1 - np.prod(1 - reach))
    assert some_hand(situation, tables, situation.held, targets) == pytest.approx(expected, rel=1e-12)
    assert expected < 1 - np.prod(1 - 0.25 * reach), "independence holds within a length, not across them"


@pytest.mark.parametrize("round_", Round)
def test_advice_states_both_for_what_it_keeps(round_: Round) -> None:
    answer = advise(question(random_rack(random.Random(3)), "small", round=round_))
    situation, kept = answer.hands.situation, answer.hands.situation.held - counts_of(answer.passed)[:-1]
    tables, alone = answer.hands.tables, arrivals_alone(round_, len(answer.passed))
    for made in answer.hands[:5]:
        target = np.array([tables.targets.index(made.target)])
        found = reach_of_targets(situation, tables, kept, target, alone)[0]
        assert made.alone == pytest.approx(found, rel=1e-12)
        assert made.alone > made.reach
    assert answer.hands.some_hand is not None
    assert max(made.alone for made in answer.hands) <= answer.hands.some_hand < answer.expected


def test_with_one_hand_that_counts_some_hand_is_that_hand() -> None:
    rack = random_rack(random.Random(4))
    name = advise(question(rack, "small")).hands[0].hand.name
    answer = advise(question(rack, "small", limits=Limits(only=Choice(hands=(name,)))))
    assert [made.hand.name for made in answer.hands] == [name]
    assert answer.hands.some_hand == answer.hands[0].alone


def test_some_hand_is_the_union_where_no_hand_alone_is_likelier() -> None:
    rack = random_rack(random.Random(7))
    found = advise(question(rack, "full")).hands
    kept = found.situation.held - counts_of(found.after.passed)[:N_NATURALS]
    union_of = some_hand(found.situation, found.tables, kept, found.after.target[found.order])
    likeliest = max(made.alone for made in found if made.alone is not None)
    assert found.some_hand == pytest.approx(union_of, rel=1e-12) and union_of > likeliest


def test_nothing_is_stated_where_nothing_was_measured() -> None:
    rack = random_rack(random.Random(5))
    named = advise(question(rack, "small", arrivals=Arrivals(3, 20, 10)))
    drill = advise(question(rack, "small", drill=Drill(3)))
    for answer in (named, drill):
        assert answer.hands.some_hand is None
        assert {made.alone for made in answer.hands} == {None}


def test_nothing_is_stated_of_one_hand_when_too_little_is_unseen() -> None:
    """Reach needs 48 unseen naturals at the first right pass; one hand alone takes longer play."""
    rack = random_rack(random.Random(6))
    left = list(WALL)
    for tile in rack.tiles:
        left.remove(tile)
    naturals = [tile for tile in left if tile.position < N_NATURALS]
    most = arrivals_alone(Round.FIRST_RIGHT, 3).most
    enough, short = (naturals[: len(naturals) - unseen] for unseen in (most, most - 1))
    answers = [advise(question(rack, "small", seen=tuple(seen))) for seen in (enough, short)]
    assert all(made.alone is not None for made in answers[0].hands)
    assert {made.alone for made in answers[1].hands} == {None}
    assert answers[1].hands.some_hand is not None
