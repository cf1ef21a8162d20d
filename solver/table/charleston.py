"""A seat, how its player passes, and the whole Charleston at a table of four, as commonly played."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from patterns.card import Card
from patterns.rack import Pile, Rack
from patterns.tiles import Tile
from solver.deals import Luck
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Direction, Round
from solver.situation import still_elsewhere


@dataclass
class Seat:
    """The tiles a player holds, and those she gave away, in order."""

    tiles: Counter[Tile]
    passed: list[Tile] = field(default_factory=list)

    @property
    def rack(self) -> Rack:
        """The tiles as a rack."""
        return Rack(tuple(self.tiles.elements()))

    def seen(self) -> tuple[Tile, ...]:
        """Return own tiles passed, as far as they can still be elsewhere."""
        return still_elsewhere(self.passed, self.tiles)


class PassRule(Protocol):
    """How a player passes."""

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        """Return so many tiles of the seat's that are not jokers."""

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        """Return how many tiles to exchange at the courtesy pass, 0-3."""


# From a seat to that which gets its tiles.
STEP = {Direction.RIGHT: 1, Direction.ACROSS: 2, Direction.LEFT: 3}


@dataclass(frozen=True)
class PassMade:
    """One pass: who, when, from what, and what."""

    seat: int
    round: Round
    held: tuple[Tile, ...]
    given: tuple[Tile, ...]


def play_charleston(
    card: Card, seats: Sequence[Seat], rules: Sequence[PassRule], luck: Luck
) -> list[PassMade]:
    """Play all rounds, changing the four seats, each player's right neighbor next; no joker moves.

    Nobody stops the second Charleston or passes blind; the courtesy pass is of the smaller of two wishes.

    Raises:
        ValueError: a rule chose a wrong number of tiles, a joker, or a tile that its seat does not hold,
            or wished for fewer than 0 or more than 3.
    """
    made = []
    for round_ in (*FIRST_CHARLESTON, *SECOND_CHARLESTON):
        given = [
            rule.choose(card, seat, round_, PASS_SIZE, luck) for seat, rule in zip(seats, rules, strict=True)
        ]
        made += exchange(seats, round_, given, [PASS_SIZE] * 4)
    wishes = [rule.wish(card, seat, luck) for seat, rule in zip(seats, rules, strict=True)]
    if not all(0 <= wish <= PASS_SIZE for wish in wishes):
        raise ValueError(f"wishes for the courtesy pass are 0-{PASS_SIZE}, not {wishes}")
    sizes = [min(wishes[seat], wishes[(seat + 2) % 4]) for seat in range(4)]
    given = [
        rule.choose(card, seat, Round.COURTESY, size, luck) if size else ()
        for seat, rule, size in zip(seats, rules, sizes, strict=True)
    ]
    return made + exchange(seats, Round.COURTESY, given, sizes)


def exchange(
    seats: Sequence[Seat], round_: Round, given: Sequence[tuple[Tile, ...]], sizes: Sequence[int]
) -> list[PassMade]:
    """Let all four pass at the same time, changing the seats; arguments and errors as above."""
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


def kept_after(passes: Iterable[PassMade], seat: int) -> Iterator[tuple[PassMade, Pile, tuple[Tile, ...]]]:
    """Yield each pass of a seat with what it kept, and its own tiles passed that can still be elsewhere."""
    passed: list[Tile] = []
    for made in passes:
        if made.seat == seat:
            passed += made.given
            kept = Counter(made.held) - Counter(made.given)
            yield made, Pile(tuple(kept.elements())), still_elsewhere(passed, kept)
