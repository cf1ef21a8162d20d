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

    B1 = "1b"
    B2 = "2b"
    B3 = "3b"
    B4 = "4b"
    B5 = "5b"
    B6 = "6b"
    B7 = "7b"
    B8 = "8b"
    B9 = "9b"
    C1 = "1c"
    C2 = "2c"
    C3 = "3c"
    C4 = "4c"
    C5 = "5c"
    C6 = "6c"
    C7 = "7c"
    C8 = "8c"
    C9 = "9c"
    D1 = "1d"
    D2 = "2d"
    D3 = "3d"
    D4 = "4d"
    D5 = "5d"
    D6 = "6d"
    D7 = "7d"
    D8 = "8d"
    D9 = "9d"
    NORTH = "N"
    EAST = "E"
    WEST = "W"
    SOUTH = "S"
    GREEN = "green"
    RED = "red"
    WHITE = "white"
    FLOWER = "F"
    JOKER = "J"

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
    """Return the numbered tile of a rank (1-9) and suit.

    Raises:
        KeyError: the rank is outside 1-9.
    """
    return _NUMBERED[rank, suit]


BACK = "\U0001f02b"

_FIRST_OF_SUIT = {Suit.CRAK: 0x1F007, Suit.BAM: 0x1F010, Suit.DOT: 0x1F019}

TILE_OF_CHARACTER: dict[str, Tile] = {
    "\U0001f000": Tile.EAST,
    "\U0001f001": Tile.SOUTH,
    "\U0001f002": Tile.WEST,
    "\U0001f003": Tile.NORTH,
    "\U0001f004": Tile.RED,
    "\U0001f005": Tile.GREEN,
    "\U0001f006": Tile.WHITE,
    **{
        chr(first + rank - 1): numbered(rank, suit)
        for suit, first in _FIRST_OF_SUIT.items()
        for rank in range(1, 10)
    },
    **{chr(code): Tile.FLOWER for code in range(0x1F022, 0x1F02A)},
    "\U0001f02a": Tile.JOKER,
}
