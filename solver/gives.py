"""What a pass gives away: how much stronger the tiles make the rack of whoever gets them, on average.

Nobody knows the receiver's rack. So racks are dealt from the whole set, each keeps ten of its thirteen tiles
by a plain habit, and hands count as in the objective. How much one tile adds is not worked out again for
every rack: a tile that a target lacks makes what the target counts for greater by one factor, whatever
target and tile. Then a rack grows by the mean, over its targets by what they count for, of the factor to the
power of useful tiles. The factors are those that come nearest to exact reach with and without the tiles, on
racks of careful players after their first pass, on both practice cards (tests/benchmarks/RESULTS.md).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, once_a_card
from patterns.rack import Pile
from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.ahead import incoming
from solver.arrivals import default_arrivals
from solver.deals import shuffled_wall
from solver.reach.evaluate import missing
from solver.rounds import PASS_SIZE, Round
from solver.situation import (
    N_NATURALS,
    NATURALS,
    CardTables,
    Objective,
    Situation,
    counts_of,
    tables_of,
    tiles_away,
)

# Parts this luck from that of deals and samples.
_LUCK = 0x61_7E5A
RACKS = 24
_PASSES, _DEALT, _NEAR = 16, 13, 10
# How many times as much a target counts for with a tile that it lacked: see above.
_USEFUL = {Objective.SUM: 3.75, Objective.STRENGTH: 5.75}
# The three that come in are those of the pass, or none.
_COMING = default_arrivals(Round.FIRST_RIGHT, 0)


@dataclass(frozen=True, eq=False)
class Receivers:
    """Racks that may get a pass, of one card: what they keep of thirteen tiles; those with any reach.

    Attributes:
        reach: (racks, T) reach of each target.
        lacks: (racks, T, 35) naturals that each target lacks.
    """

    racks: tuple[Pile, ...]
    reach: NDArray[np.float64]
    lacks: NDArray[np.int8]

    def gain(self, passed: Iterable[Tile], objective: Objective) -> float:
        """Return by which share some naturals make a rack stronger: the mean over the racks of its log."""
        if not self.racks:
            return 0.0
        useful = np.zeros(self.reach.shape, np.int64)
        for tile, copies in Counter(passed).items():
            useful += np.minimum(self.lacks[:, :, tile.position], copies)
        counts = objective.counted(self.reach)
        stronger = (counts * _USEFUL[objective] ** useful).sum(axis=1) / counts.sum(axis=1)
        return float(np.expm1(np.log(stronger).mean()))

    @cached_property
    def usual(self) -> dict[Objective, float]:
        """The same of three tiles as others pass them at the first pass, on average, by objective."""
        nothing, exchange = Situation(Pile(()), (), _COMING), [(Round.FIRST_RIGHT, PASS_SIZE)]
        passes = [incoming(nothing, exchange, _LUCK, sample)[0] for sample in range(_PASSES)]
        return {
            objective: float(np.expm1(np.mean([np.log1p(self.gain(passed, objective)) for passed in passes])))
            for objective in Objective
        }


@once_a_card
def receivers(card: Card) -> Receivers:
    """Return racks that may get a pass, the same ones every time; takes as long as a dozen answers."""
    tables = tables_of(card)
    racks, reach, lacks = [], [], []
    for number in range(RACKS):
        check_stop()
        rack = _kept(tables, shuffled_wall(_LUCK, number)[:_DEALT])
        situation = Situation(rack, (), _COMING)
        found = situation.reach(tables, situation.held)
        if found.any():
            racks.append(rack)
            reach.append(found)
            lacks.append(missing(tables.plain, tables.grouped, situation.held).sum(axis=0, dtype=np.int8))
    return Receivers(tuple(racks), np.array(reach), np.array(lacks))


def _kept(tables: CardTables, dealt: list[Tile]) -> Pile:
    """Return what is left of a rack without the three naturals that fewest of the nearest targets want."""
    held = counts_of(dealt)
    away = tiles_away(tables, held[:N_NATURALS], int(held[-1]))
    near = np.argsort(away, kind="stable")[:_NEAR]
    wants = tables.plain[near] + tables.grouped[near]
    copies: Counter[Tile] = Counter()
    ranked = []
    for place, tile in enumerate(dealt):
        if tile in NATURALS:
            copies[tile] += 1
            ranked.append((int((wants[:, tile.position] >= copies[tile]).sum()), place))
    gone = {place for _, place in sorted(ranked)[:PASS_SIZE]}
    return Pile(tuple(tile for place, tile in enumerate(dealt) if place not in gone))
