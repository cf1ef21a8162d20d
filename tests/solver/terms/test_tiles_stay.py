import pytest

from patterns.tiles import Tile
from solver.problem import problem_of
from solver.rounds import Round
from solver.terms.tiles_stay import TilesStay
from tests.solver.racks import question
from tests.solver.terms.feasible import base_model, check_limit, is_possible

ASKED = question("111b 2c 345d NN FF J red green", round=Round.COURTESY, give=2)


@pytest.mark.parametrize(
    ("tile", "copies"), [(Tile.B1, 3), (Tile.B1, 2), (Tile.C2, 1), (Tile.NORTH, 1), (Tile.FLOWER, 2)]
)
def test_that_many_stay(tile: Tile, copies: int) -> None:
    left = check_limit(ASKED, problem_of(ASKED), TilesStay(tile, copies))
    held = ASKED.rack.tiles.count(tile)
    assert max(passed.count(tile) for passed in left) == held - copies


def test_a_joker_stays_anyway() -> None:
    problem = problem_of(ASKED)
    variables = base_model(problem)
    before = str(variables.model.proto)
    TilesStay(Tile.JOKER, 1).add(variables)
    assert str(variables.model.proto) == before
    assert is_possible(variables, 0b11)


def test_says_so_in_words() -> None:
    assert TilesStay(Tile.B1, 2).says == "2 of 1 bam must stay"
    assert TilesStay(Tile.B1, 2).place == ("stay",)
