"""What it costs to lack tiles, as minus log chance: a quick guide for play, not the exact reach.

Kinds are taken to be independent, which the exact formula does not; players at a simulated table choose
by this because they look at every target after every tile.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.card import HAND_SIZE
from solver.reach.binomials import binomial

MAX_LACK = HAND_SIZE + 1
_UNSEEN = 9
# What cannot come naturally, or only as a joker from the wall.
IMPOSSIBLE = 60.0
_BY_JOKER = 3.0
# Habits that make games end about as soon as real ones do, chosen on 40 games each of nine pairs: arrivals
# for groups as a multiple of own draws, and what each missing tile costs besides.
_GROUP_ARRIVALS = 2.0
_EACH_TILE = 2.0
# Costs are whole multiples of this, so that sums are exact in any order and ties are ties on every machine.
_GRAIN = 2.0**-20


@dataclass(frozen=True, eq=False)
class Costs:
    """Cost tables for one horizon.

    Attributes:
        plain: (lack, unseen) cost of lacking so many in singles and pairs.
        grouped: (lack, unseen) cost of lacking so many in groups, claims allowed.
        hidden: The same when claims are of no use.
    """

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
    """Return the costs when so many tiles are unseen and a player expects so many own draws.

    Args:
        pool: Unseen tiles, 1-152.
        draws: Own draws to come, 0 or more; twice as many discards of others are of possible use.
    """
    return Costs(
        _table(pool, draws, jokers=False),
        _table(pool, round(_GROUP_ARRIVALS * draws), jokers=True),
        _table(pool, draws, jokers=True),
    )
