"""Options: for each hand, what it may still be worth under each limit on what goes.

An option of a hand is (target, useful tiles lost): it is worth the target's reach after exactly that
loss, and holds for every pass that takes no more. As a limit on the pass it is a set of forbidden bits
(see `RackBits`). What a hand keeps whatever is passed is its floor.

Left out, without changing any optimum: options not above the floor, and options dominated by one of the
same hand that forbids a subset and is worth at least as much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.card_tables import N_NATURALS, CardTables
from solver.rack_bits import RackBits
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import Missing, missing, numbers, signatures
from solver.situation import Situation


@dataclass(frozen=True, eq=False)
class Options:
    """Options of all hands that count, after exact pruning.

    Attributes:
        hand: (n,) index of the hand, ascending.
        forbidden: (n,) bit set: passes that touch a bit of it do not leave this option.
        reach: (n,) what the hand is then worth, as a probability.
        floor: (H,) lower bound on each hand's reach that holds whatever is passed.
        unpruned: How many options there were before pruning.
    """

    hand: NDArray[np.int32]
    forbidden: NDArray[np.uint32]
    reach: NDArray[np.float64]
    floor: NDArray[np.float64]
    unpruned: int


@dataclass(frozen=True, eq=False)
class _Losses:
    """All ways to lose at most ``give`` tiles of the rack.

    Attributes:
        kind: (L, give) index among the kinds held; slots beyond those used point at kind 0.
        copies: (L, give) copies lost in that slot, 0 in an unused one.
        taken: (L,) bits of the first so many copies of each kind.
    """

    kind: NDArray[np.intp]
    copies: NDArray[np.intp]
    taken: NDArray[np.uint32]

    @classmethod
    def of(cls, bits: RackBits, give: int) -> _Losses:
        taken = bits.losses(give)
        taken = taken[np.argsort(np.bitwise_count(taken), kind="stable")]
        slots = max(1, min(give, len(bits.kinds)))
        kind, copies = np.zeros((2, len(taken), slots), np.intp)
        used = np.zeros(len(taken), np.intp)
        for index, count in enumerate(bits.counts):
            lost = np.bitwise_count(taken & np.uint32(bits.up_to(index, count)))
            rows = np.flatnonzero(lost)
            kind[rows, used[rows]] = index
            copies[rows, used[rows]] = lost[rows]
            used[rows] += 1
        return cls(kind, copies, taken)


class _Pairs:
    """Pairs (target, loss) of some targets, valued by differences from the target's own signatures."""

    def __init__(
        self,
        situation: Situation,
        tables: CardTables,
        bits: RackBits,
        losses: _Losses,
        rows: NDArray[np.intp],
    ) -> None:
        held, unseen = situation.held, situation.unseen[:N_NATURALS]
        plain, grouped = tables.plain[rows], tables.grouped[rows]
        at = bits.positions
        useful = np.minimum(held[at], plain[:, at] + grouped[:, at]).astype(np.intp)
        counts, spare = np.array(bits.counts, np.intp), held[at] - useful
        at_stake = np.maximum(counts - spare, 0)
        usable = bits.thermometer[np.arange(len(at)), at_stake].sum(axis=1, dtype=np.uint32)
        usable, like = np.unique(usable, return_inverse=True)
        fits = (losses.taken & ~usable[:, None]) == 0
        self.target, self.loss = np.divmod(np.flatnonzero(fits[like]), len(losses.taken))
        self._held, self._losses = held, losses
        self._plain, self._grouped, self._at, self._useful = plain, grouped, at, useful

        # Copies lost first: numpy is slow with a short last axis.
        lost = np.arange(losses.copies.max() + 1)[:, None, None]
        after = missing(plain[:, at], grouped[:, at], np.maximum(useful - lost, 0).astype(np.int8))
        own, rest = (each - each[0] for each in numbers(after, unseen[at]))
        allowed = np.minimum(spare + lost, counts)
        therm = bits.thermometer[np.arange(len(at)), allowed]
        opened = therm - therm[0]

        base_own, base_rest = signatures(missing(plain, grouped, held), unseen)
        base_open = therm[0].sum(axis=1, dtype=np.uint32)
        self.own, self.rest, allowed_bits = (start[self.target] for start in (base_own, base_rest, base_open))
        for slot in range(losses.kind.shape[1]):
            where = (losses.copies[self.loss, slot], self.target, losses.kind[self.loss, slot])
            self.own = self.own + own[where]
            self.rest = self.rest + rest[where]
            allowed_bits = allowed_bits + opened[where]
        self.forbidden = np.uint32((1 << bits.size) - 1) & ~allowed_bits
        demands = Demands(self.own, self.rest, tables.concealed[rows][self.target], self._lack)
        self.reach = reach_of(demands, situation.outlook, unseen)

    def _lack(self, pairs: NDArray[np.intp]) -> Missing:
        target, loss = self.target[pairs], self.loss[pairs]
        kept = np.tile(self._held, (len(pairs), 1))
        kept[:, self._at] = self._useful[target]
        for slot in range(self._losses.kind.shape[1]):
            kinds = self._at[self._losses.kind[loss, slot]]
            kept[np.arange(len(pairs)), kinds] -= self._losses.copies[loss, slot].astype(np.int8)
        return missing(self._plain[target], self._grouped[target], kept)

    def worst(self) -> NDArray[np.float64]:
        """Return each target's reach after its worst loss."""
        starts = np.searchsorted(self.target, np.arange(self._plain.shape[0]))
        worst: NDArray[np.float64] = np.minimum.reduceat(self.reach, starts)
        return worst


