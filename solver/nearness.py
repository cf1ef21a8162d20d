"""How near the targets are: tiles away, jokers used where they may be."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from solver.card_tables import CardTables
from solver.reach.states import missing


def tiles_away(tables: CardTables, held: NDArray[np.int8], jokers: int) -> NDArray[np.int64]:
    """Return (T,) how many tiles each target lacks.

    Args:
        tables: The card.
        held: (35,) naturals held.
        jokers: Jokers held; they stand only in groups of three or more.
    """
    lack = missing(tables.plain, tables.grouped, held)
    in_groups = lack.grouped.sum(axis=1, dtype=np.int64)
    away: NDArray[np.int64] = lack.plain.sum(axis=1, dtype=np.int64) + np.maximum(in_groups - jokers, 0)
    return away
