"""Costs and sensitivity against counting out all passes; and how hands stand."""

import random
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import Advice, advise
from solver.arrivals import Arrivals, Length
from solver.deals import deal
from solver.limits import Choice, Limits, hand_weights
from solver.passes import Valued, score
from solver.rounds import Drill, Round
from solver.situation import POWER, Question, tables_of
from solver.why import SHARES, HandStanding, Sensitivity, Standings, sensitivity
from tests.solver.played import WALL, count_out, question, rack, random_rack, small, tiles, tiny

JOKERS = rack("2344b 35c 5d N F F white J J J")
QUESTIONS = {
    "first right": Question(small(), deal(51, 0).rack, Round.FIRST_RIGHT, alternatives=0),
    "jokers": Question(small(), JOKERS, Round.SECOND_ACROSS, alternatives=0),
    "blind": Question(small(), deal(51, 1, 13).rack, Round.FIRST_LEFT, alternatives=0),
    "courtesy of one": Question(small(), deal(51, 2, 13).rack, Round.COURTESY, 1, alternatives=0),
    "stated": Question(
        small(),
        JOKERS,
        Round.SECOND_RIGHT,
        arrivals=Arrivals.of(5, 10, 8),
        seen=tiles("1b F"),
        alternatives=0,
    ),
    "drill": Question(small(), JOKERS, Round.FIRST_RIGHT, drill=Drill(2, 20), alternatives=0),
    "limits": Question(
        small(),
        JOKERS,
        Round.FIRST_RIGHT,
        limits=Limits.of(stay=tiles("N 4b"), no_flowers=True, without=Choice(families=small().families[:1])),
        alternatives=0,
    ),
}


def hangs_on(advice: Advice) -> tuple[Sensitivity, ...]:
    return sensitivity(advice.question, advice.passed)


@pytest.mark.parametrize("name", QUESTIONS)
def test_costs_equal_counting_out_the_passes_with_the_tile(name: str) -> None:
    asked = QUESTIONS[name]
    advice = advise(asked)
    worth = count_out(replace(asked.giving(len(advice.passed)), arrivals=advice.arrivals))
    best = max(worth.values())
    kinds = sorted({tile for tile in asked.rack.tiles if tile is not Tile.JOKER}, key=lambda t: t.position)
    assert list(advice.with_each) == kinds
    costs = []
    for tile, found in advice.with_each.items():
        with_it = [value for passed, value in worth.items() if tile in passed]
        if tile in advice.passed:
            assert found == Valued(advice.passed, advice.strength, advice.expected)
        if found is None:
            assert not with_it
            continue
        assert tile in found.passed
        assert worth[found.passed] == pytest.approx(max(with_it), abs=1e-11)
        assert found.strength == pytest.approx(max(with_it), abs=1e-11)
        costs.append(advice.behind(found))
        assert costs[-1] == pytest.approx(best - max(with_it), abs=1e-11)
    assert min(costs) == 0 < max(costs)
    assert (len(costs) < len(kinds)) == (name == "limits")


@pytest.mark.parametrize("name", QUESTIONS)
def test_families_share_the_strength_by_their_hands(name: str) -> None:
    advice = advise(QUESTIONS[name])
    for share in advice.families:
        of_family = [each for each in advice.hands if each.hand.family == share.name]
        after = sum(each.hand.weight * each.reach**POWER for each in of_family)
        before = sum(each.hand.weight * each.before**POWER for each in of_family)
        assert share.after * advice.strength == pytest.approx(after, rel=1e-9)
        assert share.before * advice.hands.before.strength >= before * (1 - 1e-9)
    shares = [share.after for share in advice.families]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1) == sum(share.before for share in advice.families)


def scaled(arrivals: Arrivals, share: float) -> Arrivals:
    """Return the draws and claims of every length times a share, rounded."""
    lengths = arrivals.lengths
    longer = (Length(round(each.draws * share), round(each.claims * share), each.share) for each in lengths)
    return Arrivals(arrivals.charleston, tuple(longer))


