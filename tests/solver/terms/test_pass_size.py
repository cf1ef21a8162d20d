from itertools import product

import pytest

from solver.problem import problem_of
from solver.rounds import Round
from solver.terms.pass_size import add_pass_size
from solver.terms.variables import Variables
from tests.solver.enumeration import enumerate_passes, mask_of
from tests.solver.racks import question
from tests.solver.terms.feasible import is_possible


@pytest.mark.parametrize("give", [0, 1, 2, 3])
def test_leaves_just_the_passes_of_that_size(give: int) -> None:
    """Of all 64 sets of the six bits: second copies only with first ones, and so many in all."""
    asked = question("111b 2c NN JJJJJJJ", round=Round.COURTESY, give=give)
    problem = problem_of(asked)
    variables = Variables.new(problem.bits, problem.options, problem.families)
    add_pass_size(variables, give)
    every = [sum(bit << i for i, bit in enumerate(bits)) for bits in product((0, 1), repeat=6)]
    left = {mask for mask in every if is_possible(variables, mask)}
    assert left == {mask_of(problem.bits, passed) for passed in enumerate_passes(asked).passes}
