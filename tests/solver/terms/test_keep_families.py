import random

import pytest

from solver.limits import AtLeast
from solver.problem import problem_of
from solver.question import Question
from solver.rounds import Round
from solver.terms.keep_families import KeepFamilies
from tests.solver.enumeration import enumerate_passes
from tests.solver.racks import question, random_rack
from tests.solver.terms.feasible import base_model, check_limit, is_possible


def a_telling_reach(asked: Question, count: int) -> float:
    """Return a reach that just some of the passes keep ``count`` families at."""
    families = [hand.family for hand in asked.card.hands]
    nth = set()
    for row in enumerate_passes(asked).reach.tolist():
        best = {
            family: max(r for r, f in zip(row, families, strict=True) if f == family) for family in families
        }
        nth.add(sorted(best.values())[-count])
    return sorted(nth)[len(nth) // 2] * (1 - 1e-6)


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_that_many_families_keep_the_reach(seed: int, count: int) -> None:
    asked = question(random_rack(random.Random(seed)), round=Round.COURTESY, give=2)
    wanted = AtLeast(count, a_telling_reach(asked, count))
    assert check_limit(asked, problem_of(asked), KeepFamilies(wanted))


def test_more_families_than_there_are_leaves_no_pass() -> None:
    asked = question(random_rack(random.Random(5)), round=Round.COURTESY, give=2)
    assert not check_limit(asked, problem_of(asked), KeepFamilies(AtLeast(6, 1e-9)))


def test_a_family_that_no_pass_can_hurt_counts_by_its_floor() -> None:
    problem = problem_of(question("FFFFFF JJJJJJJJ"))
    variables = base_model(problem)
    KeepFamilies(AtLeast(1, float(problem.options.floor.max()))).add(variables)
    assert is_possible(variables, 0b111)


def test_says_so_in_words() -> None:
    wanted = KeepFamilies(AtLeast(2, 0.25))
    assert wanted.says == "at least 2 families with a hand of reach 0.25 must be kept"
