"""Counting the ways a target comes true: polynomials of the kinds it lacks, and the arrivals they meet.

A kind's state is (missing in singles and pairs, missing in groups, copies unseen). Three sorts:

- *own*: missing only in singles and pairs. Its polynomial counts ways by x, the naturals among own
  arrivals; x must cover what is missing.
- *shared*: missing only in groups. By k, the naturals among all arrivals, and u, the joker shortage
  ``max(0, missing - k)``.
- *mixed*: missing in both. What is missing in singles and pairs must come among own arrivals, and only
  what comes beyond that, from either source, serves the group.

The arrival kernel holds the chances that go with each. All formulas are elementary counting without
replacement: with jokers held apart, own arrivals A and claims c are two disjoint random sets of the N
unseen naturals, ``C(N, A+c) * C(A+c, A)`` equally likely pairs. Jokers among the draws are hypergeometric.
Every term is positive, so nothing cancels and floats keep some 1e-14 relative accuracy.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray

from patterns.stopping import check_stop
from patterns.tiles import SET_SIZE
from solver.arrivals import Arrivals

MAX_JOKERS = 8
Own = tuple[int, int]
Shared = tuple[int, int]
Mixed = tuple[int, int, int]
_TABLE = np.array([[float(comb(n, k)) for k in range(SET_SIZE + 1)] for n in range(SET_SIZE + 1)])


def binomial(n: NDArray[np.int64] | int, k: NDArray[np.int64] | int) -> NDArray[np.float64]:
    """Return C(n, k) elementwise for n up to 152; 0 where n or k is negative or k exceeds n.

    The largest product formed from these stays below 1e160, far inside the range of a float.
    """
    n, k = np.asarray(n), np.asarray(k)
    inside = (n >= 0) & (k >= 0)
    values: NDArray[np.float64] = np.where(
        inside, _TABLE[np.where(inside, n, 0), np.where(inside, k, 0)], 0.0
    )
    return values


# What is remembered here and in the caches below is some 70 MiB at the very most, with tiles and arrivals of
# the greatest numbers there are; with the practice cards it is a few.
@lru_cache(maxsize=5_000)
def own_polynomial(states: tuple[Own, ...]) -> NDArray[np.float64]:
    """Return ways by x for own kinds, each (missing, unseen); length 1 + sum of unseen."""
    if not states:
        return np.ones(1)
    missing, unseen = states[-1]
    factor = np.array([float(comb(unseen, x)) if x >= missing else 0.0 for x in range(unseen + 1)])
    return np.convolve(own_polynomial(states[:-1]), factor)


@lru_cache(maxsize=6_000)
def _shared_by_shortage(states: tuple[Shared, ...]) -> NDArray[np.float64]:
    if not states:
        start = np.zeros((1, MAX_JOKERS + 1))
        start[0, 0] = 1.0
        return start
    missing, unseen = states[-1]
    before = _shared_by_shortage(states[:-1])
    length = before.shape[0]
    after = np.zeros((length + unseen, MAX_JOKERS + 1))
    for k in range(unseen + 1):
        shortage = max(0, missing - k)
        if shortage <= MAX_JOKERS:
            after[k : k + length, shortage:] += comb(unseen, k) * before[:, : MAX_JOKERS + 1 - shortage]
    return after


def shared_polynomial(states: tuple[Shared, ...]) -> NDArray[np.float64]:
    """Return ways by (k, jokers at hand v) for shared kinds, each (missing, unseen); (1 + sum of unseen, 9).

    Column v sums the shortages 0..v: a shortage of at most v is covered.
    """
    return np.cumsum(_shared_by_shortage(states), axis=1)


@lru_cache(maxsize=100)
def mixed_ways(states: tuple[Mixed, ...], claims: bool) -> tuple[tuple[int, int, int, float], ...]:
    """Return the ways of the mixed kinds as (own arrivals x, claims y, shortage u, number of ways).

    States are (missing in singles and pairs, missing in groups, unseen); claims may be of no use at all.
    """
    totals: dict[tuple[int, int, int], float] = {(0, 0, 0): 1.0}
    for missing, in_groups, unseen in states:
        grown: dict[tuple[int, int, int], float] = {}
        for (x0, y0, u0), ways0 in totals.items():
            for x in range(missing, unseen + 1):
                for y in range(unseen - x + 1 if claims else 1):
                    shortage = u0 + max(0, in_groups - (x - missing) - y)
                    if shortage <= MAX_JOKERS:
                        key = (x0 + x, y0 + y, shortage)
                        ways = ways0 * comb(unseen, x) * comb(unseen - x, y)
                        grown[key] = grown.get(key, 0.0) + ways
        totals = grown
    return tuple((*key, ways) for key, ways in totals.items())


@dataclass(frozen=True)
class Outlook:
    """What the chances depend on besides the target: unseen naturals and jokers, jokers held, and arrivals.

    For every length of play ``charleston + draws + claims`` is at most the number of naturals.
    """

    naturals: int
    jokers: int
    jokers_held: int
    arrivals: Arrivals


def joker_chances(outlook: Outlook, draws: int) -> NDArray[np.float64]:
    """Return P(j jokers among so many draws), j = 0..8 (hypergeometric)."""
    naturals = outlook.naturals - outlook.arrivals.charleston
    j = np.arange(MAX_JOKERS + 1)
    ways = binomial(outlook.jokers, j) * binomial(naturals, draws - j)
    chances: NDArray[np.float64] = ways / binomial(naturals + outlook.jokers, draws)
    return chances


@lru_cache(maxsize=150)
def _splits(own: int, arriving: int, claims: int) -> NDArray[np.float64]:
    """Count ways to share arrivals (own ones A, claims c) out between oneself and the claims.

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
    for length in outlook.arrivals.lengths:
        ways_of_mixed = mixed_ways(mixed, claims=length.claims > 0)
        for drawn, chance in enumerate(joker_chances(outlook, length.draws).tolist()):
            arriving = outlook.arrivals.charleston + length.draws - drawn
            if chance == 0.0:
                continue
            both = arriving + length.claims
            pairs = comb(outlook.naturals, both) * comb(both, arriving)
            check_stop()
            for x, y, shortage, ways in ways_of_mixed:
                left = outlook.jokers_held + drawn - shortage
                if left >= 0 and x <= arriving and y <= length.claims:
                    splits = _splits(own, arriving - x, length.claims - y)
                    result[min(left, MAX_JOKERS), :, : splits.shape[1]] += (
                        length.share * chance * ways / pairs
                    ) * splits
    return result


@lru_cache(maxsize=64)
def kernel(outlook: Outlook, own: int, shared: int, mixed: tuple[Mixed, ...]) -> NDArray[np.float64]:
    """Return the chance that goes with each (x, k, v): own tiles, shared tiles, jokers left for those.

    Reach is the sum over x, k, v of own polynomial[x] * shared polynomial[k, v] * kernel[x, k, v]. Own and
    shared are unseen tiles of the target's kinds; the ways of its mixed kinds are summed here. For a
    concealed hand the claims must be 0. The (own + 1, shared + 1, 9) array lies by (k, v), then x in memory.
    """
    shared_out = _shared_out(outlook, own, mixed)
    others = outlook.naturals - own - shared - sum(unseen for _, _, unseen in mixed)
    rest = np.arange(shared_out.shape[2])[:, None]
    result: NDArray[np.float64] = shared_out @ binomial(others, rest - np.arange(shared + 1))
    return np.ascontiguousarray(result.transpose(2, 0, 1)).transpose(2, 0, 1)
