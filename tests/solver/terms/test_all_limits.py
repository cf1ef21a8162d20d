from patterns.tiles import Tile
from solver.limits import AtLeast, Limits
from solver.terms.all_limits import limit_terms
from solver.terms.keep_families import KeepFamilies
from solver.terms.keep_hands import KeepHands
from solver.terms.no_flowers import NoFlowers
from solver.terms.no_neighbours import NoNeighbours
from solver.terms.no_pairs import NoPairs
from solver.terms.tiles_go import TilesGo
from solver.terms.tiles_stay import TilesStay


def test_nothing_limits_nothing() -> None:
    assert limit_terms(Limits()) == ()


def test_one_term_a_limit_tiles_by_kind() -> None:
    limits = Limits(
        stay=(Tile.NORTH, Tile.B1, Tile.NORTH),
        go=(Tile.FLOWER,),
        no_pairs=True,
        no_flowers=True,
        no_neighbours=True,
        keep_hands=AtLeast(3, 0.1),
        keep_families=AtLeast(2, 0.2),
    )
    assert limit_terms(limits) == (
        TilesStay(Tile.B1, 1),
        TilesStay(Tile.NORTH, 2),
        TilesGo(Tile.FLOWER, 1),
        NoPairs(),
        NoFlowers(),
        NoNeighbours(),
        KeepHands(AtLeast(3, 0.1)),
        KeepFamilies(AtLeast(2, 0.2)),
    )


def test_the_order_of_tiles_does_not_matter() -> None:
    first = limit_terms(Limits(stay=(Tile.RED, Tile.B1), go=(Tile.EAST, Tile.C3)))
    assert first == limit_terms(Limits(stay=(Tile.B1, Tile.RED), go=(Tile.C3, Tile.EAST)))


def test_every_term_has_a_place_and_words() -> None:
    places = {
        term.place for term in limit_terms(Limits((Tile.B1,), (Tile.B2,), no_pairs=True, no_flowers=True))
    }
    assert places == {("stay",), ("go",), ("no_pairs",), ("no_flowers",)}
    assert all(term.says for term in limit_terms(Limits(no_neighbours=True, keep_hands=AtLeast(1, 0.5))))
