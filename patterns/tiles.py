"""The 36 kinds of tile of an American-style set: their copies, their order, their names and characters.

Composition of the set (152 tiles): common practice, no source. The 44 characters: The Unicode Standard,
block Mahjong Tiles, U+1F000-1F02F (names as in ``unicodedata``). That the four plants and four seasons are
the flowers of this set, and that bamboos, characters and circles are its bams, craks and dots, is common
practice, no source.
"""

from __future__ import annotations

from enum import Enum


class Suit(Enum):
    """One of the three suits; the value is the letter a rack is written with."""

    BAM = "b"
    CRAK = "c"
    DOT = "d"


class Tile(Enum):
    """One kind of tile. The value is its token in rack text and on the wire."""

    B1, B2, B3, B4, B5, B6, B7, B8, B9 = "1b", "2b", "3b", "4b", "5b", "6b", "7b", "8b", "9b"
    C1, C2, C3, C4, C5, C6, C7, C8, C9 = "1c", "2c", "3c", "4c", "5c", "6c", "7c", "8c", "9c"
    D1, D2, D3, D4, D5, D6, D7, D8, D9 = "1d", "2d", "3d", "4d", "5d", "6d", "7d", "8d", "9d"
    NORTH, EAST, WEST, SOUTH = "N", "E", "W", "S"
    GREEN, RED, WHITE = "green", "red", "white"
    FLOWER, JOKER = "F", "J"

    # Members are single objects: their identity tells them apart, and Enum's own hash is slow.
    __hash__ = object.__hash__

    @property
    def position(self) -> int:
        """Place in the fixed order of kinds, 0 (1 bam) to 35 (joker)."""
        return _POSITION[self]

    @property
    def copies(self) -> int:
        """How many of this kind the set holds: 8 flowers, 8 jokers, 4 of any other."""
        return 8 if self in (Tile.FLOWER, Tile.JOKER) else 4

    @property
    def suit(self) -> Suit | None:
        """The suit of a numbered tile; None for winds, dragons, flowers and jokers."""
        return Suit(self.value[1]) if self.value[0].isdigit() else None

    @property
    def rank(self) -> int | None:
        """The rank 1-9 of a numbered tile; None for the others."""
        return int(self.value[0]) if self.value[0].isdigit() else None

    @property
    def word(self) -> str:
        """The tile in plain words, for people: ``3 bam``, ``north wind``, ``red dragon``."""
        suit = self.suit
        if suit is not None:
            return f"{self.rank} {suit.name.lower()}"
        if self in WINDS:
            return f"{self.name.lower()} wind"
        if self in DRAGONS:
            return f"{self.name.lower()} dragon"
        return self.name.lower()


KINDS: tuple[Tile, ...] = tuple(Tile)
_POSITION = {tile: position for position, tile in enumerate(KINDS)}
WINDS = (Tile.NORTH, Tile.EAST, Tile.WEST, Tile.SOUTH)
DRAGONS = (Tile.GREEN, Tile.RED, Tile.WHITE)
_NUMBERED: dict[tuple[int, Suit], Tile] = {
    (tile.rank, tile.suit): tile for tile in KINDS if tile.rank is not None and tile.suit is not None
}
DRAGON_OF: dict[Suit, Tile] = {Suit.BAM: Tile.GREEN, Suit.CRAK: Tile.RED, Suit.DOT: Tile.WHITE}
SET_SIZE = sum(tile.copies for tile in KINDS)


_NUMBERS = (
    *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"),
    *("twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty"),
)


def number_word(number: int) -> str:
    """Return a number as people read it: a word up to twenty (``no`` for 0), figures beyond."""
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def counted(tile: Tile, number: int) -> str:
    """Return a number (0 or more) of one kind in words: ``one 4 bam``, ``five 1 bams``, ``no flowers``."""
    return f"{number_word(number)} {tile.word}{'' if number == 1 else 's'}"


def numbered(rank: int, suit: Suit) -> Tile:
    """Return the numbered tile of a rank and suit; KeyError where the rank is outside 1-9."""
    return _NUMBERED[rank, suit]


BACK = "\U0001f02b"

_FIRST_CHARACTERS = (Tile.EAST, Tile.SOUTH, Tile.WEST, Tile.NORTH, Tile.RED, Tile.GREEN, Tile.WHITE)
_FIRST_OF_SUIT = {Suit.CRAK: 0x1F007, Suit.BAM: 0x1F010, Suit.DOT: 0x1F019}

TILE_OF_CHARACTER: dict[str, Tile] = {
    **{chr(0x1F000 + place): tile for place, tile in enumerate(_FIRST_CHARACTERS)},
    **{
        chr(first + rank - 1): numbered(rank, suit)
        for suit, first in _FIRST_OF_SUIT.items()
        for rank in range(1, 10)
    },
    **{chr(code): Tile.FLOWER for code in range(0x1F022, 0x1F02A)},
    "\U0001f02a": Tile.JOKER,
}
