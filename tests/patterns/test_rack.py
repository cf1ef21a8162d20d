import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack, parse_rack, parse_tiles
from patterns.tiles import KINDS, TILE_OF_CHARACTER, Tile

FOURTEEN = (*KINDS[:13], Tile.JOKER)
WHOLE_SET = [tile for tile in KINDS for _ in range(tile.copies)]
RACKS = st.builds(
    lambda size, seed: Rack(tuple(random.Random(seed).sample(WHOLE_SET, size))),
    st.sampled_from([13, 14]),
    st.integers(0, 2**32),
)
SPELLINGS = {
    Tile.GREEN: ["green", "gr", "green dragon"],
    Tile.RED: ["red", "re", "red dragon"],
    Tile.WHITE: ["white", "wh", "soap", "white dragons"],
    Tile.FLOWER: ["F", "flower", "flowers"],
    Tile.JOKER: ["J", "joker", "jokers"],
    Tile.NORTH: ["N", "north", "north wind"],
    Tile.EAST: ["E", "east", "east winds"],
    Tile.WEST: ["W", "west", "west wind"],
    Tile.SOUTH: ["S", "south", "south wind"],
}
CHARACTERS = {tile: written for written, tile in TILE_OF_CHARACTER.items()}
SUIT_WORDS = {"b": ["b", "bam", "bams", "bamboo"], "c": ["c", "crak", "cracks"], "d": ["d", "dot", "dots"]}


def spellings(tile: Tile) -> list[str]:
    words = SPELLINGS.get(tile) or [
        f"{tile.rank}{gap}{word}" for word in SUIT_WORDS[tile.value[1]] for gap in ("", " ")
    ]
    return [*words, CHARACTERS[tile]]


def faults_of(written: object) -> tuple[Fault, ...]:
    with pytest.raises(FaultyInputError) as caught:
        parse_rack(written)  # type: ignore[arg-type]
    return caught.value.faults


def test_order_does_not_matter() -> None:
    assert Rack(FOURTEEN) == Rack(FOURTEEN[::-1])
    assert hash(Rack(FOURTEEN)) == hash(Rack(FOURTEEN[::-1]))
    assert Rack(FOURTEEN[::-1]).tiles == FOURTEEN


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
    assert Rack((*[tile] * copies, *others[: 14 - copies])).tiles.count(tile) == copies
    with pytest.raises(FaultyInputError) as caught:
        Rack((*[tile] * (copies + 1), *others[: 13 - copies]))
    (fault,) = caught.value.faults
    assert (fault.kind, fault.detail) == ("too-many-copies", said)


@settings(deadline=None)
@given(RACKS)
def test_printing_then_parsing_gives_the_same_rack(rack: Rack) -> None:
    assert parse_rack(" ".join(tile.value for tile in rack.tiles)) == rack


@settings(deadline=None)
@given(RACKS, st.randoms(use_true_random=False))
def test_order_case_commas_and_spelling_are_free(rack: Rack, chance: random.Random) -> None:
    tiles = list(rack.tiles)
    chance.shuffle(tiles)
    text = chance.choice(["", " ", ", "])
    for tile in tiles:
        word = chance.choice(spellings(tile))
        text += chance.choice([str.upper, str.lower, str.title])(word)
        text += chance.choice([" ", ", ", ",", ";", "\n", "\t  "])
    assert parse_rack(text) == rack


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        ("455c 18d 2b N E F F J white green", "4c 5c 5c 1d 8d 2b N E F F J white green"),
        ("1 2 3 dots", "1d 2d 3d"),
        ("East wind, 1 crack, 5 cracks, 1 bam, 2 bamboo", "E 1c 5c 1b 2b"),
        ("red dragon white dragon eastwind", "red white E"),
        ("1,2;3b", "1b 2b 3b"),
        ("2b3c4d", "2b 3c 4d"),
        ("news", "N E W S"),
        ("whgrre", "white green red"),
        ("NsoapE", "N white E"),
        ("99D9b", "9d 9d 9b"),
        ("\N{MAHJONG TILE RED DRAGON}\ufe0e\N{MAHJONG TILE RED DRAGON}\ufe0f", "red red"),
        ("1b\u00a02c\u2003N", "1b 2c N"),
        ("", ""),
        ("".join(TILE_OF_CHARACTER), " ".join(tile.value for tile in TILE_OF_CHARACTER.values())),
    ],
)
def test_short_forms(text: str, tokens: str) -> None:
    assert [tile.value for tile in parse_tiles(text)] == tokens.split()


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("4b banana 5b", 4, "'banana' is not a tile"),
        ("4b 55", 4, "'55' has no suit"),
        ("0b", 1, "'0b' is not a tile"),
        ("N,E,greener", 5, "'greener' is not a tile"),
        ("red wind", 5, "'wind' is not a tile"),
        ("\N{MAHJONG TILE BACK}", 1, "is the back of a tile"),
        ("1b \N{ARABIC-INDIC DIGIT FOUR}b", 4, "is not a tile"),
        ("1b \0", 4, "is not a tile"),
        ("1b " + "x" * 50, 4, f"'{'x' * 20}…' is not a tile"),
    ],
)
def test_an_unknown_word_is_named_with_its_column(text: str, column: int, said: str) -> None:
    with pytest.raises(FaultyInputError) as caught:
        parse_tiles(text)
    (fault,) = caught.value.faults
    assert fault.kind == "unknown-tile"
    assert fault.detail.startswith(f"column {column}: ")
    assert said in fault.detail


