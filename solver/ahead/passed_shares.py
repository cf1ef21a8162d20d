"""How readily others pass each sort of tile they hold: measured at simulated tables.

Provenance: three careful players at each of 5,000 tables (the even shuffles of 10,000 games, seed 600,
full card; `tests/benchmarks/measure_incoming.py`). On the other 5,000 a tile that came in was 1.13 to 1.43
times as likely by these shares as with all unseen tiles alike. Which ranks are of use hangs a little on the
card; that winds and ends of suits go first does not.
"""

from __future__ import annotations

from solver.rounds import Round

# Thousandths of the tiles held that were passed, by round: ranks 1 to 9, wind, dragon, flower.
SHARES: dict[Round, tuple[int, ...]] = {
    Round.FIRST_RIGHT: (294, 214, 174, 111, 91, 121, 166, 287, 357, 556, 315, 0),
    Round.FIRST_ACROSS: (306, 225, 192, 138, 118, 150, 199, 309, 367, 487, 225, 0),
    Round.FIRST_LEFT: (296, 233, 198, 155, 138, 168, 210, 309, 355, 443, 212, 0),
    Round.SECOND_LEFT: (292, 232, 201, 170, 160, 188, 221, 300, 343, 414, 199, 0),
    Round.SECOND_ACROSS: (295, 238, 198, 173, 164, 188, 223, 300, 341, 404, 195, 0),
    Round.SECOND_RIGHT: (293, 244, 202, 168, 158, 186, 221, 303, 342, 400, 195, 0),
    Round.COURTESY: (122, 87, 54, 38, 28, 45, 61, 120, 161, 351, 176, 0),
}
