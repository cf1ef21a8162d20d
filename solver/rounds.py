"""The seven rounds of a Charleston, what each allows (as commonly played), and the one-person drill."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import Enum

from patterns.faults import Fault
from patterns.tiles import KINDS, Tile, counted, number_word

PASS_SIZE = 3
DRILL_RACK = 14
MAX_EXCHANGES = 12
MAX_THEN_DRAWS = 60
# A heap has no jokers and nothing is claimed, so more draws are needed than at a table for a rack to be worth
# the same. Measured on 100 random racks, three exchanges left: on the full card 0.51 expected hands with 28,
# 0.59 with 29, and 0.52 at a table before the first right pass; on the small card 0.20 with 28, and 0.18 at a
# table. In median rack strength: 22 with 28 and 26 at a table on the full card, 11 and 16 on the small one.
THEN_DRAWS = 28


class Round(Enum):
    """One exchange of tiles; the value names it to programs."""

    FIRST_RIGHT = "first_right"
    FIRST_ACROSS = "first_across"
    FIRST_LEFT = "first_left"
    SECOND_LEFT = "second_left"
    SECOND_ACROSS = "second_across"
    SECOND_RIGHT = "second_right"
    COURTESY = "courtesy"

    @property
    def words(self) -> str:
        """The round as people say it: ``first right``."""
        return self.value.replace("_", " ")


class Direction(Enum):
    """To whom the tiles go."""

    RIGHT = "right"
    ACROSS = "across"
    LEFT = "left"


@dataclass(frozen=True)
class Rule:
    """What a round allows: numbers of one's own tiles, ascending, and whether incoming ones may go on unseen.

    With b blind a player gives 3 - b of her own and so receives 3 - b.
    """

    direction: Direction
    allowed: tuple[int, ...]
    blind: bool


_THREE, _ANY = (PASS_SIZE,), tuple(range(PASS_SIZE + 1))
# The first Charleston is compulsory; any one player may stop the second; the courtesy pass may follow either,
# and the smaller of two wishes decides.
RULES: dict[Round, Rule] = {
    Round.FIRST_RIGHT: Rule(Direction.RIGHT, _THREE, False),
    Round.FIRST_ACROSS: Rule(Direction.ACROSS, _THREE, False),
    Round.FIRST_LEFT: Rule(Direction.LEFT, _ANY, True),
    Round.SECOND_LEFT: Rule(Direction.LEFT, _THREE, False),
    Round.SECOND_ACROSS: Rule(Direction.ACROSS, _THREE, False),
    Round.SECOND_RIGHT: Rule(Direction.RIGHT, _ANY, True),
    Round.COURTESY: Rule(Direction.ACROSS, _ANY, False),
}

FIRST_CHARLESTON = (Round.FIRST_RIGHT, Round.FIRST_ACROSS, Round.FIRST_LEFT)
SECOND_CHARLESTON = (Round.SECOND_LEFT, Round.SECOND_ACROSS, Round.SECOND_RIGHT)
ORDER = (*FIRST_CHARLESTON, *SECOND_CHARLESTON, Round.COURTESY)


def may_follow(before: Round | None) -> tuple[Round, ...]:
    """Return the rounds that may come after one, or first: two where the second Charleston may be stopped."""
    if before is FIRST_CHARLESTON[-1]:
        return (SECOND_CHARLESTON[0], Round.COURTESY)
    after = 0 if before is None else ORDER.index(before) + 1
    return ORDER[after : after + 1]


def pass_faults(round_: Round, given: Counter[Tile], blind: int, held: Counter[Tile]) -> list[Fault]:
    """Return what the rules do not allow of a pass, each at ``given`` or ``blind``; ``held`` before it."""
    rule, own, faults = RULES[round_], given.total(), []
    if blind and not rule.blind:
        faults.append(Fault("blind", ("blind",), f"{round_.words} allows no blind pass"))
    elif not 0 <= blind <= PASS_SIZE:
        faults.append(Fault("range", ("blind",), f"{blind} blind: 0 to {PASS_SIZE}"))
    elif rule.blind and own + blind != PASS_SIZE:
        detail = f"{own} given and {blind} blind: together they must make {PASS_SIZE}"
        faults.append(Fault("wrong-count", ("given",), detail))
    if not rule.blind and own not in rule.allowed:
        takes = " to ".join(str(number) for number in sorted({rule.allowed[0], PASS_SIZE}))
        faults.append(Fault("wrong-count", ("given",), f"{own} given: {round_.words} takes {takes}"))
    if given[Tile.JOKER]:
        faults.append(Fault("joker", ("given",), "a joker may never be passed"))
    for tile in KINDS[:-1]:
        if given[tile] > held[tile]:
            has = number_word(held[tile]) if held[tile] else "none"
            detail = f"{counted(tile, given[tile])} ({tile.value}): the rack has {has}"
            faults.append(Fault("not-held", ("given",), detail))
    return faults


@dataclass(frozen=True)
class Drill:
    """What a one-person drill still has to come: 14 tiles, and a joker-free heap for the other players.

    Attributes:
        exchanges_left: Exchanges with the heap still to come, this one included, 1 to 12.
        then_draws: Tiles drawn from the heap once the exchanges are over, 0 to 60. 0 ends the drill there:
            only what the exchanges complete then counts, which is next to nothing from most racks. With
            the default a rack is worth about what it is at a table.
    """

    exchanges_left: int
    then_draws: int = THEN_DRAWS
