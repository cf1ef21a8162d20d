"""The re-scorer: what any kept tiles are worth, straight from reach, without options or CP-SAT."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patterns.tiles import Tile
from solver.card_tables import N_NATURALS, CardTables
from solver.situation import Situation, counts_of
from solver.terms.limit import Limit, Outcome

_ALIKE = 1e-12


@dataclass(frozen=True, eq=False)
class Score:
    """What is left after some tiles went.

    Attributes:
        passed: The tiles that went.
        reach: (H,) reach of each hand that counts, 0 for the others.
        target: (H,) index of the target that gives it, among the card's targets.
        expected: Weighted sum of reach.
    """

    passed: tuple[Tile, ...]
    reach: NDArray[np.float64]
    target: NDArray[np.intp]
    expected: float


def score(
    situation: Situation, tables: CardTables, weights: NDArray[np.float64], passed: Iterable[Tile]
) -> Score:
    """Score the rack without some tiles. The first of equally good targets stands for a hand.

    Args:
        situation: Rack, pool and arrivals.
        tables: The card.
        weights: (H,) weights; hands of weight 0 do not count.
        passed: Tiles of the rack that go.
    """
    return scores(situation, tables, weights, [tuple(passed)])[0]


def scores(
    situation: Situation,
    tables: CardTables,
    weights: NDArray[np.float64],
    passes: Sequence[tuple[Tile, ...]],
) -> list[Score]:
    """Score the rack without each of some passes, 1 or more, as `score`: their work on reach is shared."""
    kept = situation.held - np.array([counts_of(passed)[:N_NATURALS] for passed in passes])
    starts = tables.first_of_hand()
    found = []
    for passed, reach in zip(passes, situation.reach(tables, kept), strict=True):
        best = np.maximum.reduceat(reach, starts)
        # Targets that are equal but for the last digit are equally good on every machine.
        at = np.flatnonzero(reach >= best[tables.hand] * (1 - _ALIKE))
        target = at[np.searchsorted(tables.hand[at], np.arange(len(starts)))]
        counted = np.where(weights > 0, best, 0.0)
        found.append(Score(passed, counted, target, float(counted @ weights)))
    return found


def keeps(situation: Situation, tables: CardTables, limits: Iterable[Limit], outcome: Score) -> bool:
    """Return whether a scored pass keeps every limit."""
    seen = Outcome(
        Counter(outcome.passed), Counter(situation.rack.tiles), outcome.reach, tables.card.family_of_hand
    )
    return all(limit.holds(seen) for limit in limits)
