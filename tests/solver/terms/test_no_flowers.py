from patterns.tiles import Tile
from solver.problem import problem_of
from solver.rounds import Round
from solver.terms.no_flowers import NoFlowers
from tests.solver.racks import question
from tests.solver.terms.feasible import base_model, check_limit


def test_never_a_flower() -> None:
    asked = question("11b 2c 345d NN FFF J red green", round=Round.COURTESY, give=2)
    left = check_limit(asked, problem_of(asked), NoFlowers())
    assert not any(Tile.FLOWER in passed for passed in left)


def test_without_flowers_it_asks_for_nothing() -> None:
    variables = base_model(problem_of(question("11b 2c 3456d NN JJJ red green")))
    before = str(variables.model.proto)
    NoFlowers().add(variables)
    assert str(variables.model.proto) == before
