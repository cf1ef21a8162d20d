"""One seat's view of every target, kept up to date tile by tile, and what it costs to lack tiles.

Costs are minus log chance: a quick guide for play, not the exact reach. Kinds are taken to be independent,
which the exact formula does not; players at a simulated table choose by this because they look at every
target after every tile.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.card import HAND_SIZE
from solver.reach.counting import binomial
from solver.situation import N_NATURALS, CardTables

JOKER = N_NATURALS
MAX_LACK = HAND_SIZE + 1
_UNSEEN = 9
_SOFT_TARGETS = 24
# What cannot come naturally, or only as a joker from the wall.
IMPOSSIBLE = 60.0
_BY_JOKER = 3.0
# Habits that make games end about as soon as real ones do, chosen on 40 games each of nine pairs: arrivals
# for groups as a multiple of own draws, and what each missing tile costs besides.
_GROUP_ARRIVALS = 2.0
_EACH_TILE = 2.0
# Costs are whole multiples of this, so that sums are exact in any order and ties are ties on every machine.
_GRAIN = 2.0**-20
_WEIGHT_GRAIN = 2.0**-30


@dataclass(frozen=True, eq=False)
class Costs:
    """Costs for one horizon by (lack, unseen): in singles and pairs, in groups, in groups without claims."""

    plain: NDArray[np.float64]
    grouped: NDArray[np.float64]
    hidden: NDArray[np.float64]


def _chance_of(lack: int, unseen: int, pool: int, arrivals: int) -> float:
    hits = np.arange(lack, unseen + 1)
    if pool <= 0:
        return float(lack == 0)
    ways = binomial(unseen, hits) * binomial(pool - unseen, arrivals - hits)
    return float(ways.sum() / binomial(pool, arrivals))


def _table(pool: int, arrivals: int, *, jokers: bool) -> NDArray[np.float64]:
    table = np.full((MAX_LACK, _UNSEEN), IMPOSSIBLE)
    for unseen in range(_UNSEEN):
        natural = np.full(MAX_LACK, np.inf)
        for lack in range(unseen + 1):
            chance = _chance_of(lack, min(unseen, pool), pool, min(arrivals, pool))
            if chance > 0:
                natural[lack] = -np.log(chance) + _EACH_TILE * lack
        for lack in range(MAX_LACK):
            # More naturals unseen never make a group dearer: a joker from the wall may still come instead.
            by_joker = (_BY_JOKER + _EACH_TILE) * np.arange(lack, -1, -1)
            cost = (natural[: lack + 1] + by_joker).min() if jokers else natural[lack]
            table[lack, unseen] = min(IMPOSSIBLE, np.round(cost / _GRAIN) * _GRAIN)
    return table


@lru_cache(maxsize=2048)
def costs_for(pool: int, draws: int) -> Costs:
    """Return the costs with a pool of 1-152 unseen tiles for a player who expects 0 or more own draws.

    Twice as many discards of others are of possible use.
    """
    return Costs(
        _table(pool, draws, jokers=False),
        _table(pool, round(_GROUP_ARRIVALS * draws), jokers=True),
        _table(pool, draws, jokers=True),
    )


class Aim:
    """What a seat holds, what it has seen, and how far each target is.

    Tiles are positions in the fixed order of kinds here (0-35), as this runs at every tile of a game.

    Attributes:
        held: (36,) tiles held, shown groups included; ``locked`` are those, of use to their groups only.
        unseen: (36,) tiles not seen by this seat.
        elsewhere: (36,) tiles out of sight that others are known to have: own passes, jokers exchanged.
        open: (T,) whether a target still fits the groups shown.
    """

    def __init__(
        self,
        tables: CardTables,
        held: NDArray[np.int64],
        unseen: NDArray[np.int64],
        draws: int,
        elsewhere: NDArray[np.int64] | None = None,
    ) -> None:
        self.tables = tables
        self.held = held.copy()
        self.unseen = unseen.copy()
        self.elsewhere = np.zeros_like(self.held) if elsewhere is None else elsewhere.copy()
        self.locked = np.zeros_like(self.held)
        self.open = np.ones(len(tables.hand), bool)
        self._plain = np.ascontiguousarray(tables.plain.T.astype(np.int64))
        self._grouped = np.ascontiguousarray(tables.grouped.T.astype(np.int64))
        self._hidden = np.where(tables.concealed, MAX_LACK, 0)
        self.refresh(draws)

    @property
    def free(self) -> NDArray[np.int64]:
        """(36,) tiles held that are in no shown group."""
        return self.held - self.locked

    def refresh(self, draws: int) -> None:
        """Take a new horizon into account and compute everything afresh."""
        costs = costs_for(int(self.unseen.sum()), max(1, draws))
        # By unseen first; hands that claims are of no use to have their costs behind: one look-up each.
        self._plain_costs = np.ascontiguousarray(costs.plain.T)
        self._group_costs = np.ascontiguousarray(np.concatenate([costs.grouped, costs.hidden]).T)
        # By kind and target: cost, cost of groups, what is lacking in singles and pairs, and in groups.
        self._parts = np.zeros((4, N_NATURALS, len(self.open)))
        for kind in range(N_NATURALS):
            self._value(kind)
        self._totals = self._parts.sum(axis=1)

    def _lack(self, kind: int, free: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        plain, grouped = self._plain[kind], self._grouped[kind]
        if not free:
            return plain, grouped
        return np.maximum(plain - free, 0), np.maximum(grouped - np.maximum(free - plain, 0), 0)

    def _value(self, kind: int) -> None:
        lack_plain, lack_grouped = self._lack(kind, int(self.held[kind] - self.locked[kind]))
        unseen = int(self.unseen[kind])
        plain = self._plain_costs[unseen].take(lack_plain)
        group = self._group_costs[unseen].take(lack_grouped + self._hidden)
        self._parts[:, kind] = plain + group, group, lack_plain, lack_grouped

    def update(self, kind: int) -> None:
        """Take account of a change in what is held or unseen of one kind."""
        if kind != JOKER:
            self._totals -= self._parts[:, kind]
            self._value(kind)
            self._totals += self._parts[:, kind]

    def see(self, kind: int) -> None:
        """Note that one tile of a kind was seen elsewhere: one known to be elsewhere, if there is any."""
        if self.elsewhere[kind]:
            self.elsewhere[kind] -= 1
            return
        self.unseen[kind] -= 1
        self.update(kind)

    def take(self, kind: int, *, seen: bool = False) -> None:
        """Add a tile to those held; ``seen`` if it was seen before it was taken."""
        self.held[kind] += 1
        if not seen:
            # With none unseen it can only be one that was passed and came back.
            known = self.elsewhere if self.unseen[kind] == 0 else self.unseen
            known[kind] -= 1
        self.update(kind)

    def drop(self, kind: int) -> None:
        """Remove a tile from those held."""
        self.held[kind] -= 1
        self.update(kind)

    def show(self, kind: int, naturals: int, jokers: int) -> None:
        """Show a group of tiles held; what is in it serves that group and nothing else.

        Targets without the group are for the caller to close.
        """
        self.locked[kind] += naturals
        self.locked[JOKER] += jokers
        self._grouped[kind] = np.maximum(self._grouped[kind] - naturals - jokers, 0)
        self.update(kind)

    def redeem(self, kind: int) -> None:
        """Note that a natural took the place of a joker in an own shown group."""
        self.locked[kind] += 1
        self.locked[JOKER] -= 1
        self.update(kind)

    def away(self) -> NDArray[np.int64]:
        """Return how many tiles each target lacks, jokers used where they may be; 99 if it is closed."""
        *_, plain, grouped = self._totals
        short = plain + np.maximum(grouped - int(self.free[JOKER]), 0)
        return np.where(self.open, short, 99).astype(np.int64)

    def lacks(self, target: int, kind: int) -> int:
        """Return how many naturals of a kind a target lacks in groups not shown yet."""
        return int(self._parts[3, kind, target])

    def completes(self, kind: int) -> bool:
        """Return whether one more tile of a kind completes a target that is open."""
        if kind == JOKER:
            return False
        lack = np.array(self._lack(kind, int(self.held[kind] - self.locked[kind]) + 1))
        plain, grouped = self._totals[2:] - self._parts[2:, kind] + lack
        return bool(((plain == 0) & (grouped <= int(self.free[JOKER])) & self.open).any())

    def scores(self) -> NDArray[np.float64]:
        """Return the cost of each target, jokers taken off where they help; large if it is closed."""
        total, group_total, _, grouped = self._totals
        helped = np.minimum(int(self.free[JOKER]), grouped)
        return np.where(self.open, total - helped * (group_total / np.maximum(grouped, 1)), 1e6)

    def best(self) -> int:
        """Return the target of least cost."""
        return int(self.scores().argmin())

    def surplus(self, target: int) -> NDArray[np.int64]:
        """Return (36,) tiles in no shown group that a target has no use for; jokers never."""
        extra = np.zeros_like(self.held)
        need = self._plain[:, target] + self._grouped[:, target]
        extra[:JOKER] = np.maximum(self.free[:JOKER] - need, 0)
        return extra

    def usefulness(self) -> NDArray[np.float64]:
        """Return (35,) how much the likelier targets would miss one tile of each kind held."""
        scores = self.scores()
        few = min(_SOFT_TARGETS, len(scores))
        near = np.flatnonzero(scores <= np.partition(scores, few - 1)[few - 1])
        top = near[np.argsort(scores[near], kind="stable")[:few]]
        # Rounded as in `costs`: what ties here must tie on every machine.
        weights = np.round(np.exp(scores[top[0]] - scores[top]) / _WEIGHT_GRAIN) * _WEIGHT_GRAIN
        wanted = self._plain[:, top] + self._grouped[:, top] >= self.free[:JOKER, None]
        useful: NDArray[np.float64] = wanted @ weights
        return useful
