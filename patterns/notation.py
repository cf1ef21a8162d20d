"""The notation of a hand's groups and of its condition on n, read with lark."""

from __future__ import annotations

import re
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib import resources
from typing import cast

from lark import Lark, Token, Transformer, Tree, UnexpectedInput, v_args
from lark.exceptions import UnexpectedEOF

from patterns.faults import Fault, FaultyInputError
from patterns.rack import parse_tiles
from patterns.tiles import DRAGONS, WINDS, Suit, Tile

RANKS = range(1, 10)


@dataclass(frozen=True)
class Rank:
    """A rank: ``offset`` itself, or n + ``offset`` when ``free``."""

    offset: int
    free: bool

    def at(self, n: int) -> int:
        """Return the rank for a value of n; it may fall outside 1-9."""
        return n + self.offset if self.free else self.offset


# A letter stands for a suit left open; different letters are different suits.
OpenSuit = str | Suit


@dataclass(frozen=True)
class Numbered:
    """A numbered tile with a rank and a suit, either of which may be open."""

    rank: Rank
    suit: OpenSuit


@dataclass(frozen=True)
class AnyOf:
    """Any one wind or dragon; its ``name`` tells ``wind1`` from ``wind2``, which differ."""

    name: str

    @property
    def kinds(self) -> tuple[Tile, ...]:
        """The winds or the dragons."""
        return WINDS if self.name.startswith("wind") else DRAGONS


@dataclass(frozen=True)
class DragonOf:
    """The dragon that goes with a suit."""

    suit: OpenSuit


OpenTile = Numbered | AnyOf | DragonOf | Tile


@dataclass(frozen=True)
class OpenGroup:
    """``count`` (1-6) of a tile that may be open in suit, rank, wind or dragon."""

    tile: OpenTile
    count: int


@v_args(inline=True)
class _Builder(Transformer[Token, OpenGroup]):
    numbered = Numbered
    dragon_of = DragonOf
    free_suit = str

    def group(self, tile: OpenTile, count: Token) -> OpenGroup:
        return OpenGroup(tile, int(count))

    def any_of(self, word: Token) -> AnyOf:
        return AnyOf(str(word))

    def named(self, word: Token) -> Tile:
        return Tile[word.upper()]

    def fixed(self, digit: Token) -> Rank:
        return Rank(int(digit), free=False)

    def free(self) -> Rank:
        return Rank(0, free=True)

    def shifted(self, digit: Token) -> Rank:
        return Rank(int(digit), free=True)

    def fixed_suit(self, word: Token) -> Suit:
        return Suit[word.upper()]


_EXPECTED = {
    "COUNT": "a count 1-6",
    "DIGIT": "a rank 1-9",
    **dict.fromkeys(("SUIT_LETTER", "SUIT_WORD"), "a suit p, q, r, bam, crak or dot"),
    **dict.fromkeys(("NAMED", "ANY", "_DRAGON_OF", "_SHIFT"), "a tile"),
    "N": "n",
    "STAR": "'*' and a count",
    "PARITY": "odd or even",
    "IN": "'in'",
    "AND": "'and'",
    "RPAR": "')'",
    "__ANON_0": "'..'",
    **dict.fromkeys(("<END-OF-FILE>", "$END"), "a space or the end"),
}
# Where an error of lark has the names of what it expected.
_ALLOWED = ("accepts", "allowed", "expected")


@cache
def _parser() -> Lark:
    grammar = resources.files("patterns").joinpath("notation.lark").read_text(encoding="utf-8")
    return Lark(grammar, parser="lalr", start=["group", "condition"])


@lru_cache(maxsize=2_000)
def _group(written: str) -> OpenGroup:
    """Read one group; there are not many that can be written, and a card repeats them."""
    return _Builder().transform(_parser().parse(written, start="group"))


def _fault(error: UnexpectedInput, written: str, first_column: int) -> Fault:
    names = next((found for name in _ALLOWED if (found := getattr(error, name, None))), ())
    words = {_EXPECTED.get(str(name), str(name)) for name in names}
    if "a tile" in words:
        words -= {"a rank 1-9", "n"}
    # The end's token is an empty text, hence falsy, and lark gives it the last token's column.
    token = getattr(error, "token", None)
    at_end = isinstance(error, UnexpectedEOF) or (isinstance(token, Token) and token.type == "$END")
    column = first_column + (len(written) if at_end else max(error.column, 1) - 1)
    detail = f"column {column}: in {written!r}: expected {' or '.join(sorted(words))}"
    if "joker" in written.lower():
        detail += "; jokers are never written: they stand in any group of three or more"
    return Fault("notation", (), detail)


_SUIT_LETTERS = {"b": "bam", "c": "crak", "d": "dot"}


def _meant(written: str) -> str | None:
    """Return the groups a shorthand stands for, such as ``22p``, ``FFF`` or ``5b*3``; None if unknown."""
    small = re.sub(r"^n\+([1-8])", r"(n+\1)", written.lower())
    small = re.sub(r"^(\d|n|\(n\+\d\))([bcd])(?=\*|$)", lambda of: of[1] + _SUIT_LETTERS[of[2]], small)
    small = small.replace("x", "*")
    for guess in (small, f"{small}*1"):
        with suppress(UnexpectedInput):
            _group(guess)
            return guess
    run = re.fullmatch(r"([1-9]+|n+)([pqr])", small)
    if run:
        tiles = [f"{rank}{run[2]}" for rank in run[1]]
    else:
        try:
            tiles = [
                tile.name.lower() if tile.suit is None else f"{tile.rank}{tile.suit.name.lower()}"
                for tile in parse_tiles(written)
            ]
        except FaultyInputError:
            return None
    return " ".join(f"{tile}*{min(count, 6)}" for tile, count in Counter(tiles).items())


def parse_groups(written: str) -> tuple[OpenGroup, ...]:
    """Read a hand's groups, such as ``np*4 (n+5)q*4 north*3 flower*3``.

    Raises:
        FaultyInputError: every group that cannot be read, with its column and what was expected there; no
            group at all.
    """
    groups: list[OpenGroup] = []
    faults: list[Fault] = []
    for part in re.finditer(r"\S+", written):
        try:
            groups.append(_group(part.group()))
        except UnexpectedInput as error:
            fault, meant = _fault(error, part.group(), part.start() + 1), _meant(part.group())
            faults.append(replace(fault, detail=f"{fault.detail}; write {meant}") if meant else fault)
    if not groups and not faults:
        faults.append(Fault("notation", (), "no groups: expected groups such as 5p*4"))
    if faults:
        raise FaultyInputError(faults)
    return tuple(groups)


def parse_where(written: str) -> tuple[int, ...]:
    """Read a condition such as ``n in 1..7``, ``n odd`` or both joined by ``and``: values of n, ascending."""
    try:
        tree = _parser().parse(written, start="condition")
    except UnexpectedInput as error:
        raise FaultyInputError([_fault(error, written, 1)]) from None
    allowed = set(RANKS)
    for clause in tree.children:
        words = [str(token) for token in cast("Tree[Token]", clause).children]
        if len(words) == 1:
            allowed &= {n for n in RANKS if n % 2 == (words[0] == "odd")}
        else:
            allowed &= set(range(int(words[0]), int(words[1]) + 1))
    if not allowed:
        raise FaultyInputError([Fault("notation", (), f"{written!r} allows no value of n")])
    return tuple(sorted(allowed))
