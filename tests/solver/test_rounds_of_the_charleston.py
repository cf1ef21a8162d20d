"""The rules of the Charleston, each by name. All of them: common practice, no source."""

import pytest

from patterns.faults import FaultyInputError
from patterns.tiles import Tile
from solver.advice import advise
from solver.arrivals import LATER_EXCHANGES, Arrivals
from solver.exact import all_passes
from solver.question import Question
from solver.rounds import (
    FIRST_CHARLESTON,
    ORDER,
    PASS_SIZE,
    RULES,
    SECOND_CHARLESTON,
    Agreement,
    Direction,
    Round,
    sure_to_follow,
)
from tests.solver.played import rack, small, tiny

JOKERS = rack("F F N N E E red red S S W J J J")
BLIND = (Round.FIRST_LEFT, Round.SECOND_RIGHT)
NUMBER_IS_FREE = (*BLIND, Round.COURTESY)


def allowed(round_: Round, give: int) -> bool:
    try:
        Question(tiny(), JOKERS, round_, give)
    except FaultyInputError as error:
        assert [(fault.kind, fault.place) for fault in error.faults] == [("give", ("give",))]
        return False
    return True


def test_seven_rounds_in_their_order() -> None:
    assert [round_.value for round_ in ORDER] == [
        "first_right",
        "first_across",
        "first_left",
        "second_left",
        "second_across",
        "second_right",
        "courtesy",
    ]
    assert set(RULES) == set(Round) == set(ORDER)


def test_the_first_goes_right_across_left() -> None:
    assert [RULES[round_].direction for round_ in FIRST_CHARLESTON] == [
        Direction.RIGHT,
        Direction.ACROSS,
        Direction.LEFT,
    ]


def test_the_second_goes_left_across_right() -> None:
    assert [RULES[round_].direction for round_ in SECOND_CHARLESTON] == [
        Direction.LEFT,
        Direction.ACROSS,
        Direction.RIGHT,
    ]


def test_the_courtesy_pass_goes_across() -> None:
    assert RULES[Round.COURTESY].direction is Direction.ACROSS


@pytest.mark.parametrize("round_", FIRST_CHARLESTON)
def test_nobody_need_agree_to_the_first(round_: Round) -> None:
    assert RULES[round_].agreement is Agreement.NOBODY


@pytest.mark.parametrize("round_", SECOND_CHARLESTON)
def test_all_must_agree_to_the_second(round_: Round) -> None:
    assert RULES[round_].agreement is Agreement.ALL


def test_the_player_across_must_agree_to_the_courtesy_pass() -> None:
    assert RULES[Round.COURTESY].agreement is Agreement.OPPOSITE


def test_three_tiles_are_passed() -> None:
    assert PASS_SIZE == 3
    assert all(allowed(round_, 3) for round_ in Round)


@pytest.mark.parametrize("give", [0, 1, 2])
@pytest.mark.parametrize("round_", [round_ for round_ in ORDER if round_ not in NUMBER_IS_FREE])
def test_no_fewer_than_three_where_blind_passing_is_not_allowed(round_: Round, give: int) -> None:
    assert not RULES[round_].blind
    assert not allowed(round_, give)


@pytest.mark.parametrize("round_", BLIND)
def test_blind_passing_at_the_last_pass_of_each_charleston(round_: Round) -> None:
    assert RULES[round_].blind
    assert RULES[round_].allowed == (0, 1, 2, 3)
    assert all(allowed(round_, give) for give in range(4))


def test_up_to_three_at_the_courtesy_pass_none_of_them_blind() -> None:
    assert not RULES[Round.COURTESY].blind
    assert all(allowed(Round.COURTESY, give) for give in range(4))


@pytest.mark.parametrize("give", [-1, 4, 14])
@pytest.mark.parametrize("round_", ORDER)
def test_never_more_than_three(round_: Round, give: int) -> None:
    assert not allowed(round_, give)


@pytest.mark.parametrize("round_", NUMBER_IS_FREE)
@pytest.mark.parametrize("give", range(4))
def test_as_many_come_in_as_go(round_: Round, give: int) -> None:
    coming = Question(tiny(), JOKERS, round_, give).situation.arrivals.charleston
    assert coming - LATER_EXCHANGES[round_] == give


@pytest.mark.parametrize("round_", ORDER)
def test_later_exchanges_promise_no_more_than_can_still_come(round_: Round) -> None:
    """And with every exchange of a Charleston that is over, no more than before it."""
    promised = LATER_EXCHANGES[round_]
    assert type(promised) is int
    assert 0 <= promised <= PASS_SIZE * len(ORDER[ORDER.index(round_) + 1 :])
    for later in sure_to_follow(round_):
        assert LATER_EXCHANGES[later] <= promised
    assert Question(tiny(), JOKERS, round_).situation.arrivals.charleston == PASS_SIZE + promised


def test_what_is_sure_to_follow() -> None:
    assert sure_to_follow(Round.FIRST_RIGHT) == (Round.FIRST_ACROSS, Round.FIRST_LEFT)
    assert sure_to_follow(Round.FIRST_LEFT) == ()
    assert sure_to_follow(Round.SECOND_ACROSS) == (Round.SECOND_RIGHT,)
    assert sure_to_follow(Round.COURTESY) == ()


@pytest.mark.parametrize("round_", ORDER)
def test_a_joker_is_never_passed(round_: Round) -> None:
    assert all(Tile.JOKER not in passed for passed in all_passes(Question(tiny(), JOKERS, round_)))
    advice = advise(Question(tiny(), JOKERS, round_, alternatives=10))
    passes = [advice.passed, *(other.passed for other in advice.runner_ups)]
    assert len(passes) == 11 or len(advice.passed) < 3
    assert all(Tile.JOKER not in passed for passed in passes)


def test_jokers_stay_even_when_nothing_else_is_of_use() -> None:
    # Eight jokers and six tiles that no hand of the small card can use together.
    held = rack("1b 4c 9d N E S J J J J J J J J")
    advice = advise(Question(small(), held, Round.FIRST_RIGHT, alternatives=0))
    assert len(advice.passed) == 3
    assert Tile.JOKER not in advice.passed


@pytest.mark.parametrize("held", ["F F N N E E red red S S W 1b 2b", "F F N N E E red red S S W 1b 2b 3b"])
def test_thirteen_tiles_or_fourteen_for_east(held: str) -> None:
    advice = advise(Question(tiny(), rack(held), Round.FIRST_RIGHT, alternatives=0))
    assert len(advice.passed) == 3


def test_no_joker_comes_in_by_an_exchange_but_one_may_be_drawn() -> None:
    """One tile short in a group, no such natural left: only a joker can do."""
    held = rack("F F F F N N N W W W S S S")
    seen = rack("S N W F F F F E E E E 1b 2b").tiles
    hopes = [
        Question(tiny(), held, Round.COURTESY, 0, arrivals=arrivals, seen=seen)
        for arrivals in (Arrivals(3, 0, 0), Arrivals(0, 0, 3), Arrivals(0, 3, 0))
    ]
    by_exchange, by_claims, by_draws = (advise(question).hands for question in hopes)
    assert by_exchange == by_claims == ()
    assert [standing.hand.name for standing in by_draws] == ["Wide"]
