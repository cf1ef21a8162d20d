"""What a person types at a pass: tiles, a number of blind ones, or one of three requests."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from clients.cli.practice.rounds import PASS_SIZE, allows_blind, in_words
from clients.cli.practice.tiles import JOKER, in_order, read_tiles
from clients.cli.render.words import counted, tile_words


class Wish(Enum):
    """A request in place of a pass."""

    HELP = "help"
    PAUSE = "pause"
    STOP = "stop"


@dataclass(frozen=True)
class Pass:
    """A pass that the rules allow: own tiles in the fixed order of kinds, and how many go on blind."""

    given: tuple[str, ...]
    blind: int = 0


_WISHES = {
    **dict.fromkeys(("?", "h", "help"), Wish.HELP),
    **dict.fromkeys(("p", "pause"), Wish.PAUSE),
    **dict.fromkeys(("q", "quit", "stop"), Wish.STOP),
}
# No short form such as "b1": it is too close to 1 bam.
_BLIND = re.compile(
    r"(?:\+\s*(?P<plus>[0-9]{1,3})(?:\s*blind)?"
    r"|(?:^|(?<=[\s,;]))(?:(?P<before>[0-9]{1,3})\s*blind|blind\s*(?P<after>[0-9]{1,3})))\s*\Z",
    re.ASCII | re.IGNORECASE,
)

HELP = f"""\
Type the tokens of the tiles to pass in any order: 4b 4c E, or 4 bam, 4 crak, E.
Digits with b, c or d are bams, craks and dots; N E W S winds; green, red, white
dragons; F a flower. A joker may never be passed.
Where blind passing is allowed, a number after the tiles says how many incoming
tiles go on unseen in place of your own: "4b E +1". Together they make {PASS_SIZE}.
p pauses and hides the rack, q stops the lap. The clock runs as you read this."""


def wish_of(line: str) -> Wish | None:
    """Return the request a line is, or None for a pass."""
    return _WISHES.get(line.strip().lower())


def pass_of(line: str, rack: Sequence[str], round_: str) -> tuple[Pass | None, list[str]]:
    """Read a pass and hold it against the rules.

    Args:
        line: What was typed, such as ``4b 4c E`` or ``4b E +1``.
        rack: Tokens held.
        round_: The round's name.

    Returns:
        The pass and no fault, or None and every fault, one a line.
    """
    blind, rest = 0, line
    if said := _BLIND.search(line):
        blind, rest = int(said["plus"] or said["before"] or said["after"]), line[: said.start()]
    tokens, unknown = read_tiles(rest)
    faults = [
        *unknown,
        *_blind_faults(blind, round_),
        *_count_faults(len(tokens), len(unknown), blind, round_),
        *_rack_faults(tokens, rack),
    ]
    return (None, faults) if faults else (Pass(tuple(in_order(tokens)), blind), [])


def _blind_faults(blind: int, round_: str) -> list[str]:
    if blind and not allows_blind(round_):
        return [f"{in_words(round_)} allows no blind pass"]
    return [f"{blind} blind: at most {PASS_SIZE}"] if blind > PASS_SIZE else []


def _count_faults(tiles: int, unknown: int, blind: int, round_: str) -> list[str]:
    if not allows_blind(round_):
        blind = 0
    # A part that could not be read may stand for several tiles: then only too many is sure to be wrong.
    if blind > PASS_SIZE or tiles + blind == PASS_SIZE or (unknown and tiles + blind < PASS_SIZE):
        return []
    if allows_blind(round_):
        return [
            f"{counted(tiles, 'tile')} and {blind} blind: they must make {PASS_SIZE} "
            "(+1 passes on one tile unseen)"
        ]
    return [f"{counted(tiles, 'tile')}: {in_words(round_)} takes exactly {PASS_SIZE}"]


def _rack_faults(tokens: Sequence[str], rack: Sequence[str]) -> list[str]:
    held, faults = Counter(rack), []
    for token, count in sorted(Counter(tokens).items(), key=lambda item: in_order(tokens).index(item[0])):
        if token == JOKER:
            faults.append("a joker may never be passed")
        elif not held[token]:
            faults.append(f"{token} ({tile_words(token)}) is not on your rack")
        elif held[token] < count:
            faults.append(f"{count} of {token} ({tile_words(token)}): your rack has {held[token]}")
    return faults
