"""How many tiles are to come, at a table and in a drill, and the chances stated beside reach."""

import random
from dataclasses import replace
from math import fsum
from statistics import fmean

import numpy as np
import pytest

from solver.advice import advise
from solver.arrivals import (
    LATER_EXCHANGES,
    LENGTHS,
    Arrivals,
    Coming,
    Length,
    MixedArrivals,
    after_the_exchanges,
    arrivals_alone,
    default_arrivals,
)
from solver.limits import Choice, Limits, hand_weights
from solver.passes import score
from solver.rounds import RULES, THEN_DRAWS, Drill, Round
from solver.situation import N_NATURALS, Question, Situation, counts_of, tables_of
from solver.why import Standings, union
from tests.solver.played import own, rack
from tests.solver.racks import WALL, card, question, random_rack

NAMED = Arrivals(6, 12, 7)
MIXED = MixedArrivals(6, (Length(10, 4, 0.5), Length(14, 8, 0.25), Length(20, 0, 0.25)))
HELD = rack("F F F F N N N W W W S S S J")


@pytest.mark.parametrize("round_", Round)
def test_as_many_come_as_go_and_what_later_exchanges_are_worth(round_: Round) -> None:
    for give in RULES[round_].allowed:
        assert default_arrivals(round_, give) == MixedArrivals(give + LATER_EXCHANGES[round_], LENGTHS)
    assert after_the_exchanges() == MixedArrivals(0, LENGTHS)


def test_the_default_lengths_are_different_ones_and_leave_room_in_a_whole_set() -> None:
    """Of 144 naturals a rack holds up to 14, and some come by exchanges."""
    assert fsum(each.share for each in LENGTHS) == pytest.approx(1, abs=1e-12)
    assert len({(each.draws, each.claims) for each in LENGTHS}) == len(LENGTHS)
    assert all(each.share > 0 and each.draws >= 0 and each.claims >= 0 for each in LENGTHS)
    by_exchanges = max(default_arrivals(round_, 3).charleston for round_ in Round)
    assert max(each.draws + each.claims for each in LENGTHS) <= 144 - 14 - by_exchanges


def test_possibilities_their_shares_and_means() -> None:
    assert NAMED.parts == ((1.0, NAMED),)
    counts = [(share, each.charleston, each.draws, each.claims) for share, each in MIXED.parts]
    assert counts == [(0.5, 6, 10, 4), (0.25, 6, 14, 8), (0.25, 6, 20, 0)]
    assert (NAMED.mean_draws, NAMED.mean_claims, NAMED.most) == (12, 7, 25)
    assert (MIXED.mean_draws, MIXED.mean_claims, MIXED.most) == (13.5, 4.0, 28)


@pytest.mark.parametrize("coming", [NAMED, MIXED])
def test_exchanges_and_claims_can_be_changed_by_themselves(coming: Coming) -> None:
    later, silent = coming.after(2), coming.without_claims()
    assert later.charleston == 2 and later.after(6) == coming
    for (share, was), (same, now), (alike, mute) in zip(coming.parts, later.parts, silent.parts, strict=True):
        assert (now.draws, now.claims, same) == (was.draws, was.claims, share)
        assert (mute, alike) == (Arrivals(6, was.draws, 0), share)


@pytest.mark.parametrize(
    ("share", "room", "draws", "claims"),
    [
        (0.8, 100, 10, 6),  # 9.6 and 5.6
        (1.2, 100, 14, 8),  # 14.4 and 8.4
        (1.0, 25, 12, 7),  # just room for all
        (1.2, 25, 14, 5),  # claims are cut first
        (1.2, 15, 9, 0),  # then draws
        (1.2, 6, 0, 0),  # the exchanges take all
        (0.0, 100, 0, 0),
    ],
)
def test_scaled_rounds_and_keeps_within_the_room(share: float, room: int, draws: int, claims: int) -> None:
    assert NAMED.scaled(share, room) == Arrivals(6, draws, claims)
    mixed = MixedArrivals(6, (Length(12, 7, 0.75), Length(0, 0, 0.25)))
    assert mixed.scaled(share, room).lengths == (Length(draws, claims, 0.75), Length(0, 0, 0.25))


