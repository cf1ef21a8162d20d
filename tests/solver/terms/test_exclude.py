import random
from itertools import combinations

from solver.problem import problem_of
from solver.rounds import Round
from solver.terms.exclude import exclude_bits, exclude_pairs, exclude_pass
from tests.solver.enumeration import mask_of
from tests.solver.racks import question, random_rack
from tests.solver.terms.feasible import base_model, is_possible, left_by, outcomes

ASKED = question("111b 2c 345d NN FF J red green", round=Round.COURTESY, give=2)
PROBLEM = problem_of(ASKED)
PASSES = list(outcomes(ASKED, PROBLEM))
MASKS = {passed: mask_of(PROBLEM.bits, passed) for passed in PASSES}


def test_without_a_cut_every_pass_is_left() -> None:
    assert left_by(PROBLEM, PASSES, lambda variables: None) == set(PASSES)


def test_one_pass_and_no_other_is_ruled_out() -> None:
    for passed in random.Random(1).sample(PASSES, 6):
        left = left_by(PROBLEM, PASSES, lambda v, mask=MASKS[passed]: exclude_pass(v, mask))
        assert left == set(PASSES) - {passed}


def test_the_empty_pass_is_ruled_out() -> None:
    problem = problem_of(question(random_rack(random.Random(2)), round=Round.COURTESY, give=0))
    variables = base_model(problem)
    assert is_possible(variables, 0)
    exclude_pass(variables, 0)
    assert not is_possible(variables, 0)


def test_passes_that_touch_a_bit_are_ruled_out() -> None:
    dead = 0b0100_0010
    left = left_by(PROBLEM, PASSES, lambda variables: exclude_bits(variables, dead))
    assert left == {passed for passed in PASSES if not MASKS[passed] & dead}


def test_passes_with_both_bits_of_a_pair_are_ruled_out() -> None:
    pairs = random.Random(3).sample(list(combinations(range(PROBLEM.bits.size), 2)), 30)
    left = left_by(PROBLEM, PASSES, lambda variables: exclude_pairs(variables, pairs))
    expected = {p for p in PASSES if not any(MASKS[p] >> a & 1 and MASKS[p] >> b & 1 for a, b in pairs)}
    assert left == expected != set(PASSES)
