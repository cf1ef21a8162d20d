"""The one-person drill: 14 tiles, and a face-down heap without jokers in place of the other players."""

from __future__ import annotations

from dataclasses import dataclass

from solver.arrivals import Arrivals
from solver.rounds import PASS_SIZE

DRILL_RACK = 14
MAX_EXCHANGES = 12
MAX_THEN_DRAWS = 60
# A heap has no jokers and nothing is claimed, so more draws are needed than at a table for a rack to be worth
# the same. Measured on 100 random racks, three exchanges left: on the full card 0.607 expected hands with 37,
# 0.690 with 38, 0.781 with 39, and 0.668 at a table before the first right pass; on the small card 0.234 with
# 38, and 0.170 at a table, which 35 or 36 would match.
THEN_DRAWS = 38


@dataclass(frozen=True)
class Drill:
    """What a drill still has to come.

    Attributes:
        exchanges_left: Exchanges with the heap still to come, this one included, 1 to 12.
        then_draws: Tiles drawn from the heap once the exchanges are over, 0 to 60. 0 ends the drill there:
            only what the exchanges complete then counts, which is next to nothing from most racks. With
            the default a rack is worth about what it is at a table.
    """

    exchanges_left: int
    then_draws: int = THEN_DRAWS

    def arrivals(self, give: int) -> Arrivals:
        """Return the arrivals: the heap's tiles only, none of them a joker, nothing to claim.

        Args:
            give: Own tiles given now (0-3), so as many come in now.
        """
        later = PASS_SIZE * (self.exchanges_left - 1)
        return Arrivals(charleston=give + later, draws=self.then_draws, claims=0)
