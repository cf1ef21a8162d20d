import re
from xml.etree import ElementTree

import pytest

from api.sheets.tiles import svg
from patterns.tiles import KINDS, Suit, Tile

LETTERED = [tile for tile in KINDS if tile.suit is not None or tile.value in "NEWS"]


def texts(tile: Tile) -> list[str]:
    return [element.text or "" for element in ElementTree.fromstring(svg(tile)).iter("text")]


def shapes(tile: Tile) -> str:
    """Return a drawing without its text and its name."""
    return re.sub(r'<text.*?</text>|aria-label="[^"]*"', "", svg(tile))


@pytest.mark.parametrize("tile", KINDS, ids=lambda tile: tile.word)
def test_rank_and_suit_are_also_text(tile: Tile) -> None:
    written = texts(tile)
    if tile.suit is not None:
        assert written == [str(tile.rank), tile.suit.name.lower()]
    elif tile.value in "NEWS":
        assert written == [tile.value, tile.name.lower()]
    else:
        assert written == [tile.name.lower()]


@pytest.mark.parametrize("tile", KINDS, ids=lambda tile: tile.word)
def test_a_screen_reader_is_told_the_tile(tile: Tile) -> None:
    root = ElementTree.fromstring(svg(tile))
    assert (root.get("role"), root.get("aria-label")) == ("img", tile.word)


def test_suits_and_honours_differ_by_shape_alone() -> None:
    ones = {suit: shapes(Tile(f"1{suit.value}")) for suit in Suit}
    assert len(set(ones.values())) == len(Suit)
    for tile in KINDS:
        if tile.suit is not None:
            assert shapes(tile) == ones[tile.suit]
    others = [shapes(tile) for tile in KINDS if tile.suit is None]
    assert len({*others, *ones.values()}) == len(others) + len(ones)


@pytest.mark.parametrize("tile", KINDS, ids=lambda tile: tile.word)
def test_black_and_white_only(tile: Tile) -> None:
    colours = set(re.findall(r"#[0-9a-f]{3,6}", svg(tile)))
    assert colours == {"#111", "#fff"}
    assert not re.search(r'(?:fill|stroke)="(?!#111|#fff|none)[a-z]', svg(tile))


@pytest.mark.parametrize("tile", LETTERED, ids=lambda tile: tile.word)
def test_a_letter_stands_left_of_the_shape(tile: Tile) -> None:
    letter = next(ElementTree.fromstring(svg(tile)).iter("text"))
    assert float(letter.get("x", "99")) < 20
