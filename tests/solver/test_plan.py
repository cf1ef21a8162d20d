"""Plans against counting out all nested passes."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.advice import ClashError, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.deals import deal
from solver.limits import Choice, Limits, Outcome, hand_weights
from solver.passes import score
from solver.plan import Plan, plan
from solver.rounds import SECOND_CHARLESTON, Drill, Round
from solver.situation import Question, Situation, tables_of
from tests.solver.enumeration import every_pass
from tests.solver.played import all_but, rack, small, tiles, tiny

PAIRS = rack("33b 55c 77d 44b 88c F F J J")
FLOWERS = rack("F F F N N N E E S S red red J J")
# Nine tiles that may go, so a third round leaves nothing but jokers.
JOKERS = rack("3b 4b 5c N N F F F white J J J J")

Key = tuple[Tile, ...]


def in_order(gone: Counter[Tile]) -> Key:
    return tuple(sorted(gone.elements(), key=lambda tile: tile.position))


def to_come(*rounds: Round, first: int = 3) -> list[Arrivals]:
    """Return the default arrivals of each round, three tiles given in all but the first."""
    return [default_arrivals(each, 3 if index else first) for index, each in enumerate(rounds)]


def worth_of(question: Question, arrivals: Arrivals, gone: Key) -> float:
    situation = Situation(question.rack, question.seen, arrivals, question.drill is None)
    weights = hand_weights(question.card, question.limits)
    return score(situation, tables_of(question.card), weights, gone, question.objective).strength


def counted(question: Question, arrivals: Sequence[Arrivals], first: int = 3) -> dict[tuple[Key, ...], float]:
    """Return every nested sequence of passes with its total; the first keeps ``stay`` and ``go``."""
    held = Counter(question.rack.tiles)
    memo: dict[tuple[int, Key], float] = {}

    def worth(index: int, gone: Counter[Tile]) -> float:
        key = (index, in_order(gone))
        if key not in memo:
            memo[key] = worth_of(question, arrivals[index], key[1])
        return memo[key]

    def grow(index: int, gone: Counter[Tile]) -> dict[tuple[Key, ...], float]:
        if index == len(arrivals):
            return {(): 0.0}
        found = {}
        for passed in every_pass((held - gone).elements(), 3 if index else first):
            now = gone + Counter(passed)
            if not index and not all(
                limit.holds(Outcome(now, held, np.zeros(0), ())) for limit in question.limits.on_pass
            ):
                continue
            here = worth(index, now)
            for later, total in grow(index + 1, now).items():
                found[passed, *later] = here + total
        return found

    return grow(0, Counter())


def passes_of(result: Plan) -> tuple[Key, ...]:
    return tuple(each.passed for each in result.rounds)


def check(result: Plan, everything: dict[tuple[Key, ...], float]) -> None:
    assert result.total == pytest.approx(everything[passes_of(result)], abs=1e-12)
    assert result.total == pytest.approx(sum(each.strength for each in result.rounds), abs=1e-12)
    assert max(everything.values()) - result.total <= result.resolution
    assert result.resolution < 1e-9


@pytest.mark.parametrize("held", [FLOWERS, rack("F F F F N N N W W W S S S E")])
def test_two_rounds_on_the_tiny_card(held: Rack) -> None:
    question = Question(tiny(), held, Round.FIRST_ACROSS)
    check(plan(question, 2), counted(question, to_come(Round.FIRST_ACROSS, Round.FIRST_LEFT)))


def test_two_rounds_on_the_small_card() -> None:
    question = Question(small(), PAIRS, Round.FIRST_RIGHT, seen=tiles("1b 9d F"))
    check(plan(question, 2), counted(question, to_come(Round.FIRST_RIGHT, Round.FIRST_ACROSS)))


def test_three_rounds_on_the_small_card() -> None:
    question = Question(small(), JOKERS, Round.SECOND_LEFT)
    result = plan(question, 3)
    check(result, counted(question, to_come(*SECOND_CHARLESTON)))
    assert sum((Counter(each.passed) for each in result.rounds), Counter()) == Counter(
        tile for tile in JOKERS.tiles if tile is not Tile.JOKER
    )


@pytest.mark.parametrize("give", [1, 2])
def test_a_first_pass_of_fewer_tiles(give: int) -> None:
    """With two exchanges of a drill left, three tiles come in with the second whatever goes now."""
    question = Question(tiny(), FLOWERS, Round.FIRST_LEFT, give, drill=Drill(2, 20))
    result = plan(question, 2)
    check(result, counted(question, [Arrivals.of(give + 3, 20, 0), Arrivals.of(3, 20, 0)], give))
    assert [len(each.passed) for each in result.rounds] == [give, 3]


@pytest.mark.parametrize("give", [0, 2])
def test_each_round_has_its_own_defaults_on_into_the_second_charleston(give: int) -> None:
    question = Question(tiny(), FLOWERS, Round.FIRST_LEFT, give)
    arrivals = to_come(Round.FIRST_LEFT, Round.SECOND_LEFT, first=give)
    check(plan(question, 2), counted(question, arrivals, give))


def test_a_later_round_needs_the_tiles_it_has_to_come() -> None:
    """Giving none and then three, three more come in than were room for at first."""
    needed = [
        arrivals.charleston + max(each.draws + each.claims for each in arrivals.lengths)
        for arrivals in to_come(Round.SECOND_RIGHT, Round.COURTESY, first=0)
    ]
    naturals = Counter({tile: tile.copies for tile in KINDS if tile is not Tile.JOKER}) - Counter(
        FLOWERS.tiles
    )
    pool = Counter(tuple(naturals.elements())[: needed[0]])
    question = Question(tiny(), FLOWERS, Round.SECOND_RIGHT, 0, seen=all_but(FLOWERS, pool))
    assert plan(question, 1).rounds[0].passed == ()
    with pytest.raises(FaultyInputError, match=f"{needed[1]} tiles to come: only {needed[0]}") as caught:
        plan(question, 2)
    assert [(fault.kind, fault.place) for fault in caught.value.faults] == [("range", ("arrivals",))]


def test_one_round_is_the_plain_answer() -> None:
    question = Question(small(), deal(41, 0).rack, Round.FIRST_LEFT, 3)
    result = plan(question, 1)
    best = advise(question)
    assert result.total == pytest.approx(best.strength, abs=result.resolution)
    assert len(result.rounds[0].passed) == 3


def test_limits_on_tiles_hold_now_only() -> None:
    question = Question(tiny(), FLOWERS, Round.FIRST_ACROSS)
    free = plan(question, 2)
    first = free.rounds[0].passed[0]
    limits = Limits.of(stay=(first,) * FLOWERS.tiles.count(first))
    stayed = plan(replace(question, limits=limits), 2)
    assert first not in stayed.rounds[0].passed
    assert first in stayed.rounds[1].passed
    check(stayed, counted(replace(question, limits=limits), to_come(Round.FIRST_ACROSS, Round.FIRST_LEFT)))
    assert stayed.total < free.total


def test_hands_and_weights_hold_in_every_round() -> None:
    limits = Limits.of(without=Choice(hands=("Tall",)), weights=(("Wide", 3.0),))
    question = Question(tiny(), FLOWERS, Round.FIRST_ACROSS, limits=limits)
    everything = counted(question, to_come(Round.FIRST_ACROSS, Round.FIRST_LEFT))
    result = plan(question, 2)
    check(result, everything)
    assert passes_of(result) != passes_of(plan(replace(question, limits=Limits()), 2))


def test_of_equal_plans_the_first_in_the_order_of_tiles() -> None:
    """The tiny card has no use for numbered tiles: all orders of letting six of them go are equal."""
    held = rack("1b 2b 3b 4c 5c 6d 7d F F F F N N N")
    question = Question(tiny(), held, Round.FIRST_ACROSS)
    assert passes_of(plan(question, 2)) == (tiles("1b 2b 3b"), tiles("4c 5c 6d"))


@pytest.mark.parametrize("rounds", [2, 3])
def test_too_few_tiles_that_may_go(rounds: int) -> None:
    held = rack("3b 4b F F N J J J J J J J J")
    question = Question(small(), held, Round.FIRST_RIGHT)
    assert len(plan(question, 1).rounds[0].passed) == 3
    with pytest.raises(FaultyInputError) as caught:
        plan(question, rounds)
    assert [(fault.kind, fault.place) for fault in caught.value.faults] == [("range", ("rounds",))]
    assert "5 tiles" in caught.value.faults[0].detail


def test_limits_that_contradict_are_named() -> None:
    limits = Limits.of(go=tiles("F F"), no_flowers=True)
    with pytest.raises(ClashError) as caught:
        plan(Question(tiny(), FLOWERS, Round.FIRST_RIGHT, limits=limits), 2)
    assert {limit.name for limit in caught.value.clashing} == {"go", "no_flowers"}
