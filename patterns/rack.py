"""A rack, the 13 or 14 tiles in front of a player, and tiles written as text or as lists of tokens.

Text: digits then the suit or its initial (``455c`` is 4, 5, 5 crak; also ``1 bam``, ``5 dots``, ``2 cracks``,
``bamboo``), winds and dragons by name, alone or with their second word (``east``, ``east wind``), or
shortened to N E W S and a color's first two letters, ``soap`` for white, flowers and jokers (F, J), or
Unicode tile characters. Case, commas and spacing are free.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from patterns.faults import Fault, FaultyInputError
from patterns.tiles import BACK, DRAGONS, KINDS, TILE_OF_CHARACTER, WINDS, Tile, counted, number_word

RACK_SIZES = (13, 14)
MAX_TEXT = 2000
MAX_TOKENS = 200
_MAX_NAMED_FAULTS = 20

_WORDS: dict[str, Tile] = {
    name.lower(): tile
    for tile in (*WINDS, *DRAGONS, Tile.FLOWER, Tile.JOKER)
    for name in (tile.name, tile.value)
}
_WORDS |= {"gr": Tile.GREEN, "re": Tile.RED, "wh": Tile.WHITE, "soap": Tile.WHITE}
_WORDS |= {"flowers": Tile.FLOWER, "jokers": Tile.JOKER}
_NUMBERED = r"(?P<ranks>[1-9](?:[\s,;]*[1-9])*)[\s,;]*(?P<suit>bam(?:boo)?s?|crac?ks?|dots?|[bcd])"
_END = r"(?=[\s,;]|\Z)"
_SECOND = r"\s*(?:winds?|dragons?)"


def _names(kinds: Iterable[Tile], second: str = "") -> str:
    """Return the names of some kinds as an expression, longest first, perhaps with their second word."""
    names = sorted((name for name, tile in _WORDS.items() if tile in kinds), key=len, reverse=True)
    return f"(?:{'|'.join(names)})" + (rf"(?:\s*{second}s?{_END})?" if second else "")


# Dragons first: "w" and "s" begin "white" and "soap".
_WORD = f"(?P<word>{_names(DRAGONS, 'dragon')}|{_names(WINDS, 'wind')}|{_names((Tile.FLOWER, Tile.JOKER))})"
_CHARACTER = f"(?P<character>[{''.join(TILE_OF_CHARACTER)}])[\ufe0e\ufe0f]?"
_UNIT = re.compile(f"{_NUMBERED}|{_WORD}|{_CHARACTER}", re.ASCII | re.IGNORECASE)
# Atomic groups: "green" is also "gr e e n", and a run of such words must not be tried every way.
_RUN = "(?>" + re.sub(r"\?P<\w+>", "?:", _UNIT.pattern) + ")++" + _END
_PART = re.compile(rf"(?P<run>{_RUN})|[^\s,;]+", re.ASCII | re.IGNORECASE)


def count_faults(tiles: Iterable[Tile]) -> list[Fault]:
    """Return a fault for each kind of which there are more tiles than the set holds."""
    counts = Counter(tiles)
    return [
        Fault(
            "too-many-copies",
            (),
            f"{counted(tile, counts[tile])} ({tile.value}): the set holds {number_word(tile.copies)}",
        )
        for tile in KINDS
        if counts[tile] > tile.copies
    ]


@dataclass(frozen=True)
class Pile:
    """Any number of tiles, kept in the fixed order of kinds, so equal piles are equal objects."""

    tiles: tuple[Tile, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "tiles", tuple(sorted(self.tiles, key=lambda tile: tile.position)))


@dataclass(frozen=True)
class Rack(Pile):
    """13 or 14 tiles; on construction, a wrong number or more copies than exist is a `FaultyInputError`."""

    def __post_init__(self) -> None:
        super().__post_init__()
        faults = count_faults(self.tiles)
        if len(self.tiles) not in RACK_SIZES:
            faults.insert(0, Fault("wrong-count", (), f"{len(self.tiles)} tiles: a rack has 13 or 14"))
        if faults:
            raise FaultyInputError(faults)


def _tiles_of(unit: re.Match[str]) -> list[Tile]:
    if unit["ranks"]:
        suit = unit["suit"][0].lower()
        return [Tile(rank + suit) for rank in unit["ranks"] if rank.isdigit()]
    if unit["word"]:
        return [_WORDS[re.sub(_SECOND, "", unit["word"].lower())]]
    return [TILE_OF_CHARACTER[unit["character"]]]


def _unknown(written: str, column: int) -> str:
    shown = written if len(written) <= 20 else written[:20] + "…"
    if BACK in written:
        return f"column {column}: {shown!r} is the back of a tile, which names no tile"
    if re.fullmatch(r"[0-9]+", written):
        return f"column {column}: {shown!r} has no suit (write b, c or d after ranks 1-9)"
    return f"column {column}: {shown!r} is not a tile"


def _scan(text: str) -> tuple[list[Tile], list[Fault]]:
    tiles: list[Tile] = []
    faults: list[Fault] = []
    # Any Unicode space becomes a plain one, one for one, so that columns stay true.
    for part in _PART.finditer(re.sub(r"\s", " ", text)):
        if part["run"]:
            for unit in _UNIT.finditer(part["run"]):
                tiles.extend(_tiles_of(unit))
        else:
            faults.append(Fault("unknown-tile", (), _unknown(part.group(), part.start() + 1)))
    return tiles, faults


def _few(faults: Sequence[Fault]) -> list[Fault]:
    """Keep an answer short when every word is wrong, and say how many more there are."""
    shown = list(faults[:_MAX_NAMED_FAULTS])
    if len(faults) > len(shown):
        shown.append(Fault("unknown-tile", (), f"and {len(faults) - len(shown)} more that are not tiles"))
    return shown


def parse_tiles(written: str | Sequence[object]) -> tuple[Tile, ...]:
    """Read tiles, possibly none, from text, or from a list of which each item is one tile's token.

    Raises:
        FaultyInputError: anything that is no tile, with its column in the text (from 1) or its index in the
            list (in the fault's place), or more than 2,000 characters or 200 tokens.
    """
    tiles, faults = _read(written)
    if faults:
        raise FaultyInputError(faults)
    return tuple(tiles)


def _read(written: str | Sequence[object]) -> tuple[list[Tile], list[Fault]]:
    if isinstance(written, str):
        if len(written) > MAX_TEXT:
            return [], [Fault("too-long", (), f"{len(written)} characters: at most {MAX_TEXT} are read")]
        tiles, faults = _scan(written)
        return tiles, _few(faults)
    if len(written) > MAX_TOKENS:
        return [], [Fault("too-long", (), f"{len(written)} items: at most {MAX_TOKENS} are read")]
    tiles, faults = [], []
    for index, token in enumerate(written):
        if not isinstance(token, str) or len(token) > MAX_TEXT:
            faults.append(Fault("unknown-tile", (index,), "a tile is written as a short text such as '3b'"))
            continue
        found, wrong = _scan(token)
        if not wrong and len(found) != 1:
            wrong = [Fault("unknown-tile", (), f"{len(found)} tiles in one item: each item is one tile")]
        faults.extend(fault.inside(index) for fault in wrong)
        tiles.extend(found)
    return tiles, _few(faults)


def parse_rack(written: str | Sequence[object]) -> Rack:
    """Read a rack of 13 or 14 tiles; a FaultyInputError as of `parse_tiles` and of `Rack`, all at once."""
    tiles, faults = _read(written)
    if any(fault.kind == "too-long" for fault in faults):
        raise FaultyInputError(faults)
    try:
        rack = Rack(tuple(tiles))
    except FaultyInputError as error:
        # An unreadable part may stand for several tiles: the count is only wrong for sure when even one
        # tile for each such part leaves too few, or the tiles that were read are already too many.
        unsure = faults and len(tiles) <= max(RACK_SIZES) and len(tiles) + len(faults) >= min(RACK_SIZES)
        faults += [fault for fault in error.faults if fault.kind != "wrong-count" or not unsure]
    if faults:
        raise FaultyInputError(faults)
    return rack
