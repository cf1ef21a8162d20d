"""Source: The Unicode Standard, block Mahjong Tiles, by the names that Python's ``unicodedata`` carries.

Common practice, no source: bamboos are bams, characters craks and circles dots; the four plants and the
four seasons are the flowers. U+1F024 is a trap: its name ends in BAMBOO, and it is a plant.
"""

import unicodedata

import pytest

from patterns.tiles import BACK, TILE_OF_CHARACTER, Tile

BLOCK = [chr(code) for code in range(0x1F000, 0x1F02C)]
NUMBERS = ("ONE", "TWO", "THREE", "FOUR", "FIVE", "SIX", "SEVEN", "EIGHT", "NINE")
RANKS = {word: rank for rank, word in enumerate(NUMBERS, 1)}
SUITS = {"BAMBOOS": "b", "CHARACTERS": "c", "CIRCLES": "d"}
WINDS = {"EAST WIND": "E", "SOUTH WIND": "S", "WEST WIND": "W", "NORTH WIND": "N"}
DRAGONS = {"RED DRAGON": "red", "GREEN DRAGON": "green", "WHITE DRAGON": "white"}
PLANTS_AND_SEASONS = {"PLUM", "ORCHID", "BAMBOO", "CHRYSANTHEMUM", "SPRING", "SUMMER", "AUTUMN", "WINTER"}


def token_by_name(character: str) -> str | None:
    """Return the token that the character's Unicode name calls for; None for the back of a tile."""
    name = unicodedata.name(character).removeprefix("MAHJONG TILE ")
    rank, _, suit = name.partition(" OF ")
    if suit:
        return f"{RANKS[rank]}{SUITS[suit]}"
    if name in PLANTS_AND_SEASONS:
        return "F"
    return {**WINDS, **DRAGONS, "JOKER": "J", "BACK": None}[name]


def test_the_block_has_44_named_characters_and_ends_there() -> None:
    assert len(BLOCK) == 44
    assert all(unicodedata.name(character).startswith("MAHJONG TILE ") for character in BLOCK)
    assert not any(unicodedata.name(chr(code), "") for code in range(0x1F02C, 0x1F030))


@pytest.mark.parametrize("character", BLOCK, ids=lambda character: f"U+{ord(character):X}")
def test_each_character_stands_for_the_tile_of_its_name(character: str) -> None:
    token = token_by_name(character)
    if token is None:
        assert character == BACK
        assert character not in TILE_OF_CHARACTER
    else:
        assert TILE_OF_CHARACTER[character] is Tile(token)


def test_no_other_character_stands_for_a_tile() -> None:
    assert set(TILE_OF_CHARACTER) == set(BLOCK) - {BACK}
