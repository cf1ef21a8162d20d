"""Forecasts: chances that came true at simulated tables, stated beside the reach that passes go by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solver.arrivals import Coming
from solver.situation import CardTables, Situation


def union(reach: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the chance that some hand is completed, hands taken to be independent.

    Args:
        reach: (..., hands) reach of each hand under one length of play.

    Returns:
        (...) chances. Hands share tiles, so it is a guide and not exact; the lengths of play, fitted to
        games, take up what it misses.
    """
    chance: NDArray[np.float64] = 1 - np.prod(1 - reach, axis=-1)
    return chance


def reach_of_targets(
    situation: Situation,
    tables: CardTables,
    kept: NDArray[np.int8],
    targets: NDArray[np.intp],
    coming: Coming,
) -> NDArray[np.float64]:
    """Return the reach of some targets under other arrivals than the situation's.

    Args:
        situation: Rack and pool.
        tables: The card.
        kept: (35,) naturals kept.
        targets: (n,) indexes among the card's targets.
        coming: Tiles to come.

    Returns:
        (n,) probabilities.
    """
    return replace(situation, arrivals=coming).reach(tables, kept, targets)


def some_hand(
    situation: Situation, tables: CardTables, kept: NDArray[np.int8], targets: NDArray[np.intp]
) -> float:
    """Return the chance that one of some targets of different hands is completed.

    For each length of play the targets are taken to be independent, then the lengths are mixed. With the
    default arrivals this came true at simulated tables but where one hand is far ahead
    (tests/benchmarks/RESULTS.md).

    Args:
        situation: Rack, pool and arrivals.
        tables: The card.
        kept: (35,) naturals kept.
        targets: (n,) the best target of each hand that counts.
    """
    return float(
        sum(
            share * union(reach_of_targets(situation, tables, kept, targets, part))
            for share, part in situation.arrivals.parts
        )
    )
