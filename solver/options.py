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
from solver.reach.states import OWN_NUMBER, REST_NUMBER, Missing, missing, signatures
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
        usable = bits.thermometer[np.arange(len(at)), useful].sum(axis=1, dtype=np.uint32)
        self.target, self.loss = np.nonzero((losses.taken & ~usable[:, None]) == 0)
        self._held, self._losses = held, losses
        self._plain, self._grouped, self._at, self._useful = plain, grouped, at, useful

        most = losses.copies.max() + 1
        lost = np.arange(most)
        after = missing(
            plain[:, at, None], grouped[:, at, None], np.maximum(useful[:, :, None] - lost, 0).astype(np.int8)
        )
        index = (after.plain, after.grouped, np.broadcast_to(unseen[at][:, None], after.plain.shape))
        own, rest = OWN_NUMBER[index], REST_NUMBER[index]
        own, rest = own - own[:, :, :1], rest - rest[:, :, :1]
        allowed = np.minimum(np.array(bits.counts)[:, None] - useful[:, :, None] + lost, bits.counts_column)
        therm = bits.thermometer[np.arange(len(at))[:, None], allowed]
        opened = therm - therm[:, :, :1]

        base_own, base_rest = signatures(missing(plain, grouped, held), unseen)
        base_open = therm[:, :, 0].sum(axis=1, dtype=np.uint32)
        self.own, self.rest, allowed_bits = (start[self.target] for start in (base_own, base_rest, base_open))
        for slot in range(losses.kind.shape[1]):
            where = (self.target, losses.kind[self.loss, slot], losses.copies[self.loss, slot])
            self.own = self.own + own[where]
            self.rest = self.rest + rest[where]
            allowed_bits = allowed_bits + opened[where]
        self.forbidden = np.uint32((1 << bits.size) - 1) & ~allowed_bits
        demands = Demands(self.own, self.rest, tables.concealed[rows][self.target], self._lack)
        self.reach = reach_of(demands, situation.outlook, unseen)

    def _lack(self, pairs: NDArray[np.intp]) -> Missing:
        target, loss = self.target[pairs], self.loss[pairs]
        kept = np.zeros((len(pairs), N_NATURALS), np.int8)
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


def _undominated(forbidden: NDArray[np.uint32], reach: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Mark options of one hand, sorted best first, that no earlier one makes needless."""
    kept = np.ones(len(reach), bool)
    for start in range(0, len(reach), _BLOCK):
        stop = min(start + _BLOCK, len(reach))
        block = forbidden[start:stop]
        earlier = forbidden[:start][kept[:start]]
        kept[start:stop] = ~((earlier & ~block[:, None]) == 0).any(axis=1)
        within = ((block & ~block[:, None]) == 0) & np.tri(stop - start, k=-1, dtype=bool)
        kept[start:stop] &= ~within.any(axis=1)
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
        bits: Encoding of the rack.
        give: Tiles that go, 0-3.
        counts: (H,) whether a hand counts at all.
        smallest: Options worth no more than this above the floor are left out; with the default, that
            changes no optimum.
    """
    losses = _Losses.of(bits, give)
    whole = situation.reach(tables, situation.held)
    starts = tables.first_of_hand()

    # One good target per hand gives a floor, and few targets have anything above it to offer.
    ordered = np.lexsort((-whole, tables.hand))
    best_target = ordered[starts]
    floor = _Pairs(situation, tables, bits, losses, best_target).worst()
    rows = np.flatnonzero((whole > floor[tables.hand]) & counts[tables.hand])
    pairs = _Pairs(situation, tables, bits, losses, rows)
    unpruned = len(pairs.reach)
    if len(rows):
        np.maximum.at(floor, tables.hand[rows], pairs.worst())
    hand = tables.hand[rows][pairs.target]
    return _pruned(hand, pairs.forbidden, pairs.reach, np.where(counts, floor, 0.0), unpruned, smallest)


def without_bits(options: Options, dead: int) -> Options:
    """Return the options when no pass touches the bits of ``dead``: fewer, with higher floors."""
    forbidden = options.forbidden & ~np.uint32(dead)
    floor = options.floor.copy()
    safe = forbidden == 0
    np.maximum.at(floor, options.hand[safe], options.reach[safe])
    return _pruned(options.hand, forbidden, options.reach, floor, options.unpruned)


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
