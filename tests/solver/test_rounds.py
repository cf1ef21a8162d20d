"""The rules of the Charleston and of the drill, each by name. All of them: common practice, no source."""

import pytest

from patterns.faults import FaultyInputError
from patterns.tiles import Tile
from solver.advice import advise
from solver.arrivals import CHOOSING, Arrivals, drill_arrivals
from solver.deals import deal
from solver.rounds import (
    FIRST_CHARLESTON,
    MAX_EXCHANGES,
    MAX_THEN_DRAWS,
    ORDER,
    PASS_SIZE,
    RULES,
    SECOND_CHARLESTON,
    THEN_DRAWS,
    Direction,
    Drill,
    Round,
)
from solver.situation import Question
from tests.solver.played import count_out, rack, tiny

JOKERS = rack("F F N N E E red red S S W J J J")
DRILL = rack("F F F F N N N W W W S S S J")
BLIND = (Round.FIRST_LEFT, Round.SECOND_RIGHT)
NUMBER_IS_FREE = (*BLIND, Round.COURTESY)

LATER = dict(zip(ORDER, CHOOSING.later, strict=True))


def allowed(round_: Round, give: int) -> bool:
    try:
        Question(tiny(), JOKERS, round_, give)
    except FaultyInputError as error:
        assert [(fault.kind, fault.place) for fault in error.faults] == [("give", ("give",))]
        return False
    return True


def test_right_across_left_then_left_across_right_and_the_courtesy_pass_across() -> None:
    assert (*FIRST_CHARLESTON, *SECOND_CHARLESTON, Round.COURTESY) == ORDER
    assert set(RULES) == set(Round) == set(ORDER)
    right, across, left = Direction.RIGHT, Direction.ACROSS, Direction.LEFT
    assert [RULES[each].direction for each in ORDER] == [right, across, left, left, across, right, across]


@pytest.mark.parametrize("round_", ORDER)
def test_three_tiles_are_passed_and_fewer_only_where_blind_or_courtesy_allow(round_: Round) -> None:
    assert PASS_SIZE == 3
    assert [give for give in (-1, 0, 1, 2, 3, 4, 14) if allowed(round_, give)] == (
        [0, 1, 2, 3] if round_ in NUMBER_IS_FREE else [3]
    )
    assert RULES[round_].blind == (round_ in BLIND)


@pytest.mark.parametrize("round_", ORDER)
def test_later_exchanges_promise_no_more_than_can_still_come(round_: Round) -> None:
    """And with every exchange of a Charleston that is over, no more than before it."""
    promised = LATER[round_]
    assert 0 <= promised <= PASS_SIZE * len(ORDER[ORDER.index(round_) + 1 :])
    for charleston in (FIRST_CHARLESTON, SECOND_CHARLESTON):
        if round_ in charleston:
            assert all(LATER[each] <= promised for each in charleston[charleston.index(round_) :])
    assert Question(tiny(), JOKERS, round_).situation.arrivals.charleston == PASS_SIZE + promised


@pytest.mark.parametrize("round_", ORDER)
def test_a_joker_is_never_passed(round_: Round) -> None:
    advice = advise(Question(tiny(), JOKERS, round_, alternatives=10))
    passes = [advice.passed, *(other.passed for other in advice.runner_ups)]
    assert len(passes) == 11 or len(advice.passed) < 3
    assert all(Tile.JOKER not in passed for passed in passes)
    assert all(Tile.JOKER not in passed for passed in count_out(Question(tiny(), JOKERS, round_)))


def test_no_joker_comes_in_by_an_exchange_but_one_may_be_drawn() -> None:
    """One tile short in a group, no such natural left: only a joker can do, and a heap has none."""
    held = rack("F F F F N N N W W W S S S")
    seen = rack("S N W F F F F E E E E 1b 2b").tiles
    hopes = [
        Question(tiny(), held, Round.COURTESY, 0, arrivals=arrivals, seen=seen)
        for arrivals in (Arrivals.of(3, 0, 0), Arrivals.of(0, 0, 3), Arrivals.of(0, 3, 0))
    ]
    by_exchange, by_claims, by_draws = (advise(question).hands for question in hopes)
    assert by_exchange == by_claims == ()
    assert [standing.hand.name for standing in by_draws] == ["Wide"]
    fourteen, gone = rack("F F F F N N N W W W S S S 1b"), (*seen[:-2], Tile.B2, Tile.B3)
    drill = Question(tiny(), fourteen, Round.COURTESY, 0, seen=gone, drill=Drill(1, 20))
    assert advise(drill).expected == 0


@pytest.mark.parametrize(
    ("exchanges", "give", "expected"), [(1, 3, 3), (1, 0, 0), (3, 3, 9), (3, 1, 7), (12, 3, 36), (12, 0, 33)]
)
def test_in_a_drill_as_many_come_in_now_as_go_and_three_at_each_later_exchange(
    exchanges: int, give: int, expected: int
) -> None:
    assert drill_arrivals(Drill(exchanges, 0), give) == Arrivals.of(expected, 0, 0)
    assert drill_arrivals(Drill(exchanges), give) == Arrivals.of(expected, THEN_DRAWS, 0)


def test_the_pool_of_a_drill_is_the_heap_that_was_dealt() -> None:
    dealt = deal(5, 2)
    situation = Question(tiny(), dealt.rack, Round.FIRST_RIGHT, drill=Drill(3)).situation
    assert (situation.outlook.naturals, situation.outlook.jokers) == (len(dealt.heap), 0)


def test_a_drill_has_fourteen_tiles() -> None:
    for drill in (Drill(1), Drill(MAX_EXCHANGES, MAX_THEN_DRAWS)):
        assert Question(tiny(), DRILL, Round.FIRST_RIGHT, drill=drill)
    with pytest.raises(FaultyInputError, match="a drill has 14 tiles"):
        Question(tiny(), rack("F F F F N N N W W W S S S"), Round.FIRST_RIGHT, drill=Drill(1))
