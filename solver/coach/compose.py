"""Racks composed for a lesson: so many tiles away from hands, with given tiles, each unlike the others.

A model of the tiles in a rack, under the wishes; then the advice says whether the choice is clear or close,
and which way it goes. CP-SAT finds some rack that fits and brings it as near to a shuffled wall as it can in
a short time, as racks that it finds by itself are all of three or four alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count, pairwise

import numpy as np
from ortools.sat.python import cp_model_helper as cp_sat

from patterns.card import HAND_SIZE, Card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.stopping import check_stop
from patterns.tiles import KINDS, Tile, counted
from solver.deals import Deal, DealWish, FoundDeal, measured, shuffled_wall
from solver.model import Model, run_solver, smallest_clash, solver_of
from solver.situation import tables_of

# For bringing a rack nearer to a wall: twice as much makes it hardly any nearer.
_DETERMINISTIC_TIME = 0.05
# Linear algebra is of no use here, and takes time.
_LINEARIZATION = 0

Place = tuple[str | int, ...]


def hands_called(card: Card, name: str) -> list[int]:
    """Return the hands of a card by ``hand``, by ``family`` or by ``hand/family``, as indexes."""
    return [
        index
        for index, hand in enumerate(card.hands)
        if name in (hand.name, hand.family, f"{hand.name}/{hand.family}")
    ]


@dataclass(frozen=True)
class Near:
    """The nearest target of the hands called so is exactly ``away`` tiles away, 0 to 14.

    Its place is the part of the question that asks for it.
    """

    place: Place
    name: str
    away: int

    @property
    def says(self) -> str:
        """The wish in words."""
        return f"{self.away} {'tile' if self.away == 1 else 'tiles'} away from {self.name}"


@dataclass(frozen=True)
class Copies:
    """From ``least`` to ``most`` tiles of one kind are in the rack, or any more; ``place`` as in `Near`."""

    place: Place
    tile: Tile
    least: int
    most: int | None = None

    @property
    def says(self) -> str:
        """The wish in words."""
        exactly = "exactly " if self.most else ""
        return f"{'at least ' if self.most is None else exactly}{counted(self.tile, self.least)}"


RackWish = Near | Copies


@dataclass(frozen=True)
class Composition:
    """What racks are to be composed: as many as of a wish for deals, whose jokers do not count.

    Any two differ by ``apart`` tiles at least, 1 to the size of a rack.
    """

    deals: DealWish
    wishes: tuple[RackWish, ...]
    apart: int


class RackModel(Model):
    """A model of all racks of some size that fit some wishes."""

    def __init__(self, card: Card, size: int, wishes: Iterable[RackWish]) -> None:
        super().__init__()
        self._size, self._tables = size, tables_of(card)
        # For each kind one boolean for each "at least so many are in the rack".
        self._held = [self._booleans(tile.copies) for tile in KINDS]
        self._tiles = [bit for bits in self._held for bit in bits]
        for bits in self._held:
            for fewer, more in pairwise(bits):
                self._any_of([fewer, ~more])
        self._between(self._tiles, size, size)
        for wish in wishes:
            if isinstance(wish, Near):
                self._let_be_near(hands_called(card, wish.name), wish.away)
            else:
                most = len(self._tiles) if wish.most is None else wish.most
                self._between(self._held[wish.tile.position], wish.least, most)

    def _let_be_near(self, hands: Sequence[int], away: int) -> None:
        """Let the nearest target of some hands be exactly so many tiles away.

        A target lacks 14 tiles less those that serve it. Those are its useful naturals, and the jokers as far
        as there are tiles of its groups left for them to stand for: the lesser of naturals and jokers, and of
        naturals in singles and pairs and all tiles of its groups.
        """
        served, jokers = HAND_SIZE - away, self._held[-1]
        rows = np.flatnonzero(np.isin(self._tables.hand, hands))
        plain, groups = self._tables.plain[rows], self._tables.grouped[rows]
        useful, beside_groups = plain + groups, (served - groups.sum(axis=1, dtype=np.int64)).tolist()
        nearest = self._booleans(len(rows))
        self._any_of([*nearest])
        self._at_most_one([*nearest])
        each = zip(plain, useful, beside_groups, nearest, self._booleans(len(rows)), strict=True)
        for in_plain, wanted, beside, is_nearest, crowded in each:
            check_stop()
            pairs = self._first(in_plain)
            self._between(pairs, beside, len(self._tiles), is_nearest)
            # It is not nearer: by one count or by the other.
            self._between([*self._first(wanted), *jokers], 0, served, ~crowded)
            self._between(pairs, min(0, beside), beside, crowded)
        # Enough tiles are of use to it: said of the few that may not be, what clashes is seen at once.
        idle = []
        for kind, bits in enumerate(self._held[:-1]):
            for bit, unused, place in zip(bits, self._booleans(len(bits)), count(1), strict=False):
                users = np.flatnonzero(useful[:, kind] >= place).tolist()
                self._any_of([~bit, unused, *(nearest[row] for row in users)])
                idle.append(unused)
        self._between(idle, min(0, self._size - served), self._size - served)

    def differ(self, rack: Rack, tiles: int) -> None:
        """Let a rack have at least so many tiles that another one of its size does not have."""
        held = Counter(rack.tiles)
        shared = [bit for tile, count in held.items() for bit in self._held[tile.position][:count]]
        self._between(shared, 0, self._size - tiles)

    def rack(self, wall: Sequence[Tile]) -> Rack | None:
        """Return a rack that fits, with tiles that come early in a wall of the whole set; None: none fits."""
        copies: Counter[Tile] = Counter()
        order = []
        for tile in wall:
            order.append(self._held[tile.position][copies[tile]])
            copies[tile] += 1
        self._message.clear_objective()
        self._hint(order, [place < self._size for place in range(len(order))])
        first = run_solver(solver_of(_LINEARIZATION), self._message)
        if first.status == cp_sat.CpSolverStatus.INFEASIBLE:
            return None
        self._hint(range(len(first.solution)), first.solution)
        self._message.objective.vars.extend(order)
        self._message.objective.coeffs.extend(range(len(order)))
        solver = solver_of(_LINEARIZATION, _DETERMINISTIC_TIME)
        better = run_solver(solver, self._message, to_the_end=False)
        values = better.solution or first.solution
        return Rack(tuple(tile for tile in KINDS for bit in self._held[tile.position] if values[bit]))

    def _first(self, wanted: Iterable[int]) -> list[int]:
        return [bit for bits, count in zip(self._held, wanted, strict=False) for bit in bits[: int(count)]]

    def _hint(self, booleans: Iterable[int], values: Iterable[int]) -> None:
        self._message.clear_solution_hint()
        hint = self._message.solution_hint
        hint.vars.extend(booleans)
        hint.values.extend(int(value) for value in values)


def compose(asked: Composition) -> tuple[list[FoundDeal], int]:
    """Return racks that fit, as deals, and how many were tried.

    They are at most as many as wished for, as the budget allows, and as there are so far apart.

    Raises:
        FaultyInputError: the smallest set of wishes that no rack fits together; or as `find_deals`.
    """
    wish = asked.deals
    found: list[FoundDeal] = []
    model = RackModel(wish.card, wish.size, asked.wishes)
    tried = 0
    while tried < wish.budget and len(found) < wish.count:
        check_stop()
        dealt = _deal(model, wish, wish.start + tried)
        if dealt is None and not tried:
            raise FaultyInputError(_clash(wish, asked.wishes))
        if dealt is None:
            break
        fits = measured(wish, dealt)
        model.differ(dealt.rack, asked.apart if fits else 1)
        found += fits
        tried += 1
    return found, tried


def _deal(model: RackModel, wish: DealWish, index: int) -> Deal | None:
    wall = shuffled_wall(wish.seed, index)
    rack = model.rack(wall)
    if rack is None:
        return None
    for tile in rack.tiles:
        wall.remove(tile)
    return Deal(index, rack, tuple(tile for tile in wall if tile is not Tile.JOKER))


def _clash(wish: DealWish, wishes: Sequence[RackWish]) -> list[Fault]:
    """Return a fault for each of the fewest wishes that no rack fits together."""

    def possible(some: Sequence[RackWish]) -> bool:
        return RackModel(wish.card, wish.size, some).rack(shuffled_wall(0, 0)) is not None

    clashing = smallest_clash(wishes, possible)
    others = " together with the others named" if len(clashing) > 1 else ""
    detail = f"no rack of {wish.size} tiles can be so{others}"
    return [Fault("limits-clash", each.place, f"{each.says}: {detail}") for each in clashing]
