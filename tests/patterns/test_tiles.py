import pytest

from patterns.tiles import DRAGON_OF, DRAGONS, KINDS, SET_SIZE, WINDS, Suit, Tile, counted, numbered


def test_the_set_has_152_tiles_of_36_kinds() -> None:
    # 27 numbered kinds, 4 winds, 3 dragons of four each; 8 flowers; 8 jokers (common practice, no source).
    assert len(KINDS) == 27 + 4 + 3 + 1 + 1
    assert sum(tile.copies for tile in KINDS) == SET_SIZE == 34 * 4 + 8 + 8
    assert {tile for tile in KINDS if tile.copies == 8} == {Tile.FLOWER, Tile.JOKER}
    assert [tile.position for tile in KINDS] == list(range(36))
    assert len({tile.value.lower() for tile in KINDS}) == len({tile.word for tile in KINDS}) == 36


@pytest.mark.parametrize(
    ("tile", "number", "said"),
    [
        (Tile.B4, 1, "one 4 bam"),
        (Tile.B1, 5, "five 1 bams"),
        (Tile.FLOWER, 0, "no flowers"),
        (Tile.NORTH, 20, "twenty north winds"),
        (Tile.RED, 21, "21 red dragons"),
    ],
)
def test_a_number_of_tiles_in_words(tile: Tile, number: int, said: str) -> None:
    assert counted(tile, number) == said


def test_each_suit_has_its_dragon() -> None:
    # Green goes with bams, red with craks, white with dots (common practice, no source).
    assert DRAGON_OF == {Suit.BAM: Tile.GREEN, Suit.CRAK: Tile.RED, Suit.DOT: Tile.WHITE}
    assert set(DRAGON_OF.values()) == set(DRAGONS)
    assert {tile.value for tile in WINDS} == set("NEWS")
    assert all(
        (numbered(rank, s).rank, numbered(rank, s).suit) == (rank, s) for rank in range(1, 10) for s in Suit
    )
