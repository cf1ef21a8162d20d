import random

import pytest

from solver.limits import AtLeast, Choice, Limits
from solver.problem import problem_of
from solver.question import Question
from solver.rounds import Round
from solver.terms.keep_hands import KeepHands
from tests.solver.enumeration import enumerate_passes
from tests.solver.racks import question, random_rack
from tests.solver.terms.feasible import base_model, check_limit, is_possible


def a_telling_reach(asked: Question, count: int, weights: list[float]) -> float:
    """Return a reach that just some of the passes keep ``count`` counting hands at."""
    reach = enumerate_passes(asked).reach[:, [w > 0 for w in weights]]
    nth = sorted({sorted(row)[-count] for row in reach.tolist()})
    return nth[len(nth) // 2] * (1 - 1e-6)


@pytest.mark.parametrize("count", [1, 3, 8])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_that_many_hands_keep_the_reach(seed: int, count: int) -> None:
    asked = question(random_rack(random.Random(seed)), round=Round.COURTESY, give=2)
    problem = problem_of(asked)
    wanted = AtLeast(count, a_telling_reach(asked, count, problem.weights.tolist()))
    assert check_limit(asked, problem, KeepHands(wanted))


def test_hands_that_do_not_count_are_not_counted() -> None:
    limits = Limits(without=Choice(families=("giants", "gardens")))
    asked = question(random_rack(random.Random(4)), round=Round.COURTESY, give=2, limits=limits)
    problem = problem_of(asked)
    wanted = AtLeast(2, a_telling_reach(asked, 2, problem.weights.tolist()))
    assert check_limit(asked, problem, KeepHands(wanted))


def test_more_hands_than_there_are_leaves_no_pass() -> None:
    asked = question(random_rack(random.Random(5)), round=Round.COURTESY, give=2)
    assert not check_limit(asked, problem_of(asked), KeepHands(AtLeast(21, 1e-9)))


def test_hands_that_no_pass_can_hurt_count_by_their_floor() -> None:
    problem = problem_of(question("FFFFFF JJJJJJJJ"))
    variables = base_model(problem)
    floors = sorted(problem.options.floor.tolist())
    KeepHands(AtLeast(3, floors[-3])).add(variables)
    assert is_possible(variables, 0b111)


def test_says_so_in_words() -> None:
    assert KeepHands(AtLeast(2, 0.25)).says == "at least 2 hands with a reach of 0.25 must be kept"
