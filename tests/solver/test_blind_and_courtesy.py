"""Each number of tiles, blind or by courtesy, against counting out all passes of that number."""

from dataclasses import replace

import pytest

from patterns.tiles import Tile
from solver.advice import Advice, ClashError, advise, giving
from solver.arrivals import Arrivals
from solver.deals import deal
from solver.exact import exact_scores
from solver.limits import AtLeast, Limits
from solver.question import Question
from solver.rounds import Drill, Round
from tests.solver.played import count_out, rack, small, tiny

NUMBERS = (Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY)
# East's 14 tiles, a table's 13, and a rack with three jokers.
RACKS = {
    "deal": deal(31, 0).rack,
    "thirteen": deal(31, 1, 13).rack,
    "jokers": rack("2344b 35c 5d N F F white J J J"),
}


def check_against_counting(advice: Advice, question: Question) -> None:
    """Each number: worth, pass, arrivals; then the best of them and the gains."""
    charleston = question.situation.arrivals.charleston
    counted = {}
    for value in advice.by_number:
        arrivals = replace(question.situation.arrivals, charleston=charleston - (3 - value.give))
        worth = count_out(replace(question, give=value.give, arrivals=arrivals))
        counted[value.give] = max(worth.values())
        assert value.expected == pytest.approx(counted[value.give], abs=advice.proof.resolution)
        assert len(value.passed) == value.give
        assert worth[value.passed] == pytest.approx(value.expected, abs=1e-12)
    fewest = min(counted)
    for value in advice.by_number:
        gain = counted[value.give] - counted[fewest]
        assert value.gain == pytest.approx(gain, abs=2 * advice.proof.resolution)
    assert [value.give for value in advice.by_number] == sorted(counted)
    assert advice.expected == pytest.approx(max(counted.values()), abs=advice.proof.resolution)
    assert counted[len(advice.passed)] == pytest.approx(advice.expected, abs=advice.proof.resolution)


@pytest.mark.parametrize("round_", NUMBERS)
@pytest.mark.parametrize("held", RACKS)
def test_every_number_equals_counting_out(held: str, round_: Round) -> None:
    question = Question(small(), RACKS[held], round_, alternatives=0)
    advice = advise(question)
    assert len(advice.by_number) == 4
    check_against_counting(advice, question)
    assert advice.question == question


@pytest.mark.parametrize("round_", NUMBERS)
def test_the_slow_cross_check_agrees(round_: Round) -> None:
    advice = advise(Question(small(), RACKS["jokers"], round_, alternatives=0))
    for value in advice.by_number:
        best = exact_scores(replace(advice.question, give=value.give))[0]
        assert value.expected == pytest.approx(best.expected, abs=advice.proof.resolution)


@pytest.mark.parametrize("round_", NUMBERS)
def test_stated_arrivals_are_those_of_giving_three(round_: Round) -> None:
    question = Question(small(), RACKS["deal"], round_, arrivals=Arrivals(4, 9, 7), alternatives=0)
    advice = advise(question)
    check_against_counting(advice, question)
    assert advice.arrivals == Arrivals(4 - 3 + len(advice.passed), 9, 7)
    # Without that, giving none would leave as many to come as giving three, and never be worse.
    assert advice.by_number[0].expected < advice.by_number[3].expected


def test_no_fewer_than_no_tiles_come_in() -> None:
    question = Question(small(), RACKS["deal"], Round.COURTESY, arrivals=Arrivals(1, 9, 7), alternatives=0)
    assert [giving(question, number).situation.arrivals.charleston for number in range(4)] == [0, 0, 0, 1]
    named = replace(question, give=2)
    assert giving(named, 2) == named


def test_a_drill_compares_with_its_own_exchanges() -> None:
    question = Question(small(), RACKS["deal"], Round.FIRST_LEFT, drill=Drill(2, 20), alternatives=0)
    advice = advise(question)
    for value in advice.by_number:
        arrivals = Arrivals(value.give + 3, 20, 0)
        counted = exact_scores(replace(question, give=value.give, arrivals=arrivals))[0].expected
        assert value.expected == pytest.approx(counted, abs=advice.proof.resolution)
    assert advice.arrivals == Arrivals(len(advice.passed) + 3, 20, 0)


@pytest.mark.parametrize("round_", NUMBERS)
def test_blind_tiles_stand_in_for_own_ones_but_not_by_courtesy(round_: Round) -> None:
    values = advise(Question(tiny(), RACKS["deal"], round_, alternatives=0)).by_number
    assert [value.give for value in values] == [0, 1, 2, 3]
    expected = [0, 0, 0, 0] if round_ is Round.COURTESY else [3, 2, 1, 0]
    assert [value.blind for value in values] == expected


@pytest.mark.parametrize("give", range(4))
def test_a_number_that_is_named_is_the_only_one(give: int) -> None:
    question = Question(tiny(), RACKS["deal"], Round.FIRST_LEFT, give, alternatives=0)
    (value,) = advise(question).by_number
    assert (value.give, value.blind, value.gain) == (give, 3 - give, 0.0)


def test_where_the_round_leaves_no_choice_there_is_one_number() -> None:
    (value,) = advise(Question(tiny(), RACKS["deal"], Round.FIRST_ACROSS, alternatives=0)).by_number
    assert (value.give, value.blind) == (3, 0)


def test_of_equals_the_one_that_gives_more() -> None:
    """Nothing comes in, and the tiny card has no use for numbered tiles: any number is worth the same."""
    held = rack("F F F F N N N W W W S S 1b 2b")
    question = Question(tiny(), held, Round.COURTESY, arrivals=Arrivals(0, 9, 0), alternatives=0)
    advice = advise(question)
    values = {value.give: value.expected for value in advice.by_number}
    assert values[0] == values[1] == values[2] > values[3]
    assert advice.passed == (Tile.B1, Tile.B2)


def test_tiles_that_must_go_rule_out_smaller_numbers() -> None:
    limits = Limits(go=(Tile.C3, Tile.WHITE))
    question = Question(small(), RACKS["jokers"], Round.SECOND_RIGHT, limits=limits, alternatives=0)
    advice = advise(question)
    assert [value.give for value in advice.by_number] == [2, 3]
    assert advice.by_number[0].gain == 0.0
    assert all({Tile.C3, Tile.WHITE} <= set(value.passed) for value in advice.by_number)
    check_against_counting(advice, question)


def test_limits_that_contradict_at_every_number_are_a_clash() -> None:
    limits = Limits(go=(Tile.FLOWER, Tile.FLOWER), no_flowers=True)
    with pytest.raises(ClashError) as caught:
        advise(Question(small(), RACKS["jokers"], Round.COURTESY, limits=limits, alternatives=0))
    assert {limit.place[0] for limit in caught.value.clashing} == {"go", "no_flowers"}


def test_a_limit_that_some_numbers_cannot_keep_leaves_out_only_those() -> None:
    """The more come in the likelier the hands: between the values of two numbers only the greater keep."""
    free = Question(small(), RACKS["jokers"], Round.FIRST_LEFT, alternatives=0)
    best_reach = [exact_scores(replace(free, give=give)) for give in range(4)]
    most = [max(score.reach.max() for score in scores) for scores in best_reach]
    order = sorted(range(4), key=lambda give: most[give])
    wanted = (most[order[1]] + most[order[2]]) / 2
    advice = advise(replace(free, limits=Limits(keep_hands=AtLeast(1, wanted))))
    assert {value.give for value in advice.by_number} == set(order[2:])
