"""The arrival kernel: chances of the arrivals that a target's counting polynomials meet.

All formulas are elementary counting without replacement: with jokers held apart, own arrivals A and
claims c are two disjoint random sets of the N unseen naturals, ``C(N, A+c) * C(A+c, A)`` equally likely
pairs. Jokers among the draws are hypergeometric. Every term is positive, so nothing cancels and floats
keep some 1e-14 relative accuracy.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray

from solver.arrivals import Arrivals, Coming
from solver.reach.binomials import binomial
from solver.reach.polynomials import MAX_JOKERS, Mixed, mixed_ways


@dataclass(frozen=True)
class Outlook:
    """What the chances depend on besides the target: the pool and the arrivals.

    Attributes:
        naturals: Unseen naturals N.
        jokers: Unseen jokers Q, 0-8.
        jokers_held: Jokers in the rack, 0-8.
        arrivals: Tiles to come; ``charleston + draws + claims`` is at most N for every length of play.
    """

    naturals: int
    jokers: int
    jokers_held: int
    arrivals: Coming


def joker_chances(outlook: Outlook, arrivals: Arrivals) -> NDArray[np.float64]:
    """Return P(j jokers among the draws), j = 0..8 (hypergeometric), for one length of play."""
    draws = arrivals.draws
    naturals = outlook.naturals - arrivals.charleston
    j = np.arange(MAX_JOKERS + 1)
    ways = binomial(outlook.jokers, j) * binomial(naturals, draws - j)
    chances: NDArray[np.float64] = ways / binomial(naturals + outlook.jokers, draws)
    return chances


@lru_cache(maxsize=2_000)
def _splits(own: int, arriving: int, claims: int) -> NDArray[np.float64]:
    """Count ways to share arrivals out between oneself and the claims.

    Args:
        own: Unseen tiles of own kinds.
        arriving: Own arrivals A.
        claims: Claims c.

    Returns:
        (own + 1, A + c + 1): for x own tiles among one's arrivals and T arrivals of other kinds in all,
        C(own - x, y) * C(T, A - x), where y = A - x + c - T own tiles are among the claims.
    """
    x = np.arange(own + 1)[:, None]
    rest = np.arange(arriving + claims + 1)[None, :]
    ways: NDArray[np.float64] = binomial(own - x, arriving - x + claims - rest) * binomial(rest, arriving - x)
    return ways


def _shared_out(outlook: Outlook, own: int, mixed: tuple[Mixed, ...]) -> NDArray[np.float64]:
    """Return (9, own + 1, T) chances by jokers left, x and T (see `_splits`); arguments as `kernel`."""
    result = np.zeros((MAX_JOKERS + 1, own + 1, outlook.arrivals.most + 1))
    for share, arrivals in outlook.arrivals.parts:
        ways_of_mixed = mixed_ways(mixed, claims=arrivals.claims > 0)
        for drawn, chance in enumerate(joker_chances(outlook, arrivals).tolist()):
            arriving = arrivals.charleston + arrivals.draws - drawn
            if chance == 0.0:
                continue
            both = arriving + arrivals.claims
            pairs = comb(outlook.naturals, both) * comb(both, arriving)
            for x, y, shortage, ways in ways_of_mixed:
                left = outlook.jokers_held + drawn - shortage
                if left >= 0 and x <= arriving and y <= arrivals.claims:
                    splits = _splits(own, arriving - x, arrivals.claims - y)
                    result[min(left, MAX_JOKERS), :, : splits.shape[1]] += (
                        share * chance * ways / pairs
                    ) * splits
    return result


def kernel(outlook: Outlook, own: int, shared: int, mixed: tuple[Mixed, ...]) -> NDArray[np.float64]:
    """Return the chance that goes with each (x, k, v): own tiles, shared tiles, jokers left for those.

    Reach is the sum over x, k, v of own polynomial[x] * shared polynomial[k, v] * kernel[x, k, v].

    Args:
        outlook: Pool and arrivals. For a concealed hand its claims must be 0.
        own: Unseen tiles of the target's own kinds.
        shared: Unseen tiles of its shared kinds.
        mixed: States of its mixed kinds, whose ways are summed here.

    Returns:
        (own + 1, shared + 1, 9) array.
    """
    shared_out = _shared_out(outlook, own, mixed)
    others = outlook.naturals - own - shared - sum(unseen for _, _, unseen in mixed)
    rest = np.arange(shared_out.shape[2])[:, None]
    result: NDArray[np.float64] = shared_out @ binomial(others, rest - np.arange(shared + 1))
    return result.transpose(1, 2, 0)


@lru_cache(maxsize=300)
def flat_kernel(outlook: Outlook, own: int, shared: int, mixed: tuple[Mixed, ...]) -> NDArray[np.float64]:
    """Return `kernel` as (9 * (shared + 1), own + 1), for polynomials by (k, v) made flat."""
    chances = kernel(outlook, own, shared, mixed)
    return np.ascontiguousarray(chances.reshape(own + 1, -1).T)
