"""The whole Charleston at a table of four (common practice, no source)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from patterns.card import Card
from patterns.tiles import Tile
from solver.chance import Chance
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Direction, Round
from solver.table.seat import PassRule, Seat

STEP = {Direction.RIGHT: 1, Direction.ACROSS: 2, Direction.LEFT: 3}


@dataclass(frozen=True)
class PassMade:
    """One pass: who, when, from what, and what."""

    seat: int
    round: Round
    held: tuple[Tile, ...]
    given: tuple[Tile, ...]


def play_charleston(
    card: Card, seats: Sequence[Seat], rules: Sequence[PassRule], second: bool, chance: Chance
) -> list[PassMade]:
    """Play all rounds, changing the seats; no tile is lost and no joker moves.

    Nobody passes blind; the courtesy pass is of the smaller of two wishes.

    Args:
        card: The card.
        seats: Four seats, each player's right neighbour next.
        rules: How each passes.
        second: Whether the second Charleston is played.
        chance: Luck for rules that need it.

    Raises:
        ValueError: a rule chose a wrong number of tiles, a joker, or a tile that its seat does not hold,
            or wished for fewer than 0 or more than 3.
    """
    made = []
    for round_ in (*FIRST_CHARLESTON, *(SECOND_CHARLESTON if second else ())):
        given = [
            rule.choose(card, seat, round_, PASS_SIZE, chance)
            for seat, rule in zip(seats, rules, strict=True)
        ]
        made += _exchange(seats, round_, given, [PASS_SIZE] * 4)
    wishes = [rule.wish(card, seat, chance) for seat, rule in zip(seats, rules, strict=True)]
    if not all(0 <= wish <= PASS_SIZE for wish in wishes):
        raise ValueError(f"wishes for the courtesy pass are 0-{PASS_SIZE}, not {wishes}")
    sizes = [min(wishes[seat], wishes[(seat + 2) % 4]) for seat in range(4)]
    given = [
        rule.choose(card, seat, Round.COURTESY, size, chance) if size else ()
        for seat, rule, size in zip(seats, rules, sizes, strict=True)
    ]
    return made + _exchange(seats, Round.COURTESY, given, sizes)


def _exchange(
    seats: Sequence[Seat], round_: Round, given: Sequence[tuple[Tile, ...]], sizes: Sequence[int]
) -> list[PassMade]:
    step = STEP[RULES[round_].direction]
    made = []
    for number, (seat, tiles) in enumerate(zip(seats, given, strict=True)):
        if len(tiles) != sizes[number] or Tile.JOKER in tiles or Counter(tiles) - seat.tiles:
            raise ValueError(f"seat {number} cannot pass {tiles}")
        made.append(PassMade(number, round_, tuple(seat.tiles.elements()), tiles))
    for number, tiles in enumerate(given):
        seats[number].tiles.subtract(tiles)
        seats[number].passed.extend(tiles)
    for number, tiles in enumerate(given):
        seats[(number + step) % 4].tiles.update(tiles)
    for seat in seats:
        seat.tiles = +seat.tiles
    return made
