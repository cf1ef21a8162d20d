"""Exact pruning of passes by bounds, before the model is built.

The worth of a pass never grows when more tiles go. So the worth of giving just two tiles bounds every
pass that holds both, and the n-th best of some good passes, found greedily from the best pairs, bounds
from below what the n best passes are worth. A pair worth less than that is in none of them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from solver.options import Options
from solver.rack_bits import RackBits

_PAIRS_GROWN = 12
# Far above the rounding of sums of floats, far below anything the answer resolves.
_SLACK = 1e-8


@dataclass(frozen=True, eq=False)
class Candidates:
    """What the bounds leave.

    Attributes:
        masks: Good passes as bit sets, best first; every one keeps the limits. May be empty.
        dead: Bits that are in no pass worth finding.
        hopeless: Pairs of the other bits that are not together in one.
    """

    masks: tuple[int, ...]
    dead: int
    hopeless: tuple[tuple[int, int], ...]

    def alive(self, passes: NDArray[np.uint32]) -> NDArray[np.uint32]:
        """Return those of some passes that may be among the best."""
        left = passes & np.uint32(self.dead) == 0
        for first, second in self.hopeless:
            both = np.uint32(1 << first | 1 << second)
            left &= passes & both != both
        alive: NDArray[np.uint32] = passes[left]
        return alive


def worths(options: Options, weights: NDArray[np.float64], masks: NDArray[np.uint32]) -> NDArray[np.float64]:
    """Return the weighted worth above the floors left by each set of bits.

    Args:
        options: Options, sorted by hand.
        weights: (H,) weights of the hands.
        masks: (m,) sets of bits that go, each with the lower copies of its kinds.

    Returns:
        (m,) expected hands.
    """
    total: NDArray[np.float64] = hand_gains(options, masks) @ weights[_hands(options)]
    return total


def _hands(options: Options) -> NDArray[np.int32]:
    hands: NDArray[np.int32] = np.unique(options.hand)
    return hands


def hand_gains(options: Options, masks: NDArray[np.uint32]) -> NDArray[np.float64]:
    """Return (m, hands with options) reach above the floor left to each hand."""
    if not len(options.hand):
        return np.zeros((len(masks), 0))
    left = (options.forbidden[None, :] & masks[:, None]) == 0
    gains = np.where(left, options.reach - options.floor[options.hand], 0.0)
    starts = np.flatnonzero(np.diff(options.hand, prepend=-1))
    best: NDArray[np.float64] = np.maximum.reduceat(gains, starts, axis=1)
    return best


def candidates_of(
    options: Options,
    weights: NDArray[np.float64],
    bits: RackBits,
    give: int,
    wanted: int,
    allowed: Callable[[int], bool],
) -> Candidates:
    """Return good passes and what the bounds rule out of the best ``wanted``.

    Args:
        options: Options of the hands.
        weights: (H,) weights of the hands.
        bits: Encoding of the rack.
        give: Tiles that go, 0-3.
        wanted: How many of the best passes must survive, 1 or more.
        allowed: Whether a pass keeps every limit.
    """
    closed = np.array(
        [bits.up_to(i, copy) for i, count in enumerate(bits.counts) for copy in range(1, count + 1)],
        np.uint32,
    )
    if give < 2:
        grown = closed[np.bitwise_count(closed) == 1] if give else np.zeros(1, np.uint32)
        return Candidates(_best(options, weights, grown, allowed)[0], 0, ())
    first, second = np.triu_indices(bits.size, 1)
    both = closed[first] | closed[second]
    fits = np.bitwise_count(both) <= give
    first, second, both = first[fits], second[fits], both[fits]
    bound = worths(options, weights, both)
    grown = both[np.argsort(-bound, kind="stable")[:_PAIRS_GROWN]]
    if give > 2:
        grown = np.unique((grown[:, None] | closed[None, :]).ravel())
    masks, values = _best(options, weights, grown[np.bitwise_count(grown) == give], allowed)
    if len(masks) < wanted:
        return Candidates(masks, 0, ())
    hopeful = bound >= values[wanted - 1] - _SLACK
    together = set(zip(first[hopeful].tolist(), second[hopeful].tolist(), strict=True))
    alive = sorted({bit for pair in together for bit in pair})
    dead = ((1 << bits.size) - 1) & ~sum(1 << bit for bit in alive)
    return Candidates(masks, dead, tuple(pair for pair in combinations(alive, 2) if pair not in together))


def _best(
    options: Options, weights: NDArray[np.float64], masks: NDArray[np.uint32], allowed: Callable[[int], bool]
) -> tuple[tuple[int, ...], list[float]]:
    values = worths(options, weights, masks)
    order = [index for index in np.argsort(-values, kind="stable").tolist() if allowed(int(masks[index]))]
    return tuple(int(masks[index]) for index in order), [float(values[index]) for index in order]
