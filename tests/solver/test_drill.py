import random
from statistics import fmean

import pytest

from patterns.faults import FaultyInputError
from patterns.tiles import Tile
from solver.advice import advise
from solver.arrivals import Arrivals, drill_arrivals
from solver.card_tables import tables_of
from solver.deals import deal
from solver.limits import Limits, hand_weights
from solver.question import Question
from solver.rescore import score
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, THEN_DRAWS, Drill, Round
from tests.solver.played import rack, tiny
from tests.solver.racks import card, random_rack

HELD = rack("F F F F N N N W W W S S S J")


def faults_of(drill: Drill) -> list[tuple[str, tuple[str | int, ...]]]:
    with pytest.raises(FaultyInputError) as caught:
        Question(tiny(), HELD, Round.FIRST_RIGHT, drill=drill)
    return [(fault.kind, fault.place) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("exchanges", "give", "expected"), [(1, 3, 3), (1, 0, 0), (3, 3, 9), (3, 1, 7), (12, 3, 36), (12, 0, 33)]
)
def test_as_many_come_in_now_as_go_and_three_at_each_later_exchange(
    exchanges: int, give: int, expected: int
) -> None:
    assert drill_arrivals(Drill(exchanges, 0), give) == Arrivals(expected, 0, 0)


def test_draws_are_the_default_number_unless_told_otherwise() -> None:
    assert drill_arrivals(Drill(3), 3) == Arrivals(9, THEN_DRAWS, 0)
    assert drill_arrivals(Drill(2, 7), 3) == Arrivals(6, 7, 0)


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
def test_with_the_default_a_rack_is_worth_about_what_it_is_at_a_table(name: str) -> None:
    """Within a factor of two, where half the draws would be off by far more."""
    table = mean_worth(name, None)
    assert table / 2 < mean_worth(name, Drill(3)) < table * 2
    assert mean_worth(name, Drill(3, THEN_DRAWS // 2)) < table / 2


def test_on_the_full_card_no_other_number_comes_as_near_to_the_table() -> None:
    """When arrivals at a table are calibrated anew, this number is to be measured anew."""
    table = mean_worth("full", None)
    fewer, default, more = (mean_worth("full", Drill(3, THEN_DRAWS + change)) for change in (-1, 0, 1))
    assert fewer < default < more
    assert abs(default - table) < min(abs(fewer - table), abs(more - table))


@pytest.mark.parametrize("drill", [Drill(1), Drill(MAX_EXCHANGES, MAX_THEN_DRAWS)])
def test_limits_of_a_drill_are_allowed(drill: Drill) -> None:
    question = Question(tiny(), HELD, Round.FIRST_RIGHT, drill=drill)
    assert question.situation.arrivals == drill_arrivals(drill, 3)


def test_beyond_the_limits_is_refused_with_all_faults() -> None:
    assert (MAX_EXCHANGES, MAX_THEN_DRAWS) == (12, 60)
    assert faults_of(Drill(0)) == [("range", ("drill", "exchanges_left"))]
    assert faults_of(Drill(1, -1)) == [("range", ("drill", "then_draws"))]
    assert faults_of(Drill(13, 61)) == [
        ("range", ("drill", "exchanges_left")),
        ("range", ("drill", "then_draws")),
    ]


def test_the_pool_is_the_heap_that_was_dealt() -> None:
    dealt = deal(5, 2)
    situation = Question(tiny(), dealt.rack, Round.FIRST_RIGHT, drill=Drill(3)).situation
    assert situation.outlook.naturals == len(dealt.heap)
    assert situation.outlook.jokers == 0


def test_no_joker_is_drawn_from_the_heap() -> None:
    """One tile short, no such natural left: hopeless in a drill, possible at a table."""
    held = rack("F F F F N N N W W W S S S 1b")
    seen = rack("S N W F F F F E E E E 3b 2b").tiles
    drill = Question(tiny(), held, Round.COURTESY, 0, seen=seen, drill=Drill(1, 20))
    table = Question(tiny(), held, Round.COURTESY, 0, seen=seen, arrivals=Arrivals(0, 20, 0))
    assert advise(drill).expected == 0
    assert advise(table).expected > 0


def test_the_jokers_of_the_rack_serve_in_a_drill() -> None:
    question = Question(tiny(), HELD, Round.COURTESY, 0, drill=Drill(1, 0))
    advice = advise(question)
    assert advice.expected == 1.0
    assert Tile.JOKER in advice.hands[0].served_by


def test_a_drill_has_fourteen_tiles() -> None:
    thirteen = rack("F F F F N N N W W W S S S")
    with pytest.raises(FaultyInputError, match="a drill has 14 tiles") as caught:
        Question(tiny(), thirteen, Round.FIRST_RIGHT, 3, drill=Drill(3))
    assert [fault.place for fault in caught.value.faults] == [("rack",)]
