"""The arrival kernel: chances of the arrivals that a target's counting polynomials meet.

All formulas are elementary counting without replacement: with jokers held apart, own arrivals A and
claims c are two disjoint random sets of the N unseen naturals, ``C(N, A+c) * C(A+c, A)`` equally likely
pairs. Jokers among the draws are hypergeometric. Every term is positive, so nothing cancels and floats
keep some 1e-14 relative accuracy.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from solver.arrivals import Arrivals
from solver.reach.binomials import binomial
from solver.reach.polynomials import MAX_JOKERS, Mixed, mixed_ways


@dataclass(frozen=True)
class Outlook:
    """What the chances depend on besides the target: the pool and the arrivals.

    Attributes:
        naturals: Unseen naturals N.
        jokers: Unseen jokers Q, 0-8.
        jokers_held: Jokers in the rack, 0-8.
        arrivals: Tiles to come; ``charleston + draws + claims`` is at most N.
    """

    naturals: int
    jokers: int
    jokers_held: int
    arrivals: Arrivals


def joker_chances(outlook: Outlook) -> NDArray[np.float64]:
    """Return P(j jokers among the draws), j = 0..8 (hypergeometric)."""
    draws = outlook.arrivals.draws
    naturals = outlook.naturals - outlook.arrivals.charleston
    j = np.arange(MAX_JOKERS + 1)
    ways = binomial(outlook.jokers, j) * binomial(naturals, draws - j)
    chances: NDArray[np.float64] = ways / binomial(naturals + outlook.jokers, draws)
    return chances


def _ways(own: int, shared: int, others: int, arriving: int, claims: int) -> NDArray[np.float64]:
    """Count completions of the arrivals given x own tiles and k shared tiles among them.

    Args:
        own: Unseen tiles of own kinds; of those that did not arrive, y are among the claims.
        shared: Unseen tiles of shared kinds.
        others: Unseen tiles of kinds the target does not lack.
        arriving: Own arrivals A.
        claims: Claims c.

    Returns:
        (own + 1, shared + 1): the sum over y of C(own - x, y) * C(others, T - k) * C(T, A - x), where
        T = A - x + c - y is how many arrivals are not of own kinds.
    """
    if arriving < 0 or claims < 0:
        return np.zeros((own + 1, shared + 1))
    x = np.arange(own + 1)[:, None, None]
    k = np.arange(shared + 1)[None, :, None]
    y = np.arange(min(own, claims) + 1)[None, None, :]
    rest = arriving - x + claims - y
    total: NDArray[np.float64] = (
        binomial(own - x, y) * binomial(rest, arriving - x) * binomial(others, rest - k)
    ).sum(axis=2)
    return total


@lru_cache(maxsize=4_000)
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
    arrivals = outlook.arrivals
    others = outlook.naturals - own - shared - sum(unseen for _, _, unseen in mixed)
    result = np.zeros((own + 1, shared + 1, MAX_JOKERS + 1))
    for drawn, chance in enumerate(joker_chances(outlook)):
        if chance == 0.0:
            continue
        arriving = arrivals.charleston + arrivals.draws - drawn
        both = arriving + arrivals.claims
        pairs = binomial(outlook.naturals, both) * binomial(both, arriving)
        for x, y, shortage, ways in mixed_ways(mixed, claims=arrivals.claims > 0):
            left = outlook.jokers_held + drawn - shortage
            if left >= 0:
                counted = _ways(own, shared, others, arriving - x, arrivals.claims - y)
                result[:, :, min(left, MAX_JOKERS)] += (chance * ways / pairs) * counted
    return result
