"""Every legal pass of a rack and what it leaves: one table, hands by passes, from the reach code alone.

A pass is a set of bits, one a tile that may go, the lower copies of a kind first. A target loses of it only
the tiles that serve it, so few of the (target, pass) pairs differ: each distinct loss is valued once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise
from math import comb

import numpy as np
from numpy.typing import NDArray

from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.limits import Limit, Outcome, hand_weights
from solver.reach.evaluate import Demands, missing, numbers, reach_of, signatures
from solver.situation import (
    N_NATURALS,
    NATURALS,
    CardTables,
    Objective,
    Question,
    Situation,
    counts_of,
    tables_of,
)

# Targets alike but for the last digit are equally good on every machine.
_ALIKE = 1e-12
# Worths are told apart to so many parts of the most that a hand is worth: finer would be rounding.
PARTS = 1e12
# Targets are valued in blocks of so many losses, and of so many pairs of a target and a set of tiles. What a
# block takes, at most some 100 MiB, is all that a table takes beside what it keeps; a practice card is one.
_BLOCK_LOSSES, _BLOCK_PAIRS = 1 << 15, 1 << 20
_HALF = 7
_LOW = (1 << _HALF) - 1


@dataclass(frozen=True, eq=False)
class RackBits:
    """The tiles of a rack that may go, a bit each: at most 14, as jokers have none.

    Bit i stands for "at least so many copies of this kind go". Kinds held are in the fixed order.

    Attributes:
        counts: Copies held of each kind, whose columns among the 35 naturals are ``positions``.
        first_bit: Bit of the first copy of each kind.
        kind_of: (bits,) index of each bit's kind; ``copy_before`` is how many of its copies go before it.
    """

    kinds: tuple[Tile, ...]
    counts: tuple[int, ...]
    positions: NDArray[np.intp]
    first_bit: tuple[int, ...]
    kind_of: NDArray[np.intp]
    copy_before: NDArray[np.intp]

    @classmethod
    def of(cls, held: NDArray[np.int8]) -> RackBits:
        """Make the encoding from (35,) naturals held."""
        positions = np.flatnonzero(held)
        kinds, counts = tuple(NATURALS[kind] for kind in positions), tuple(held[positions].tolist())
        first_bit = tuple(accumulate(counts[:-1], initial=0))
        kind_of = np.repeat(np.arange(len(kinds)), counts)
        copy_before = np.arange(len(kind_of)) - np.repeat(first_bit, counts)
        return cls(kinds, counts, positions, first_bit, kind_of, copy_before)

    @property
    def size(self) -> int:
        """How many bits there are."""
        return len(self.kind_of)

    def passes(self, size: int) -> NDArray[np.uint32]:
        """Return every pass of so many tiles as a bit set, in the fixed order of their tiles."""
        return _passes(self.counts, size)

    def used(self, masks: NDArray[np.integer]) -> NDArray[np.int64]:
        """Return (P, bits): 1 where a bit set has a bit, 0 elsewhere."""
        return masks.astype(np.int64)[:, None] >> np.arange(self.size) & 1

    def tiles(self, mask: int) -> tuple[Tile, ...]:
        """Return the tiles of a bit set, in the fixed order."""
        return tuple(self.kinds[kind] for bit, kind in enumerate(self.kind_of.tolist()) if mask >> bit & 1)

    def mask_of(self, tiles: Iterable[Tile]) -> int:
        """Return the bit set of tiles that may go; ValueError if there are not so many of them."""
        mask = 0
        for tile, count in Counter(tiles).items():
            kind = self.kinds.index(tile)
            if count > self.counts[kind]:
                raise ValueError(f"{count} of {tile.value} may not go")
            mask |= ((1 << count) - 1) << self.first_bit[kind]
        return mask


@lru_cache(maxsize=1_000)
def _passes(counts: tuple[int, ...], size: int) -> NDArray[np.uint32]:
    """Return every pass of so many tiles of kinds with these copies; see `RackBits.passes`."""
    masks, first = [(0, 0)], 0
    for count in counts:
        # Most copies first: a pass with more of an earlier kind comes first in the order of tiles.
        masks = [
            (mask | ((1 << copies) - 1) << first, gone + copies)
            for mask, gone in masks
            for copies in range(min(count, size - gone), -1, -1)
        ]
        first += count
    return np.array([mask for mask, gone in masks if gone == size], np.uint32)


def _packing() -> NDArray[np.intp]:
    """Return (128, 128): the bits of the second index at which the first has one, moved together."""
    useful, mask = np.ogrid[: 1 << _HALF, : 1 << _HALF]
    packed = np.zeros((1 << _HALF, 1 << _HALF), np.intp)
    for bit in range(_HALF):
        packed |= (mask >> bit & useful >> bit & 1) << np.bitwise_count(useful & ((1 << bit) - 1))
    return packed


_PACKED = _packing()


@dataclass(frozen=True, eq=False)
class Losses:
    """What targets are worth after each distinct loss that some sets of tiles mean to them.

    Attributes:
        rows: (n,) indexes among the card's targets.
        group: (n,) targets that the same tiles serve lose alike: their group.
        useful: (G,) bits of the tiles that serve a group: it loses those of a set alone.
        within: (G, P) uint16, number of the loss that each set is to a group, from 0.
        begin: (n,) index of each target's first loss.
        reach: (m,) reach of a target after a loss, target by target.
    """

    rows: NDArray[np.intp]
    group: NDArray[np.intp]
    useful: NDArray[np.uint32]
    within: NDArray[np.uint16]
    begin: NDArray[np.intp]
    reach: NDArray[np.float64]

    @classmethod
    def of(
        cls,
        situation: Situation,
        tables: CardTables,
        bits: RackBits,
        masks: NDArray[np.uint32],
        rows: NDArray[np.intp],
    ) -> Losses:
        """Value some targets after each of (P,) sets of tiles, each with the lower copies of its kinds."""
        at, held, unseen = bits.positions, situation.held, situation.unseen[:N_NATURALS]
        plain, grouped = tables.plain[rows], tables.grouped[rows]
        # Of each kind the copies beyond those spare, which go first.
        spare = held[at] - np.minimum(held[at], plain[:, at] + grouped[:, at])
        serves = spare[:, bits.kind_of] <= bits.copy_before
        useful, group = np.unique(serves @ (1 << np.arange(bits.size)), return_inverse=True)

        # The losses of each group where they are written down, packed; then those met, numbered.
        low, high = (_PACKED[useful[:, None] >> half & _LOW, masks >> half & _LOW] for half in (0, _HALF))
        room = 1 << np.bitwise_count(useful).astype(np.intp)
        first = np.cumsum(room) - room
        place = (high << np.bitwise_count(useful & _LOW)[:, None]) + low + first[:, None]
        written = np.full(room.sum(), -1, np.int16)
        written[place] = useful[:, None] & masks
        met = written >= 0
        number = np.cumsum(met, dtype=np.int32) - 1
        sizes = np.add.reduceat(met, first, dtype=np.intp)
        begins = np.cumsum(sizes) - sizes

        many = sizes[group]
        begin = np.cumsum(many) - many
        target = np.repeat(np.arange(len(rows)), many)
        lost = written[met][np.arange(len(target)) + (begins[group] - begin)[target]]

        of_kind = bits.kind_of[:, None] == np.arange(len(bits.kinds))

        def lack(pairs: NDArray[np.intp]) -> NDArray[np.int8]:
            gone = bits.used(lost[pairs]) @ of_kind
            kept = np.repeat(held[None], len(pairs), axis=0)
            kept[:, at] -= np.where(gone > 0, gone + spare[target[pairs]], 0).astype(np.int8)
            return missing(plain[target[pairs]], grouped[target[pairs]], kept)

        own, rest = _signatures_after(plain, grouped, situation, bits, target, lost)
        demands = Demands(own, rest, tables.concealed[rows][target], lack)
        reach = reach_of(demands, situation.outlook, unseen)
        within = (number[place] - begins[:, None]).astype(np.uint16)
        return cls(rows, group, useful.astype(np.uint32), within, begin, reach)

    def after(self, index: int) -> NDArray[np.float64]:
        """Return (n,) reach after one of the sets."""
        reach: NDArray[np.float64] = self.reach[self.begin + self.within[self.group, index]]
        return reach

    def best(
        self, hand: NDArray[np.int32], sets: NDArray[np.intp] | slice
    ) -> tuple[NDArray[np.intp], NDArray[np.uint32], NDArray[np.float64]]:
        """Return what the best target of each hand and group is worth after some of the sets.

        Takes the (T,) hand of each of the card's targets, ascending. Returns (C,) hand and (C,) useful bits
        of each pair that occurs, the hands ascending; (C, p) reach.
        """
        hand = hand[self.rows]
        pairs, pair_of = np.unique(hand.astype(np.intp) * len(self.useful) + self.group, return_inverse=True)
        hands, groups = np.divmod(pairs, len(self.useful))
        many = np.diff(self.begin, append=len(self.reach))
        sizes = np.zeros(len(pairs), np.intp)
        sizes[pair_of] = many
        begin = np.cumsum(sizes) - sizes
        most = np.zeros(sizes.sum())
        place = np.arange(len(self.reach)) + np.repeat(begin[pair_of] - self.begin, many)
        np.maximum.at(most, place, self.reach)
        return hands, self.useful[groups], most[begin[:, None] + self.within[groups][:, sets]]


def _signatures_after(
    plain: NDArray[np.int8],
    grouped: NDArray[np.int8],
    situation: Situation,
    bits: RackBits,
    target: NDArray[np.intp],
    lost: NDArray[np.int16],
) -> list[NDArray[np.uint64]]:
    """Return the signatures, own and rest, of targets after losses: each bit lost changes them by so much."""
    held, unseen = situation.held, situation.unseen[:N_NATURALS]
    kind = bits.positions[bits.kind_of]
    wanted, kept = (plain[:, kind], grouped[:, kind]), held[kind] - bits.copy_before.astype(np.int8)
    before, after = (numbers(missing(*wanted, each), unseen[kind]) for each in (kept, kept - np.int8(1)))
    changes = [now - was for was, now in zip(before, after, strict=True)]
    found = [start[target] for start in signatures(missing(plain, grouped, held), unseen)]
    for bit in range(bits.size):
        loses = np.flatnonzero(lost >> bit & 1)
        for total, change in zip(found, changes, strict=True):
            total[loses] += change[target[loses], bit]
    return found


def _blocks(
    tables: CardTables, bits: RackBits, sets: int, size: int, rows: NDArray[np.intp]
) -> Iterator[NDArray[np.intp]]:
    """Split targets up so that neither their losses nor their pairs with sets are too many at once."""
    most = np.cumsum(loss_counts(tables, bits, size, rows))
    cuts = [0]
    while cuts[-1] < len(rows):
        before = most[cuts[-1] - 1] if cuts[-1] else 0
        by_losses = int(np.searchsorted(most, before + _BLOCK_LOSSES, side="right"))
        cuts.append(max(cuts[-1] + 1, min(by_losses, cuts[-1] + _BLOCK_PAIRS // sets)))
    return (rows[begin:end] for begin, end in pairwise(cuts))


def loss_counts(
    tables: CardTables, bits: RackBits, size: int, rows: NDArray[np.intp] | slice
) -> NDArray[np.int64]:
    """Return (n,) how many distinct losses some targets have at most when up to ``size`` tiles go."""
    at = bits.positions
    wanted = tables.plain[rows][:, at] + tables.grouped[rows][:, at]
    useful = np.minimum(np.array(bits.counts, np.int8), wanted).sum(axis=1, dtype=np.intp)
    ways = np.array([sum(comb(served, lost) for lost in range(size + 1)) for served in range(bits.size + 1)])
    counts: NDArray[np.int64] = ways[useful]
    return counts


@dataclass(frozen=True, eq=False)
class Score:
    """What is left after some tiles went; strength and expected hands as of `Valued`.

    Attributes:
        reach: (H,) reach of each hand that counts, 0 for the others.
        target: (H,) index of the target that gives it, among the card's targets.
    """

    passed: tuple[Tile, ...]
    reach: NDArray[np.float64]
    target: NDArray[np.intp]
    strength: float
    expected: float


def _score(
    passed: tuple[Tile, ...],
    tables: CardTables,
    weights: NDArray[np.float64],
    objective: Objective,
    reach: NDArray[np.float64],
) -> Score:
    """Score hands by the (T,) reach of targets; the first of equally good targets stands for a hand."""
    best = np.maximum.reduceat(reach, tables.first_of_hand())
    good = np.flatnonzero(reach >= best[tables.hand] * (1 - _ALIKE))
    target = good[np.searchsorted(tables.hand[good], np.arange(len(weights)))]
    counted = np.where(weights > 0, best, 0.0)
    strength = float(objective.counted(counted) @ weights)
    return Score(passed, counted, target, strength, float(counted @ weights))


def score(
    situation: Situation,
    tables: CardTables,
    weights: NDArray[np.float64],
    passed: Iterable[Tile],
    objective: Objective = Objective.STRENGTH,
) -> Score:
    """Score the rack without some tiles straight from reach, without the table; (H,) weights as its own."""
    gone = tuple(passed)
    reach = situation.reach(tables, situation.held - counts_of(gone)[:N_NATURALS])
    return _score(gone, tables, weights, objective, reach)


@dataclass(frozen=True)
class Valued:
    """A pass and what it leaves: strength by the objective, and expected hands, whatever the objective."""

    passed: tuple[Tile, ...]
    strength: float
    expected: float

    @property
    def parts(self) -> tuple[tuple[Tile, ...], float, float]:
        """Its parts in order, for what says more of a pass."""
        return self.passed, self.strength, self.expected


@dataclass(frozen=True, eq=False)
class PassTable:
    """Every legal pass of one size, valued.

    Attributes:
        weights: (H,) weights of the hands; those of weight 0 do not count.
        masks: (P,) the passes as bit sets, at most 364 of three tiles, in the fixed order of tiles.
        reach: (H, P) reach of each hand after each pass, 0 for hands that do not count.
        losses: The targets of the hands that count after each pass and, last, after none, in blocks; none
            where only the passes' worth is wanted.
    """

    situation: Situation
    tables: CardTables
    weights: NDArray[np.float64]
    objective: Objective
    bits: RackBits
    masks: NDArray[np.uint32]
    reach: NDArray[np.float64]
    losses: tuple[Losses, ...]

    @classmethod
    def of(
        cls,
        question: Question,
        *,
        size: int | None = None,
        situation: Situation | None = None,
        worth_only: bool = False,
    ) -> PassTable:
        """Value every pass of a question's rack, whatever its limits on the pass.

        A size and a situation stand in place of the question's. Nothing is kept of targets, a hundred
        megabytes with many passes, where the passes' worth is all that is wanted.

        Raises:
            FaultyInputError: limits that name what the card does not have, or leave no hand.
        """
        situation = situation or question.situation
        tables, weights = tables_of(question.card), hand_weights(question.card, question.limits)
        bits = RackBits.of(question.situation.held)
        masks = bits.passes(question.tiles_given if size is None else size)
        rows = np.flatnonzero(weights[tables.hand] > 0)
        every = np.append(masks, np.uint32(0))
        reach = np.zeros((len(weights), len(masks)))
        kept = []
        for block in _blocks(tables, bits, len(every), int(masks[0]).bit_count(), rows):
            check_stop()
            losses = Losses.of(situation, tables, bits, every, block)
            hands, _, worth = losses.best(tables.hand, slice(None))
            starts = np.flatnonzero(np.diff(hands, prepend=-1))
            # A hand may go on in the next block.
            best = np.maximum.reduceat(worth[:, :-1], starts, axis=0)
            reach[hands[starts]] = np.maximum(reach[hands[starts]], best)
            if not worth_only:
                kept.append(losses)
        return cls(situation, tables, weights, question.objective, bits, masks, reach, tuple(kept))

    @cached_property
    def expected(self) -> NDArray[np.float64]:
        """(P,) expected hands after each pass, whatever the objective."""
        total: NDArray[np.float64] = self.weights @ self.reach
        return total

    @cached_property
    def _counted(self) -> NDArray[np.float64]:
        return self.objective.counted(self.reach)

    @cached_property
    def strength(self) -> NDArray[np.float64]:
        """(P,) what each pass is worth by the objective."""
        total: NDArray[np.float64] = self.weights @ self._counted
        return total

    @cached_property
    def unit(self) -> float:
        """One part in `PARTS` of the most that a hand is worth.

        That is the greatest weight for the plain sum, as if a hand were certain. Small chances weighted by
        themselves would be lost beside it, so for strength it is what some pass leaves some hand at most.
        """
        most = self.weights if self.objective is Objective.SUM else self.weights[:, None] * self._counted
        return (float(most.max(initial=0.0)) or 1.0) / PARTS

    @property
    def resolution(self) -> float:
        """Differences in strength up to this are rounding, which is half a unit for each hand of a pass."""
        return len(self.weights) * self.unit

    def in_units(self, unit: float) -> NDArray[np.int64]:
        """Return (H, P) what each hand is worth after each pass, in whole units."""
        units: NDArray[np.int64] = np.rint((self.weights / unit)[:, None] * self._counted).astype(np.int64)
        return units

    @cached_property
    def hand_units(self) -> NDArray[np.int64]:
        """(H, P) what each hand is worth after each pass, in the table's own units."""
        return self.in_units(self.unit)

    @cached_property
    def units(self) -> NDArray[np.int64]:
        """(P,) what each pass is worth in units."""
        total: NDArray[np.int64] = self.hand_units.sum(axis=0)
        return total

    @cached_property
    def order(self) -> NDArray[np.intp]:
        """Indexes of the passes, the one worth most first; of equals the first in the order of tiles."""
        return np.argsort(-self.units, kind="stable")

    @cached_property
    def before(self) -> Score:
        """The whole rack."""
        return self.score(-1)

    def options(
        self, passes: NDArray[np.intp]
    ) -> tuple[NDArray[np.intp], NDArray[np.uint32], NDArray[np.float64]]:
        """Return what some passes leave of each hand by the tiles that serve it; see `Losses.best`."""
        blocks = [losses.best(self.tables.hand, passes) for losses in self.losses]
        hands, useful, worth = (np.concatenate(parts) for parts in zip(*blocks, strict=True))
        return hands, useful, worth

    def tiles(self, index: int) -> tuple[Tile, ...]:
        """Return the tiles of a pass, in the fixed order."""
        return self.bits.tiles(int(self.masks[index]))

    def valued(self, index: int) -> Valued:
        """Return a pass and what it leaves."""
        return Valued(self.tiles(index), float(self.strength[index]), float(self.expected[index]))

    def index_of(self, passed: Iterable[Tile]) -> int:
        """Return the index of a pass; ValueError if it is not one of the table's."""
        masks: list[int] = self.masks.tolist()
        return masks.index(self.bits.mask_of(passed))

    def score(self, index: int) -> Score:
        """Return what a pass leaves, -1 for none, with the target that each hand then goes for."""
        passed = () if index < 0 else self.tiles(index)
        reach = np.zeros(len(self.tables.hand))
        for losses in self.losses:
            reach[losses.rows] = losses.after(index)
        return _score(passed, self.tables, self.weights, self.objective, reach)

    def keeps(self, index: int, limits: Iterable[Limit]) -> bool:
        """Return whether a pass keeps every limit."""
        held = Counter(self.situation.rack.tiles)
        outcome = Outcome(
            Counter(self.tiles(index)), held, self.reach[:, index], self.tables.card.family_of_hand
        )
        return all(limit.holds(outcome) for limit in limits)

    def ranked(self, limits: tuple[Limit, ...] = ()) -> Iterator[int]:
        """Yield the indexes of the passes that keep some limits, in order."""
        return (index for index in self.order.tolist() if not limits or self.keeps(index, limits))