_BLOCK = 512
_EARLIER = np.tri(_BLOCK, k=-1, dtype=bool)


def _undominated(forbidden: NDArray[np.uint32], reach: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark options of one hand, sorted best first, that no earlier one makes needless."""
    kept = np.ones(len(reach), bool)
    for start in range(0, len(reach), _BLOCK):
        block = forbidden[start : start + _BLOCK]
        within = (block & ~block[:, None]) == 0
        within &= _EARLIER[: len(block), : len(block)]
        needless = within.any(axis=1)
        if start:
            earlier = forbidden[:start][kept[:start]]
            needless |= ((earlier & ~block[:, None]) == 0).any(axis=1)
        kept[start : start + _BLOCK] = ~needless
    return kept


def options_of(
    situation: Situation,
    tables: CardTables,
    bits: RackBits,
    give: int,
    counts: NDArray[np.bool_],
    smallest: float = 0.0,
) -> Options:
    """Return the options of every hand that counts.

    Args:
        situation: Rack, pool and arrivals.
        tables: The card.
        bits: Encoding of the tiles that may go: those of the rack, or some of them.
        give: Tiles that go, 0-3.
        counts: (H,) whether a hand counts at all.
        smallest: Options worth no more than this above the floor are left out; with the default, that
            changes no optimum.
    """
    rows = np.flatnonzero(counts[tables.hand])
    pairs = _Pairs(situation, tables, bits, _Losses.of(bits, give), rows)
    floor = np.zeros(len(counts))
    np.maximum.at(floor, tables.hand[rows], pairs.worst())
    hand = tables.hand[rows][pairs.target]
    return _pruned(hand, pairs.forbidden, pairs.reach, floor, len(pairs.reach), smallest)


def best_for(options: Options, passes: NDArray[np.uint32]) -> Options:
    """Return the options that are the best left to their hand by some pass, with higher floors.

    Args:
        options: Options, sorted by hand, best first.
        passes: (n,) the passes that are still possible, as bit sets, 1 or more.
    """
    if not len(options.hand):
        return options
    left = (options.forbidden[None, :] & passes[:, None]) == 0
    size = len(options.hand)
    starts = np.flatnonzero(np.diff(options.hand, prepend=-1))
    best = np.minimum.reduceat(np.where(left, np.arange(size), size), starts, axis=1)
    hands = options.hand[starts]
    reach = np.append(options.reach, 0.0)[best]
    value = np.where(best < size, reach, options.floor[hands])
    floor = options.floor.copy()
    floor[hands] = value.min(axis=0)
    kept = np.unique(best[value > floor[hands]])
    return Options(options.hand[kept], options.forbidden[kept], options.reach[kept], floor, options.unpruned)


def _pruned(
    hand: NDArray[np.int32],
    forbidden: NDArray[np.uint32],
    reach: NDArray[np.float64],
    floor: NDArray[np.float64],
    unpruned: int,
    smallest: float = 0.0,
) -> Options:
    """Sort options by hand, best first, and leave out those at or below the floor and the dominated."""
    above = np.flatnonzero(reach > floor[hand] + smallest)
    order = above[np.lexsort((forbidden[above], -reach[above], hand[above]))]
    hand, forbidden, reach = hand[order], forbidden[order], reach[order]
    kept = np.zeros(len(hand), bool)
    hands = np.arange(len(floor))
    bounds = zip(
        np.searchsorted(hand, hands).tolist(), np.searchsorted(hand, hands, "right").tolist(), strict=True
    )
    for first, last in bounds:
        kept[first:last] = last - first == 1 or _undominated(forbidden[first:last], reach[first:last])
    return Options(hand[kept], forbidden[kept], reach[kept], floor, unpruned)
