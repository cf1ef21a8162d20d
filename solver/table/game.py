"""One whole simulated game, named by a seed and a number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from patterns.card import Card
from patterns.tiles import KINDS, Tile
from solver.card_tables import tables_of
from solver.chance import Chance
from solver.table.charleston import PassMade, play_charleston
from solver.table.play import Ending, Table, play_out, start_table
from solver.table.seat import PassRule, Seat

EAST, OTHERS = 14, 13


@dataclass(frozen=True)
class SeatStart:
    """A seat as play begins: its tiles and its own passes that can still be elsewhere."""

    tiles: tuple[Tile, ...]
    seen: tuple[Tile, ...]


@dataclass(frozen=True)
class Game:
    """A finished game.

    Attributes:
        dealt: Each seat's tiles as dealt.
        passes: Every pass made, in order.
        starts: Each seat after the Charleston.
    """

    dealt: tuple[tuple[Tile, ...], ...]
    passes: tuple[PassMade, ...]
    starts: tuple[SeatStart, ...]
    ending: Ending


def play_game(
    card: Card,
    rules: Sequence[PassRule],
    seed: int,
    number: int,
    *,
    second: bool = True,
    check: bool = False,
    before_play: Callable[[Table], None] | None = None,
) -> Game:
    """Deal and play one game; the same seed and number deal the same tiles whatever the rules.

    Args:
        card: The card.
        rules: How each of the four seats passes; seat 0 is East.
        seed: Names the series.
        number: Names the game in it.
        second: Whether the second Charleston is played.
        check: Whether to check at every turn that tiles are conserved.
        before_play: Called with the table when the exchanges are over, to watch it or bind a player.
    """
    wall = [tile for tile in KINDS for _ in range(tile.copies)]
    order = Chance(seed, number).shuffled(wall)
    seats = []
    for seat in range(4):
        size = EAST if seat == 0 else OTHERS
        seats.append(Seat(Counter(order[:size])))
        order = order[size:]
    dealt = tuple(tuple(seat.tiles.elements()) for seat in seats)
    made = play_charleston(card, seats, rules, second, Chance(seed, number, 1))
    starts = tuple(SeatStart(seat.rack.tiles, seat.seen()) for seat in seats)
    table = start_table(tables_of(card), seats, order)
    if before_play is not None:
        before_play(table)
    ending = play_out(table, check=check)
    return Game(dealt, tuple(made), starts, ending)
