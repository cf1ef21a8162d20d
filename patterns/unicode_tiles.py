"""The 44 characters of the Unicode block Mahjong Tiles and the kinds they stand for.

Source: The Unicode Standard, block U+1F000-1F02F (names as in ``unicodedata``). That the four plants
and four seasons are the flowers of this set, and that bamboos, characters and circles are its bams,
craks and dots, is common practice, no source.
"""

from __future__ import annotations

from patterns.tiles import KINDS, Suit, Tile, numbered

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

_CHARACTER_OF_TILE: dict[Tile, str] = {}
for _character, _tile in TILE_OF_CHARACTER.items():
    _CHARACTER_OF_TILE.setdefault(_tile, _character)


def character(tile: Tile) -> str:
    """Return one Unicode character for a kind (the plum blossom stands for every flower)."""
    return _CHARACTER_OF_TILE[tile]


assert set(_CHARACTER_OF_TILE) == set(KINDS)
