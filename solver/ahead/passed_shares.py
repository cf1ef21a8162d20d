"""How readily others pass each sort of tile they hold: measured at simulated tables.

Provenance: PLACEHOLDER
"""

from __future__ import annotations

from solver.rounds import Round

# Thousandths of the tiles held that were passed, by round: ranks 1 to 9, wind, dragon, flower.
SHARES: dict[Round, tuple[int, ...]] = {
    Round.FIRST_RIGHT: (292, 192, 154, 109, 87, 126, 181, 292, 362, 552, 350, 0),
    Round.FIRST_ACROSS: (307, 234, 191, 129, 110, 151, 197, 305, 358, 494, 244, 0),
    Round.FIRST_LEFT: (320, 249, 202, 145, 127, 162, 212, 287, 353, 441, 224, 0),
    Round.SECOND_LEFT: (307, 255, 218, 161, 148, 175, 221, 298, 346, 395, 203, 0),
    Round.SECOND_ACROSS: (310, 248, 213, 161, 158, 172, 217, 293, 348, 387, 215, 0),
    Round.SECOND_RIGHT: (301, 252, 196, 169, 157, 171, 217, 295, 343, 394, 217, 0),
    Round.COURTESY: (120, 87, 68, 34, 35, 41, 65, 116, 168, 316, 222, 0),
}
