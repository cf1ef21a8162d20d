"""Costs and sensitivity against counting out all passes."""

from collections import Counter
from dataclasses import replace

import pytest

from patterns.tiles import KINDS, Tile
from solver.advice import advise, giving
from solver.arrivals import LENGTHS, Arrivals, Coming, Length, MixedArrivals, default_arrivals
from solver.deals import deal
from solver.limits import Choice, Limits
from solver.question import Question
from solver.rounds import Drill, Round
from solver.stopping import StoppedError, Stopper
from solver.why import SHARES, why
from tests.solver.played import count_out, rack, small, tiles, tiny

JOKERS = rack("2344b 35c 5d N F F white J J J")
QUESTIONS = {
    "first right": Question(small(), deal(51, 0).rack, Round.FIRST_RIGHT, alternatives=0),
    "jokers": Question(small(), JOKERS, Round.SECOND_ACROSS, alternatives=0),
    "blind": Question(small(), deal(51, 1, 13).rack, Round.FIRST_LEFT, alternatives=0),
    "courtesy of one": Question(small(), deal(51, 2, 13).rack, Round.COURTESY, 1, alternatives=0),
    "stated": Question(
        small(), JOKERS, Round.SECOND_RIGHT, arrivals=Arrivals(5, 10, 8), seen=tiles("1b F"), alternatives=0
    ),
    "drill": Question(small(), JOKERS, Round.FIRST_RIGHT, drill=Drill(2, 20), alternatives=0),
    "limits": Question(
        small(),
        JOKERS,
        Round.FIRST_RIGHT,
        limits=Limits(stay=tiles("N 4b"), no_flowers=True, without=Choice(families=("giants",))),
        alternatives=0,
    ),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_costs_equal_counting_out_the_passes_with_the_tile(name: str) -> None:
    question = QUESTIONS[name]
    advice = advise(question)
    asked = replace(giving(question, len(advice.passed)), arrivals=advice.arrivals)
    worth = count_out(asked)
    best = max(worth.values())
    explained = why(advice).costs
    kinds = sorted({tile for tile in question.rack.tiles if tile is not Tile.JOKER}, key=lambda t: t.position)
    assert [cost.tile for cost in explained] == kinds
    for cost in explained:
        with_it = [value for passed, value in worth.items() if cost.tile in passed]
        if not with_it:
            assert (cost.passed, cost.expected, cost.cost) == (None, None, None)
            continue
        assert cost.passed is not None and cost.cost is not None
        assert cost.tile in cost.passed
        assert len(cost.passed) == len(advice.passed)
        assert cost.expected == pytest.approx(max(with_it), abs=advice.proof.resolution)
        assert cost.cost == pytest.approx(best - max(with_it), abs=2 * advice.proof.resolution)
        assert cost.cost >= 0
    assert any(cost.cost is None for cost in explained) == (name == "limits")
    assert any(cost.cost for cost in explained)


@pytest.mark.parametrize("name", QUESTIONS)
def test_the_tiles_of_the_pass_cost_nothing(name: str) -> None:
    advice = advise(QUESTIONS[name])
    costs = {cost.tile: cost for cost in why(advice).costs}
    for tile in advice.passed:
        assert costs[tile].cost == 0.0
        assert costs[tile].passed == advice.passed
        assert costs[tile].expected == advice.expected


def scaled(arrivals: Coming, share: float) -> Coming:
    """Return the draws and claims of every length times a share, rounded."""
    lengths = tuple(
        Length(round(each.draws * share), round(each.claims * share), part) for part, each in arrivals.parts
    )
    if isinstance(arrivals, MixedArrivals):
        return MixedArrivals(arrivals.charleston, lengths)
    return Arrivals(arrivals.charleston, lengths[0].draws, lengths[0].claims)


@pytest.mark.parametrize("name", QUESTIONS)
def test_sensitivity_equals_counting_out(name: str) -> None:
    question = QUESTIONS[name]
    advice = advise(question)
    results = why(advice).sensitivity
    assert tuple(result.share for result in results) == SHARES == (0.8, 1.2)
    for result in results:
        assert result.arrivals == scaled(advice.arrivals, result.share)
        asked = replace(giving(question, len(advice.passed)), arrivals=result.arrivals)
        worth = count_out(asked)
        best = max(worth.values())
        regret = best - worth[advice.passed]
        assert worth[result.passed] == pytest.approx(best, abs=advice.proof.resolution)
        assert result.regret == pytest.approx(regret, abs=2 * advice.proof.resolution)
        assert result.same is (result.passed == advice.passed or regret <= advice.proof.resolution)


def test_some_answers_hang_on_the_arrivals() -> None:
    """Among a few deals one answer changes with the arrivals, and then it costs something."""
    changed = [
        result
        for index in range(6)
        for result in why(advise(Question(small(), deal(52, index).rack, Round.FIRST_RIGHT))).sensitivity
        if not result.same
    ]
    assert changed
    assert all(result.regret > 0 for result in changed)


def test_more_arrivals_than_tiles_unseen_are_cut_to_those() -> None:
    question = Question(tiny(), JOKERS, Round.FIRST_RIGHT, alternatives=0)
    unseen = question.situation.outlook.naturals
    many_draws = why(advise(replace(question, arrivals=Arrivals(9, unseen - 14, 5)))).sensitivity
    assert many_draws[1].arrivals == Arrivals(9, unseen - 9, 0)
    many_claims = why(advise(replace(question, arrivals=Arrivals(9, 10, unseen - 19)))).sensitivity
    assert many_claims[1].arrivals == Arrivals(9, 12, unseen - 21)
    assert many_claims[0].arrivals == Arrivals(9, 8, round((unseen - 19) * 0.8))


def test_only_the_lengths_without_room_are_cut() -> None:
    """As many tiles unseen as the longest of the default lengths asks for, beside those by exchanges."""
    longest = max(each.draws + each.claims for each in LENGTHS)
    exchanged = default_arrivals(Round.FIRST_RIGHT, 3).charleston
    question = Question(tiny(), JOKERS, Round.FIRST_RIGHT, alternatives=0)
    rest = Counter({tile: tile.copies for tile in KINDS if tile is not Tile.JOKER})
    rest.subtract(tile for tile in JOKERS.tiles if tile is not Tile.JOKER)
    # Of each kind as alike a share as may be, so that hands stay possible.
    unseen = sorted((copy, tile.position, tile) for tile, count in rest.items() for copy in range(count))
    seen = tuple(tile for _, _, tile in unseen[exchanged + longest :])
    asked = replace(question, seen=seen)
    assert asked.situation.outlook.naturals == exchanged + longest
    _, more = why(advise(asked)).sensitivity
    kept = [(min(round(each.draws * 1.2), longest), each) for each in LENGTHS]
    assert more.arrivals == MixedArrivals(
        exchanged,
        tuple(
            Length(draws, min(round(each.claims * 1.2), longest - draws), each.share) for draws, each in kept
        ),
    )
    assert more.arrivals != scaled(advise(asked).arrivals, 1.2)


def test_nothing_given_costs_nothing() -> None:
    explained = why(advise(replace(QUESTIONS["blind"], give=0)))
    assert explained.costs == ()
    assert all(result.same and result.passed == () for result in explained.sensitivity)


def test_a_stop_ends_it() -> None:
    advice = advise(QUESTIONS["jokers"])
    stopper = Stopper()
    stopper.stop()
    with pytest.raises(StoppedError):
        why(advice, stopper)
