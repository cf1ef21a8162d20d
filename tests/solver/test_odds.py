"""Odds stated beside reach: what they are made of, and the estimate for a card that nobody has played."""

import random
from dataclasses import replace
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest

from patterns.card import Card
from patterns.card_file import read_draft, shipped_card, shipped_names
from solver import odds
from solver.advice import advise
from solver.arrivals import CHOOSING, Arrivals, Length, Make, Odds, Sharpness, Source
from solver.limits import Choice, Limits
from solver.passes import score
from solver.price import estimating
from solver.rounds import Drill, Round
from solver.situation import N_NATURALS, Question, Situation, counts_of, tables_of
from solver.why import Standings, union
from tests.benchmarks.hostile import doubles, many
from tests.solver.played import FIT, WALL, own, question, random_rack


def test_some_hand_mixes_the_lengths_after_the_union_of_independent_hands() -> None:
    """Two lengths, one of them without any tile to come: then only a complete target counts."""
    assert union(np.array([[0.5, 0.5], [0.0, 0.25]])).tolist() == [0.75, 0.25]
    asked = question(random_rack(random.Random(2)), "small")
    tables, weights = tables_of(asked.card), np.ones(len(asked.card.hands))
    situation = Situation(asked.rack, (), Arrivals.of(0, 20, 8))
    whole = score(situation, tables, weights, ())
    mixed = Arrivals(0, (Length(30, 10, 0.25), Length(0, 0, 0.75)))
    reach = Situation(asked.rack, (), Arrivals.of(0, 30, 10)).reach(tables, situation.held, whole.target)
    expected = 0.25 * (1 - np.prod(1 - reach))
    hands = Standings(situation, tables, whole, whole, Odds(mixed, (Arrivals.of(0, 0, 0),) * 4))
    assert hands.some_hand == pytest.approx(expected, rel=1e-12)
    assert expected < 1 - np.prod(1 - 0.25 * reach), "independence holds within a length, not across them"
    # A hand alone is stated up to that.
    alone = Standings(situation, tables, whole, whole, Odds(mixed, (Arrivals.of(0, 60, 30),) * 4))
    assert max(made.alone for made in alone if made.alone is not None) == alone.some_hand == hands.some_hand
    # About a share of games won, chances are drawn together.
    drawn = Standings(
        situation, tables, whole, whole, Odds(mixed, (Arrivals.of(0, 60, 30),) * 4, Sharpness(0.5, 0.5))
    )
    assert drawn.some_hand == pytest.approx(1 / (1 + sqrt((1 - expected) / expected)))


def test_what_is_certain_stays_so_and_sharpness_1_changes_nothing() -> None:
    chances = np.array([0.0, 0.1, 0.3, 1.0])
    assert Sharpness(0.25, 0.4).of(chances)[[0, 3]].tolist() == [0, 1]
    assert Sharpness(0.3, 0.4).of(chances)[2] == pytest.approx(0.3)
    assert Sharpness(0.25).of(chances) == pytest.approx(chances)


def reach_alone(hands: Standings, round_: Round) -> np.ndarray:
    """Return the reach of every target by itself, under the play of its make."""
    tables, kept = hands.tables, hands.situation.held - counts_of(hands.after.passed)[:N_NATURALS]
    reach = np.zeros(len(tables.targets))
    for row, (plain, grouped, hidden) in enumerate(
        zip(tables.plain, tables.grouped, tables.concealed, strict=True)
    ):
        open_make = Make.SOME_PAIRS if plain.any() else Make.GROUPS
        make = Make.PAIRS_ONLY if not grouped.any() else Make.CONCEALED if hidden else open_make
        coming = FIT.alone[list(Make).index(make)].coming(round_, len(hands.after.passed))
        reach[row] = replace(hands.situation, arrivals=coming).reach(tables, kept, np.array([row]))[0]
    return reach


@pytest.mark.parametrize("round_", [Round.FIRST_RIGHT, Round.SECOND_RIGHT, Round.COURTESY])
def test_each_hand_alone_is_that_of_its_likeliest_target_then(round_: Round) -> None:
    hands = advise(question(random_rack(random.Random(3)), "small", round=round_, fit=FIT)).hands
    tables, reach = hands.tables, reach_alone(hands, round_)
    for made in hands[:5]:
        of = [reach[row] for row, target in enumerate(tables.targets) if target in made.hand.targets]
        assert made.alone == pytest.approx(max(of), rel=1e-12)
    assert hands.some_hand is not None
    assert hands.some_hand >= max(made.alone for made in hands if made.alone is not None)


def test_another_target_of_a_hand_may_be_likelier_than_the_one_shown() -> None:
    """Longer play makes a target likelier that lacks more, but nothing in pairs."""
    found = 0
    for seed in range(4):
        hands = advise(question(random_rack(random.Random(seed)), "small", fit=FIT)).hands
        tables, reach = hands.tables, reach_alone(hands, Round.FIRST_RIGHT)
        for made in hands[:10]:
            assert made.alone is not None
            shown = reach[tables.targets.index(made.target)]
            assert made.alone >= shown - 1e-12
            found += made.alone > shown + 1e-6
    assert found > 0


def test_what_is_assumed_for_odds_chooses_nothing() -> None:
    held = random_rack(random.Random(5))
    some, none = (advise(question(held, "small", fit=fit)) for fit in (FIT, None))
    assert some.passed == none.passed and some.expected == none.expected
    assert none.hands.some_hand is None and {made.alone for made in none.hands} == {None}


