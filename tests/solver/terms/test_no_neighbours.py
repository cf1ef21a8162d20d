from patterns.tiles import Tile
from solver.problem import problem_of
from solver.terms.no_neighbours import NoNeighbours
from tests.solver.racks import question
from tests.solver.terms.feasible import check_limit


def test_never_two_ranks_in_a_row_of_one_suit() -> None:
    asked = question("1123b 3c 9d N JJJJ JJJ")
    left = check_limit(asked, problem_of(asked), NoNeighbours())
    assert (Tile.B1, Tile.B3, Tile.C3) in left
    assert (Tile.B1, Tile.B1, Tile.B3) in left
    assert (Tile.B1, Tile.B2, Tile.C3) not in left
    assert (Tile.B3, Tile.C3, Tile.NORTH) in left


def test_the_end_of_one_suit_is_no_neighbour_of_the_next() -> None:
    asked = question("9b 1c 9c 1d 12d JJJJ JJJJ")
    left = check_limit(asked, problem_of(asked), NoNeighbours())
    assert (Tile.B9, Tile.C1, Tile.C9) in left
    assert (Tile.C9, Tile.D1, Tile.D1) in left
