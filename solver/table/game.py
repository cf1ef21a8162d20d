"""One whole simulated game: the deal, the Charleston, and play until a hand or a dead wall.

Draws, discards, claims and joker exchanges are as commonly played; the players' habits are ours: each aims
at the target of least cost (see `aim`), discards what the likelier targets miss least, claims what completes
a group of its aim when no more than seven tiles are missing, and takes a joker from a shown group whenever
it can spare the natural.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import KINDS, Tile
from solver.deals import Luck, shuffled_wall
from solver.situation import CardTables, counts_of, tables_of
from solver.table.aim import JOKER, Aim
from solver.table.charleston import PassMade, PassRule, Seat, play_charleston

_REFRESH_EVERY = 12
_FARTHEST_CLAIM = 7


@dataclass(frozen=True)
class Ending:
    """How a game ended; no winner nor hand for a dead wall; ``self_drawn`` is of the last tile."""

    winner: int | None
    hand: int | None
    drawn: int
    self_drawn: bool


@dataclass
class Shown:
    """A group shown: kind, naturals and jokers in it."""

    kind: int
    naturals: int
    jokers: int


@dataclass
class Table:
    """The state of play; positions stand for tiles, as in `Aim`."""

    tables: CardTables
    aims: list[Aim]
    wall: list[int]
    discards: list[int] = field(default_factory=list)
    shown: list[list[Shown]] = field(default_factory=lambda: [[], [], [], []])
    drawn: int = 0


BeforePlay = Callable[[Table], None]


def start_table(tables: CardTables, seats: Sequence[Seat], wall: list[Tile]) -> Table:
    """Return a table ready for East's first discard; East (seat 0) holds 14 tiles."""
    copies = np.array([tile.copies for tile in KINDS], np.int64)
    horizon = len(wall) // 4
    aims = []
    for seat in seats:
        held = counts_of(seat.tiles.elements()).astype(np.int64)
        passed = counts_of(seat.seen()).astype(np.int64)
        aims.append(Aim(tables, held, copies - held - passed, horizon, passed))
    return Table(tables, aims, [tile.position for tile in reversed(wall)])