@pytest.mark.parametrize("name", QUESTIONS)
def test_sensitivity_equals_counting_out_under_other_arrivals(name: str) -> None:
    asked = QUESTIONS[name]
    advice = advise(asked)
    results = hangs_on(advice)
    assert [result.share for result in results] == list(SHARES)
    for result in results:
        assert result.arrivals == scaled(advice.arrivals, result.share)
        worth = count_out(replace(asked.giving(len(advice.passed)), arrivals=result.arrivals))
        best = max(worth.values())
        regret = best - worth[advice.passed]
        assert worth[result.passed] == pytest.approx(best, abs=1e-11)
        assert result.regret == pytest.approx(regret, abs=1e-11)
        assert result.same is (result.passed == advice.passed or regret <= advice.resolution)


def test_more_arrivals_than_tiles_unseen_are_cut_to_those() -> None:
    asked = Question(tiny(), JOKERS, Round.FIRST_RIGHT, alternatives=0)
    unseen = asked.situation.outlook.naturals
    many_draws = hangs_on(advise(replace(asked, arrivals=Arrivals.of(9, unseen - 14, 5))))
    assert many_draws[1].arrivals == Arrivals.of(9, unseen - 9, 0)
    many_claims = hangs_on(advise(replace(asked, arrivals=Arrivals.of(9, 10, unseen - 19))))
    assert many_claims[1].arrivals == Arrivals.of(9, 12, unseen - 21)
    assert many_claims[0].arrivals == Arrivals.of(9, 8, round((unseen - 19) * 0.8))


def places(made: HandStanding) -> tuple[Counter[Tile], Counter[Tile]]:
    """Return the target's tiles in singles and pairs, and in groups of three or more."""
    plain: Counter[Tile] = Counter()
    grouped: Counter[Tile] = Counter()
    for group in made.target.groups:
        (plain if group.count < 3 else grouped)[group.tile] += group.count
    return plain, grouped


def check(made: HandStanding, kept: Counter[Tile]) -> None:
    """Check that what serves and what is missing make the target, with jokers in groups only, none idle."""
    plain, grouped = places(made)
    served, lacking = Counter(made.served_by), Counter(made.missing)
    idle = kept - served
    jokers = served.pop(Tile.JOKER, 0)
    assert jokers == made.jokers_used <= kept[Tile.JOKER]
    assert not served - kept
    by_jokers = (plain + grouped) - served - lacking
    assert not (served + lacking) - (plain + grouped)
    assert by_jokers.total() == jokers
    for tile, count in by_jokers.items():
        assert count <= grouped[tile]
        assert served[tile] + lacking[tile] >= plain[tile]
    assert made.tiles_away == len(made.missing) == 14 - len(made.served_by)
    assert Tile.JOKER not in made.missing
    assert list(made.missing) == sorted(made.missing, key=lambda tile: tile.position)
    assert made.served_by[len(made.served_by) - jokers :] == (Tile.JOKER,) * jokers
    assert not idle & lacking
    assert not (idle[Tile.JOKER] and sum(min(lack, grouped[tile]) for tile, lack in lacking.items()))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.integers(0, 3), st.sampled_from(["small", "full"]), st.integers(0, 8))
def test_served_and_missing_make_the_target(seed: int, gone: int, name: str, jokers: int) -> None:
    rnd = random.Random(seed)
    naturals = [tile for tile in WALL if tile is not Tile.JOKER]
    asked = question(Rack((*rnd.sample(naturals, 14 - jokers), *[Tile.JOKER] * jokers)), name)
    passed = tuple(rnd.sample([tile for tile in asked.rack.tiles if tile is not Tile.JOKER], gone))
    tables, weights = tables_of(asked.card), hand_weights(asked.card, Limits())
    before, after = (score(asked.situation, tables, weights, tiles) for tiles in ((), passed))
    kept = Counter(asked.rack.tiles) - Counter(passed)
    hands = Standings(asked.situation, tables, before, after, None)
    for hand, made in zip(hands.order.tolist(), hands, strict=True):
        check(made, kept)
        assert made.hand is asked.card.hands[hand]
        assert made.target in made.hand.targets
        assert (made.reach, made.before, made.alone) == (after.reach[hand], before.reach[hand], None)
        assert made.reach <= made.before * (1 + 1e-12)


def test_hands_that_differ_by_the_last_digit_stand_in_the_order_of_the_card() -> None:
    hands = advise(question(random_rack(random.Random(5)))).hands
    first, second = sorted(hands.order[:2].tolist())
    reach = hands.after.reach.copy()
    reach[first], reach[second] = 0.5, np.nextafter(0.5, 1)
    tied = replace(hands, after=replace(hands.after, reach=reach))
    assert tied.order[:2].tolist() == [first, second]