def test_every_fault_of_a_text_at_once() -> None:
    assert [fault.detail for fault in faults_of("55555c banana FFFFFFFFF 2b mango J")] == [
        "column 8: 'banana' is not a tile",
        "column 28: 'mango' is not a tile",
        "16 tiles: a rack has 13 or 14",
        "five 5 craks (5c): the set holds four",
        "nine flowers (F): the set holds eight",
    ]


@pytest.mark.parametrize(
    ("text", "count"), [("123456789b NEW", 12), ("123456789b NEWSJJ", 15), (" ,; \n", 0)]
)
def test_any_other_number_is_refused(text: str, count: int) -> None:
    (fault,) = faults_of(text)
    assert (fault.kind, fault.detail) == ("wrong-count", f"{count} tiles: a rack has 13 or 14")


def test_the_count_is_not_called_wrong_when_an_unread_word_may_be_the_missing_tile() -> None:
    assert [fault.kind for fault in faults_of("123456789b NEW ?")] == ["unknown-tile"]
    assert [fault.kind for fault in faults_of("123456789b NEWSJ ?")] == ["unknown-tile"]
    assert [fault.kind for fault in faults_of("12345b NEW ?")] == ["unknown-tile", "wrong-count"]


def test_faults_of_a_list_have_the_index_of_the_item() -> None:
    faults = faults_of(["1b", 7, "2b", None, "xx", "3 4b", "", ["5b"], True, 1.5, "x" * 3000])
    assert [fault.place for fault in faults] == [(1,), (3,), (4,), (5,), (6,), (7,), (8,), (9,), (10,)]
    assert {fault.kind for fault in faults} == {"unknown-tile"}
    assert faults[2].detail == "column 1: 'xx' is not a tile"
    assert faults[3].detail == "2 tiles in one item: each item is one tile"
    assert faults[4].detail == "0 tiles in one item: each item is one tile"
    assert all("short text" in faults[index].detail for index in (0, 1, 5, 6, 7, 8))


@pytest.mark.parametrize(("written", "size"), [("1" * 2001, "2001 characters"), (["1b"] * 201, "201 items")])
def test_too_long_is_one_fault_that_says_so(written: object, size: str) -> None:
    (fault,) = faults_of(written)
    assert fault.kind == "too-long"
    assert fault.detail.startswith(size)


def test_the_longest_text_allowed_is_read() -> None:
    assert parse_tiles("green" * 400) == (Tile.GREEN,) * 400
    assert parse_tiles(["J"] * 200) == (Tile.JOKER,) * 200


@pytest.mark.parametrize(
    "text",
    [
        "1" * 2000,
        "1,;" * 600 + "x",
        "greenre" * 285 + "x",
        "east wind " * 199 + "east" + " " * 5 + "x",
        "n" + " " * 1990 + "windx",
    ],
    ids=lambda text: f"{text[:9]!a}",
)
def test_long_text_that_fails_at_its_end_is_refused_and_ends(text: str) -> None:
    assert faults_of(text)[0].kind == "unknown-tile"


def test_a_long_answer_names_twenty_faults_and_counts_the_rest() -> None:
    faults = faults_of(" ".join("?" * 100))
    assert len(faults) == 21
    assert faults[-1].detail == "and 80 more that are not tiles"


@settings(deadline=None)
@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        tiles = parse_tiles(text)
    except FaultyInputError as error:
        assert error.faults
    else:
        assert parse_tiles(" ".join(tile.value for tile in tiles)) == tiles
