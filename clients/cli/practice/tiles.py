"""Tiles as they are typed: tokens, their order, and every fault of a text that is not all tiles."""

from __future__ import annotations

import re
from collections.abc import Iterable

TOKENS: tuple[str, ...] = (
    *(f"{rank}{suit}" for suit in "bcd" for rank in range(1, 10)),
    *("N", "E", "W", "S", "green", "red", "white", "F", "J"),
)
JOKER = "J"

_PLACE = {token: place for place, token in enumerate(TOKENS)}
_WORDS = {
    **{name[0]: name[0].upper() for name in ("north", "east", "west", "south", "flower", "joker")},
    **{name: name[0].upper() for name in ("north", "east", "west", "south", "flower", "joker")},
    "flowers": "F",
    "jokers": "J",
    "soap": "white",
    **{short: name for name in ("green", "red", "white") for short in (name, name[:2])},
}
_NUMBERED = r"(?P<ranks>[1-9](?:[\s,;]*[1-9])*)[\s,;]*(?P<suit>bams?|craks?|dots?|[bcd])"
_UNIT = re.compile(
    f"{_NUMBERED}|(?P<word>{'|'.join(sorted(_WORDS, key=len, reverse=True))})", re.ASCII | re.IGNORECASE
)
# Atomic groups: "green" is also "gr e e n", and a run of such words must not be tried every way.
_RUN = re.compile(
    "(?>" + re.sub(r"\?P<\w+>", "?:", _UNIT.pattern) + r")++(?=[\s,;]|\Z)", re.ASCII | re.IGNORECASE
)
_GAP = re.compile(r"[\s,;]*", re.ASCII)
_UNKNOWN = re.compile(r"[^\s,;]+", re.ASCII)
_SHOWN = 20


def in_order(tokens: Iterable[str]) -> list[str]:
    """Return tokens in the fixed order of kinds: bams, craks, dots, winds, dragons, flowers, jokers."""
    return sorted(tokens, key=_PLACE.__getitem__)


def read_tiles(text: str) -> tuple[list[str], list[str]]:
    """Read tiles as racks are written: ``455c N green F``; case, commas and spaces are free.

    Returns:
        The tokens in the order they were written, and a line for each part that is not a tile.
    """
    tokens: list[str] = []
    faults: list[str] = []
    text = re.sub(r"\s", " ", text)
    at = 0
    while (at := _end(_GAP.match(text, at), at)) < len(text):
        if run := _RUN.match(text, at):
            for unit in _UNIT.finditer(run.group()):
                tokens += _tokens_of(unit)
            at = run.end()
        else:
            end = _end(_UNKNOWN.match(text, at), at + 1)
            faults.append(_not_a_tile(text[at:end], at + 1))
            at = end
    return tokens, faults


def _tokens_of(unit: re.Match[str]) -> list[str]:
    if unit["ranks"]:
        suit = unit["suit"][0].lower()
        return [rank + suit for rank in unit["ranks"] if rank.isdigit()]
    return [_WORDS[unit["word"].lower()]]


def _not_a_tile(written: str, column: int) -> str:
    shown = written if len(written) <= _SHOWN else written[:_SHOWN] + "..."
    if re.fullmatch("[1-9]+", written):
        return f"column {column}: {shown!r} has no suit (write b, c or d after the ranks)"
    return f"column {column}: {shown!r} is not a tile"


def _end(match: re.Match[str] | None, otherwise: int) -> int:
    return match.end() if match else otherwise
