"""Counting polynomials of the kinds a target still lacks.

A kind's state is (missing in singles and pairs, missing in groups, copies unseen). Three sorts:

- *own*: missing only in singles and pairs. Its polynomial counts ways by x, the naturals among own
  arrivals; x must cover what is missing.
- *shared*: missing only in groups. By k, the naturals among all arrivals, and u, the joker shortage
  ``max(0, missing - k)``.
- *mixed*: missing in both. What is missing in singles and pairs must come among own arrivals, and only
  what comes beyond that, from either source, serves the group.
"""

from __future__ import annotations

from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray

MAX_JOKERS = 8
Own = tuple[int, int]
Shared = tuple[int, int]
Mixed = tuple[int, int, int]


@lru_cache(maxsize=20_000)
def own_polynomial(states: tuple[Own, ...]) -> NDArray[np.float64]:
    """Return ways by x for own kinds, each (missing, unseen); length 1 + sum of unseen."""
    if not states:
        return np.ones(1)
    missing, unseen = states[-1]
    factor = np.array([float(comb(unseen, x)) if x >= missing else 0.0 for x in range(unseen + 1)])
    return np.convolve(own_polynomial(states[:-1]), factor)


@lru_cache(maxsize=50_000)
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
    """Return ways by (k, jokers at hand v): a shortage of at most v is covered.

    Args:
        states: Shared kinds, each (missing, unseen).

    Returns:
        (1 + sum of unseen, 9); column v sums the shortages 0..v.
    """
    return np.cumsum(_shared_by_shortage(states), axis=1)


@lru_cache(maxsize=2_000)
def mixed_ways(states: tuple[Mixed, ...], claims: bool) -> tuple[tuple[int, int, int, float], ...]:
    """Return the ways of the mixed kinds as (own arrivals x, claims y, shortage u, number of ways).

    Args:
        states: Mixed kinds, each (missing in singles and pairs, missing in groups, unseen).
        claims: Whether claims are of use at all.
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