def mean_worth(name: str, drill: Drill | None) -> float:
    """Return what the whole rack is worth before a first pass, on average over a hundred random racks."""
    rnd = random.Random(2024)
    tables, weights = tables_of(card(name)), hand_weights(card(name), Limits())
    worth = []
    for _ in range(100):
        asked = Question(card(name), random_rack(rnd), Round.FIRST_RIGHT, drill=drill)
        worth.append(score(asked.situation, tables, weights, ()).expected)
    return fmean(worth)


@pytest.mark.parametrize("name", ["small", "full"])
def test_with_the_default_draws_a_rack_of_a_drill_is_worth_about_what_it_is_at_a_table(name: str) -> None:
    """Within a factor of two; on the full card no other number is as near: measured anew with arrivals."""
    table = mean_worth(name, None)
    fewer, default, more = (mean_worth(name, Drill(3, THEN_DRAWS + change)) for change in (-1, 0, 1))
    assert table / 2 < fewer < default < more < table * 2
    if name == "full":
        assert abs(default - table) < min(abs(fewer - table), abs(more - table))


def test_some_hand_mixes_the_lengths_after_the_union_of_independent_hands() -> None:
    """Two lengths, one of them without any tile to come: then only a complete target counts."""
    assert union(np.array([[0.5, 0.5], [0.0, 0.25]])).tolist() == [0.75, 0.25]
    asked = question(random_rack(random.Random(2)), "small")
    tables, weights = tables_of(asked.card), np.ones(len(asked.card.hands))
    mixed = MixedArrivals(0, (Length(30, 10, 0.25), Length(0, 0, 0.75)))
    situation = Situation(asked.rack, (), mixed)
    whole = score(situation, tables, weights, ())
    reach = Situation(asked.rack, (), Arrivals(0, 30, 10)).reach(tables, situation.held, whole.target)
    expected = 0.25 * (1 - np.prod(1 - reach))
    hands = Standings(situation, tables, whole, whole, Arrivals(0, 0, 0))
    assert hands.some_hand == pytest.approx(expected, rel=1e-12)
    assert expected < 1 - np.prod(1 - 0.25 * reach), "independence holds within a length, not across them"
    # A hand alone that is likelier than that is the least that some hand can be.
    alone = Standings(situation, tables, whole, whole, Arrivals(0, 60, 30))
    assert alone.some_hand == max(made.alone for made in alone if made.alone is not None) > expected


@pytest.mark.parametrize("round_", Round)
def test_advice_states_the_chance_of_each_hand_alone(round_: Round) -> None:
    hands = advise(question(random_rack(random.Random(3)), "small", round=round_)).hands
    tables, kept = hands.tables, hands.situation.held - counts_of(hands.after.passed)[:N_NATURALS]
    situation = replace(hands.situation, arrivals=arrivals_alone(round_, len(hands.after.passed)))
    for made in hands[:5]:
        target = np.array([tables.targets.index(made.target)])
        assert made.alone == pytest.approx(situation.reach(tables, kept, target)[0], rel=1e-12)
    assert hands.some_hand is not None
    assert hands.some_hand >= max(made.alone for made in hands if made.alone is not None)


def test_with_one_hand_that_counts_some_hand_is_that_hand() -> None:
    held = random_rack(random.Random(4))
    name = advise(Question(own(), held, Round.FIRST_RIGHT)).hands[0].hand.name
    hands = advise(
        Question(own(), held, Round.FIRST_RIGHT, limits=Limits.of(only=Choice(hands=(name,))))
    ).hands
    assert [made.hand.name for made in hands] == [name]
    assert hands.some_hand == hands[0].alone


def test_nothing_is_stated_where_nothing_was_measured_or_too_little_is_unseen() -> None:
    held = random_rack(random.Random(6))
    for asked in ({"arrivals": Arrivals(3, 20, 10)}, {"drill": Drill(3)}):
        hands = advise(question(held, "small", **asked)).hands
        assert hands.some_hand is None and {made.alone for made in hands} == {None}
    # One hand alone takes longer play than reach does, so more naturals must be unseen.
    left = list(WALL)
    for tile in held.tiles:
        left.remove(tile)
    naturals = [tile for tile in left if tile.position < N_NATURALS]
    most = arrivals_alone(Round.FIRST_RIGHT, 3).most
    enough, short = (
        advise(question(held, "small", seen=tuple(naturals[: len(naturals) - unseen]))).hands
        for unseen in (most, most - 1)
    )
    assert all(made.alone is not None for made in enough)
    assert short.some_hand is not None and {made.alone for made in short} == {None}
