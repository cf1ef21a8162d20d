import pytest

from patterns.faults import FaultyInputError
from patterns.rack import Rack, count_faults
from patterns.tiles import KINDS, Tile

FOURTEEN = (*KINDS[:13], Tile.JOKER)


def test_order_does_not_matter() -> None:
    assert Rack(FOURTEEN) == Rack(FOURTEEN[::-1])
    assert hash(Rack(FOURTEEN)) == hash(Rack(FOURTEEN[::-1]))
    assert Rack(FOURTEEN[::-1]).tiles == FOURTEEN


@pytest.mark.parametrize("size", [13, 14])
def test_thirteen_or_fourteen_tiles(size: int) -> None:
    assert len(Rack(KINDS[:size]).tiles) == size


@pytest.mark.parametrize("size", [0, 1, 12, 15, 36])
def test_any_other_number_is_refused(size: int) -> None:
    with pytest.raises(FaultyInputError) as caught:
        Rack(KINDS[:size])
    assert [fault.kind for fault in caught.value.faults] == ["wrong-count"]
    assert caught.value.faults[0].detail == f"{size} tiles: a rack has 13 or 14"


def test_counts_follow_the_order_of_kinds() -> None:
    counts = Rack((Tile.JOKER, Tile.JOKER, *[Tile.B1] * 4, *KINDS[20:28])).counts
    assert len(counts) == 36
    assert (counts[0], counts[35], sum(counts)) == (4, 2, 14)
    assert counts[20:28] == (1,) * 8


@pytest.mark.parametrize(
    ("tile", "copies", "said"),
    [
        (Tile.B5, 4, "five 5 bams (5b): the set holds four"),
        (Tile.NORTH, 4, "five north winds (N): the set holds four"),
        (Tile.FLOWER, 8, "nine flowers (F): the set holds eight"),
        (Tile.JOKER, 8, "nine jokers (J): the set holds eight"),
    ],
)
def test_no_more_copies_than_the_set_holds(tile: Tile, copies: int, said: str) -> None:
    others = [kind for kind in KINDS if kind is not tile]
    assert Rack((*[tile] * copies, *others[: 14 - copies])).counts[tile.position] == copies
    with pytest.raises(FaultyInputError) as caught:
        Rack((*[tile] * (copies + 1), *others[: 13 - copies]))
    (fault,) = caught.value.faults
    assert (fault.kind, fault.detail) == ("too-many-copies", said)


def test_every_fault_at_once() -> None:
    with pytest.raises(FaultyInputError) as caught:
        Rack((*[Tile.FLOWER] * 9, *[Tile.D3] * 5, *[Tile.B2] * 6))
    assert [fault.kind for fault in caught.value.faults] == ["wrong-count", *["too-many-copies"] * 3]
    assert [fault.detail.split(" (")[0] for fault in caught.value.faults[1:]] == [
        "six 2 bams",
        "five 3 dots",
        "nine flowers",
    ]


def test_count_faults_takes_any_number_of_tiles() -> None:
    assert count_faults([]) == []
    assert len(count_faults([Tile.RED] * 5 + [Tile.JOKER] * 9)) == 2
