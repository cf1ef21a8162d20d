from patterns.tiles import Tile
from solver.problem import problem_of
from solver.terms.variables import Variables
from tests.solver.racks import question

PROBLEM = problem_of(question("111b 2c 345d NN FF J red green"))
VARIABLES = Variables.new(PROBLEM.bits, PROBLEM.options, PROBLEM.families)


def test_one_boolean_a_bit_and_one_an_option() -> None:
    assert len(VARIABLES.passed) == 13
    assert len(VARIABLES.chosen) == len(PROBLEM.options.hand) > 0
    assert len(VARIABLES.model.proto.variables) == 13 + len(VARIABLES.chosen)
    assert len(VARIABLES.model.proto.constraints) == 0


def test_at_least_finds_the_bit_of_a_copy() -> None:
    assert [VARIABLES.at_least(Tile.B1, copies) for copies in (1, 2, 3)] == list(VARIABLES.passed[:3])
    assert VARIABLES.at_least(Tile.B1, 4) is None
    assert VARIABLES.at_least(Tile.SOUTH, 1) is None
    assert VARIABLES.at_least(Tile.JOKER, 1) is None


def test_variables_may_stand_beside_others_in_one_model() -> None:
    first = Variables.new(PROBLEM.bits, PROBLEM.options, PROBLEM.families)
    second = Variables.new(PROBLEM.bits, PROBLEM.options, PROBLEM.families, first.model)
    assert second.model is first.model
    assert {v.index for v in first.passed}.isdisjoint({v.index for v in second.passed})
