import pytest

from patterns.tiles import BACK, KINDS, TILE_OF_CHARACTER, Tile, character


@pytest.mark.parametrize("tile", KINDS, ids=lambda tile: tile.value)
def test_every_kind_has_a_character_that_reads_back(tile: Tile) -> None:
    assert TILE_OF_CHARACTER[character(tile)] is tile


def test_eight_characters_are_flowers_and_every_other_kind_has_one() -> None:
    by_kind = {tile: [c for c, t in TILE_OF_CHARACTER.items() if t is tile] for tile in KINDS}
    assert len(by_kind.pop(Tile.FLOWER)) == 8
    assert {len(characters) for characters in by_kind.values()} == {1}


def test_the_plum_stands_for_every_flower() -> None:
    assert character(Tile.FLOWER) == "\N{MAHJONG TILE PLUM}"


def test_the_back_is_no_tile() -> None:
    assert BACK == "\N{MAHJONG TILE BACK}"
    assert BACK not in TILE_OF_CHARACTER
