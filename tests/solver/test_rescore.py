import random

import numpy as np
import pytest

from solver.card_tables import tables_of
from solver.limits import AtLeast, Choice, Limits, hand_weights
from solver.rescore import keeps, score
from solver.situation import Situation, counts_of
from solver.terms.all_limits import limit_terms
from tests.solver.racks import question, random_rack

ASKED = question(random_rack(random.Random(1)))
TABLES = tables_of(ASKED.card)
ONES = hand_weights(ASKED.card, Limits())


def test_a_hand_is_worth_its_best_target_and_the_first_of_equals_stands_for_it() -> None:
    passed = ASKED.rack.tiles[2:5]
    result = score(ASKED.situation, TABLES, ONES, passed)
    reach = ASKED.situation.reach(TABLES, ASKED.situation.held - counts_of(passed)[:35])
    for hand in range(len(ASKED.card.hands)):
        of_hand = [row for row in range(len(reach)) if TABLES.hand[row] == hand]
        best = max(reach[row] for row in of_hand)
        assert result.reach[hand] == best
        assert result.target[hand] == next(row for row in of_hand if reach[row] == best)
    assert result.passed == passed
    assert result.expected == pytest.approx(result.reach.sum())


def test_weights_multiply_and_hands_of_weight_nothing_do_not_count() -> None:
    weights = np.arange(len(ONES), dtype=float)
    plain = score(ASKED.situation, TABLES, ONES, ())
    weighted = score(ASKED.situation, TABLES, weights, ())
    assert weighted.reach[0] == 0 < plain.reach[0]
    assert np.array_equal(weighted.reach[1:], plain.reach[1:])
    assert weighted.expected == pytest.approx(float(plain.reach @ weights))


def test_keeps_is_every_limit_at_once() -> None:
    outcome = score(ASKED.situation, TABLES, ONES, ASKED.rack.tiles[:3])
    best = float(outcome.reach.max())
    kept = Limits(keep_hands=AtLeast(1, best), stay=ASKED.rack.tiles[3:])
    broken = Limits(keep_hands=AtLeast(1, best), stay=ASKED.rack.tiles[2:])
    assert keeps(ASKED.situation, TABLES, limit_terms(kept), outcome)
    assert not keeps(ASKED.situation, TABLES, limit_terms(broken), outcome)
    assert keeps(ASKED.situation, TABLES, (), outcome)


def test_hands_that_do_not_count_keep_no_limit() -> None:
    limits = Limits(only=Choice(families=("ladders",)), keep_hands=AtLeast(5, 1e-9))
    weights = hand_weights(ASKED.card, limits)
    outcome = score(ASKED.situation, TABLES, weights, ())
    assert (weights > 0).sum() == 4
    assert not keeps(ASKED.situation, TABLES, limit_terms(limits), outcome)


def test_the_first_of_targets_that_differ_by_the_last_digit_stands_for_the_hand(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = question(random_rack(random.Random(8)))
    tables = tables_of(asked.card)
    first = tables.first_of_hand()
    several = [hand for hand, one in enumerate(asked.card.hands) if len(one.targets) > 1]
    reach = np.full(len(tables.targets), 0.25)
    reach[first] = 0.5
    reach[first[several] + 1] = np.nextafter(0.5, 1)
    monkeypatch.setattr(Situation, "reach", lambda *_: reach[None])
    found = score(asked.situation, tables, np.ones(len(asked.card.hands)), ())
    assert several and found.target.tolist() == first.tolist()