def test_with_one_hand_on_the_card_some_hand_is_no_less_than_that_hand() -> None:
    one = Card("one", own().hands[:1])
    hands = advise(Question(one, random_rack(random.Random(4)), Round.FIRST_RIGHT, fit=FIT)).hands
    assert (hands.some_hand or 0) >= (hands[0].alone or 0) > 0


def test_nothing_is_stated_where_nothing_was_measured_or_too_little_is_unseen() -> None:
    held = random_rack(random.Random(6))
    for asked in ({"arrivals": Arrivals.of(3, 20, 10)}, {"drill": Drill(3)}):
        hands = advise(question(held, "small", fit=FIT, **asked)).hands
        assert hands.some_hand is None and {made.alone for made in hands} == {None}
    # One hand alone takes longer play than reach does, so more naturals must be unseen.
    left = list(WALL)
    for tile in held.tiles:
        left.remove(tile)
    naturals = [tile for tile in left if tile.position < N_NATURALS]
    most = max(play.coming(Round.FIRST_RIGHT, 3).most for play in FIT.alone)
    assert most > FIT.some_hand.coming(Round.FIRST_RIGHT, 3).most
    enough, short = (
        advise(question(held, "small", fit=FIT, seen=tuple(naturals[: len(naturals) - unseen]))).hands
        for unseen in (most, most - 1)
    )
    assert all(made.alone is not None for made in enough)
    assert short.some_hand is not None and {made.alone for made in short} == {None}


@pytest.mark.parametrize(
    "limits",
    [
        Limits.of(without=Choice(hands=("Left Out",))),
        Limits.of(only=Choice(families=("weather",))),
        Limits.of(weights=(("Left Out", 2.0),)),
    ],
)
def test_some_hand_is_not_stated_where_limits_change_what_counts(limits: Limits) -> None:
    """Games were played for all hands of a card; one hand alone does not hang on the others."""
    held = random_rack(random.Random(7))
    hands = advise(Question(own(), held, Round.FIRST_RIGHT, limits=limits, fit=FIT)).hands
    assert hands.some_hand is None
    assert all(made.alone is not None for made in hands)


@pytest.fixture
def few_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(odds, "_TABLES", 6)
    monkeypatch.setattr(odds, "_DEALS", 12)
    monkeypatch.setattr(odds, "_kept", type(odds._kept)())


@pytest.mark.usefixtures("few_tables")
def test_an_estimate_makes_the_mean_chance_what_a_player_wins_after_every_pass() -> None:
    found = odds.estimate(own())
    assert found is not None and found.source is Source.ESTIMATE and found.games == 0 and found.error is None
    stages = odds._stages(own())
    for round_, sample in stages.items():
        coming = found.some_hand.coming(round_, 3 if round_ else 0)
        assert sample.mean(coming) == pytest.approx(found.sharpness.share, abs=0.04), round_
    assert all(before >= after for before, after in pairwise(found.some_hand.later))
    factor = found.some_hand.lengths[1].draws / CHOOSING.lengths[1].draws
    # One hand alone is scaled the same way, less.
    drawn = [play.coming(None, 0).mean_draws for play in found.alone]
    assert drawn == pytest.approx([24 * each for each in odds.alone_factors(factor)], rel=0.02)


@pytest.mark.usefixtures("few_tables")
def test_fewer_games_are_won_with_concealed_hands() -> None:
    for concealed, share in ((False, odds.WINS), (True, odds.WINS - odds.WINS_LESS)):
        card = Card("all alike", tuple(replace(hand, concealed=concealed) for hand in own().hands))
        found = odds.estimate(card)
        assert found is not None and found.sharpness.share == pytest.approx(share)


@pytest.mark.usefixtures("few_tables")
def test_no_estimate_of_a_card_that_cannot_be_believed() -> None:
    """One hand that wants eight of a kind in singles is hardly ever completed, whatever the lengths."""
    pairs = replace(own().hands[3], targets=own().hands[3].targets[:1])
    assert odds.estimate(Card("pairs", (pairs,))) is None


@pytest.mark.usefixtures("few_tables")
def test_no_estimate_begins_that_would_take_too_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Kinds wanted both in pairs and in groups cost far more than the number of targets tells."""
    monkeypatch.setattr(odds, "_estimate", lambda card: FIT)
    dear, large = (read_draft(made).card() for made in (doubles(hands=10), many()))
    assert dear.target_count < own().target_count < large.target_count
    for card in (dear, large):
        assert odds.estimate(card) is None and odds.cost(card) is None
    asked = Question(dear, random_rack(random.Random(8)), Round.FIRST_RIGHT)
    assert estimating(asked).units == 0 < estimating(replace(asked, card=own())).units
    assert all(odds.estimate(shipped_card(name)) is FIT for name in shipped_names())


def test_scaled_lengths_keep_their_shares_and_the_exchanges() -> None:
    play = odds.scaled(FIT.some_hand, 1.5)
    assert play.lengths == (Length(21, 14, 0.75), Length(39, 0, 0.25))
    assert play.later == FIT.some_hand.later


@pytest.mark.parametrize("factor", [0.6, 0.75, 1.0, 1.01, 1.06, 2.0])
def test_lengths_for_one_hand_alone_are_mixed_of_whole_ones(factor: float) -> None:
    play = odds.alone_play(factor)
    assert sum(each.share for each in play.lengths) == pytest.approx(1) and len(play.lengths) <= 2
    assert all(each.draws == 3 * each.claims for each in play.lengths)
    assert play.coming(None, 0).mean_claims == pytest.approx(8 * factor, abs=0.005)