def play_out(table: Table) -> Ending:
    """Play a table to the end; it is used up."""
    seat, must_draw, claimed = 0, False, False
    while True:
        aim = table.aims[seat]
        if must_draw:
            if not table.wall:
                return Ending(None, None, table.drawn, False)
            aim.take(table.wall.pop())
            table.drawn += 1
            if table.drawn % _REFRESH_EVERY == 0:
                for each in table.aims:
                    each.refresh(len(table.wall) // 4)
        _exchange_jokers(table, seat)
        away = aim.away()
        done = int(away.argmin())
        if away[done] == 0:
            return _won(table, seat, done, self_drawn=not claimed)
        kind = _discard(table, seat)
        for step in (1, 2, 3):
            other = (seat + step) % 4
            if table.aims[other].completes(kind):
                _take_discard(table, other)
                return _won(table, other, int(table.aims[other].away().argmin()), self_drawn=False)
        claimer = next(
            (other for other in ((seat + step) % 4 for step in (1, 2, 3)) if _claim(table, other, kind)), None
        )
        claimed = claimer is not None
        seat, must_draw = ((seat + 1) % 4, True) if claimer is None else (claimer, False)


def _won(table: Table, seat: int, target: int, *, self_drawn: bool) -> Ending:
    return Ending(seat, int(table.tables.hand[target]), table.drawn, self_drawn)


def _discard(table: Table, seat: int) -> int:
    aim = table.aims[seat]
    spare = np.flatnonzero(aim.surplus(aim.best())[:JOKER] > 0)
    if not len(spare):
        spare = np.flatnonzero(aim.free[:JOKER] > 0)
    kind = int(spare[np.argmin(aim.usefulness()[spare])]) if len(spare) else JOKER
    aim.drop(kind)
    table.discards.append(kind)
    for other in range(4):
        if other != seat:
            table.aims[other].see(kind)
    return kind


def _take_discard(table: Table, seat: int) -> None:
    table.aims[seat].take(table.discards.pop(), seen=True)


def _claim(table: Table, seat: int, kind: int) -> bool:
    """Claim the last discard for a group of the seat's aim, if it completes one; show the group."""
    aim = table.aims[seat]
    if kind == JOKER:
        return False
    target = aim.best()
    if table.tables.concealed[target] or aim.away()[target] > _FARTHEST_CLAIM:
        return False
    size = _open_group(table, seat, target, kind)
    if size is None:
        return False
    if aim.lacks(target, kind) == 0:
        return False
    # The pair keeps what it has: the discard may go into the group only.
    naturals = min(size, max(int(aim.free[kind]) - int(table.tables.plain[target, kind]), 0) + 1)
    jokers = size - naturals
    if jokers > aim.free[JOKER]:
        return False
    _take_discard(table, seat)
    table.shown[seat].append(Shown(kind, naturals, jokers))
    aim.show(kind, naturals, jokers)
    aim.open &= _with_groups(table, seat)
    for other in range(4):
        if other != seat:
            for _ in range(naturals - 1):
                table.aims[other].see(kind)
            for _ in range(jokers):
                table.aims[other].see(JOKER)
    return True


def _open_group(table: Table, seat: int, target: int, kind: int) -> int | None:
    """Return the size of a group of a kind in a target that is not shown yet, the smallest first."""
    sizes = Counter(
        group.count
        for group in table.tables.targets[target].groups
        if group.takes_jokers and group.tile.position == kind
    )
    sizes.subtract(group.naturals + group.jokers for group in table.shown[seat] if group.kind == kind)
    return min(+sizes, default=None)


@lru_cache(maxsize=4_096)
def _having(tables: CardTables, kind: int, size: int) -> NDArray[np.int64]:
    """Return (T,) how many groups of a kind and size each target has."""
    tile = KINDS[kind]
    return np.array(
        [
            sum(group.tile is tile and group.count == size for group in target.groups)
            for target in tables.targets
        ]
    )


def _with_groups(table: Table, seat: int) -> NDArray[np.bool_]:
    """Return which targets have all groups the seat has shown, and are not concealed."""
    shown = Counter((group.kind, group.naturals + group.jokers) for group in table.shown[seat])
    fits = ~table.tables.concealed
    for (kind, size), count in shown.items():
        fits &= _having(table.tables, kind, size) >= count
    return fits


def _exchange_jokers(table: Table, seat: int) -> None:
    """Take jokers out of shown groups for naturals that the seat's aim does not need in a pair."""
    aim = table.aims[seat]
    for owner, theirs in enumerate(table.aims):
        for group in table.shown[owner]:
            while group.jokers and _spare(table, seat, group.kind):
                group.jokers -= 1
                group.naturals += 1
                for other, watching in enumerate(table.aims):
                    if other != seat:
                        watching.see(group.kind)
                        watching.elsewhere[JOKER] += 1
                aim.drop(group.kind)
                aim.take(JOKER, seen=True)
                theirs.held[JOKER] -= 1
                theirs.take(group.kind, seen=True)
                theirs.redeem(group.kind)


def _spare(table: Table, seat: int, kind: int) -> bool:
    aim = table.aims[seat]
    return int(aim.free[kind]) > int(table.tables.plain[aim.best(), kind])


EAST, OTHERS = 14, 13


@dataclass(frozen=True)
class Game:
    """A finished game: every pass in order, the seats as play began, and how it ended."""

    passes: list[PassMade]
    seats: list[Seat]
    ending: Ending


def deal_seats(seed: int, number: int) -> tuple[list[Seat], list[Tile]]:
    """Deal to four seats, the first of them East; return them and the wall in order."""
    order = shuffled_wall(seed, number)
    seats = []
    for size in (EAST, OTHERS, OTHERS, OTHERS):
        seats.append(Seat(Counter(order[:size])))
        order = order[size:]
    return seats, order


def play_game(
    card: Card,
    rules: Sequence[PassRule],
    seed: int,
    number: int,
    before_play: BeforePlay = lambda table: None,
) -> Game:
    """Deal and play one game; the same seed and number deal the same tiles whatever the rules.

    Seat 0 is East. What is called before play begins may watch the table, or hold a player to a target.
    """
    seats, wall = deal_seats(seed, number)
    made = play_charleston(card, seats, rules, Luck(seed, number, 1))
    return Game(made, seats, _played(card, seats, wall, before_play))


def play_again(
    card: Card, seats: Sequence[Seat], luck: Luck, before_play: BeforePlay = lambda table: None
) -> Ending:
    """Play on from where a Charleston ended, with another wall: a shuffle of all that no seat holds.

    The first wall was no other, so several endings say more of what a Charleston was worth than one, and
    cost less than as many games. The same luck puts the same tiles in the same order, whatever is held of
    them, so that players who end with almost the same tiles meet almost the same wall.
    """
    held = sum((seat.tiles for seat in seats), Counter[Tile]())
    # Copies have numbers, those held the first: a copy's place must not depend on whether others are held.
    copies = luck.shuffled([(tile, copy) for tile in KINDS for copy in range(tile.copies)])
    wall = [tile for tile, copy in copies if copy >= held[tile]]
    return _played(card, seats, wall, before_play)


def _played(card: Card, seats: Sequence[Seat], wall: list[Tile], before_play: BeforePlay) -> Ending:
    table = start_table(tables_of(card), seats, wall)
    before_play(table)
    return play_out(table)
