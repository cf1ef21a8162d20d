"""Tiles and numbers in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

_SUITS = {"b": "bam", "c": "crak", "d": "dot"}
_NAMED = {
    "N": "north wind",
    "E": "east wind",
    "W": "west wind",
    "S": "south wind",
    "green": "green dragon",
    "red": "red dragon",
    "white": "white dragon",
    "F": "flower",
    "J": "joker",
}


def tile_words(token: str) -> str:
    """Return a tile's token in words: ``4c`` is ``4 crak``."""
    if len(token) == 2 and token[0].isdigit() and token[1] in _SUITS:
        return f"{token[0]} {_SUITS[token[1]]}"
    return _NAMED.get(token, token)


def all_in_words(tokens: Iterable[str]) -> str:
    """Return tiles in words, with commas; ``nothing`` for none."""
    return ", ".join(map(tile_words, tokens)) or "nothing"


def tokens_in_groups(tokens: Sequence[str]) -> str:
    """Return tokens with one space between tiles alike and two where the kind changes."""
    return "  ".join(" ".join(run) for _, run in groupby(tokens)) or "none"


def percent(share: float) -> str:
    """Return a share in percent with one decimal; what would round to nothing says so."""
    return "under 0.1 %" if 0 < share < 0.0005 else f"{100 * share:.1f} %"


def hands(number: float) -> str:
    """Return a number of expected hands with three decimals."""
    return f"{number:.3f}"


def fine(number: float) -> str:
    """Return a small number of hands with four decimals; what would round to nothing says so."""
    return "under 0.0001" if 0 < number < 0.00005 else f"{number:.4f}"


def plain(number: float) -> str:
    """Return a very small number without an exponent: ``0.0000001``."""
    return f"{number:.12f}".rstrip("0").rstrip(".") or "0"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun: ``1 hand``, ``1,043 targets``."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
