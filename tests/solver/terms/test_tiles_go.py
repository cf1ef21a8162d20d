import pytest

from patterns.tiles import Tile
from solver.problem import problem_of
from solver.rounds import Round
from solver.terms.tiles_go import TilesGo
from tests.solver.racks import question
from tests.solver.terms.feasible import check_limit

ASKED = question("111b 2c 345d NN FF J red green", round=Round.COURTESY, give=2)


@pytest.mark.parametrize(("tile", "copies"), [(Tile.B1, 1), (Tile.B1, 2), (Tile.C2, 1), (Tile.FLOWER, 2)])
def test_that_many_go(tile: Tile, copies: int) -> None:
    left = check_limit(ASKED, problem_of(ASKED), TilesGo(tile, copies))
    assert min(passed.count(tile) for passed in left) == copies


@pytest.mark.parametrize(("tile", "copies"), [(Tile.B1, 3), (Tile.JOKER, 1), (Tile.SOUTH, 1), (Tile.C2, 2)])
def test_more_than_can_go_leaves_no_pass(tile: Tile, copies: int) -> None:
    assert not check_limit(ASKED, problem_of(ASKED), TilesGo(tile, copies))


def test_says_so_in_words() -> None:
    assert TilesGo(Tile.FLOWER, 2).says == "2 of flower must go"
    assert TilesGo(Tile.FLOWER, 2).place == ("go",)
