"""Balance of the practice cards: the family of the likeliest hand, over random racks of 14.

Run: python tests/benchmarks/bench_balance.py [RACKS]
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from patterns.card_file import shipped_card, shipped_names
from patterns.rack import Rack
from patterns.tiles import KINDS
from solver.arrivals import default_arrivals
from solver.rounds import PASS_SIZE, Round
from solver.situation import Situation, tables_of

SEED = 20_251_125


def main() -> None:
    racks = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    wall = [tile for tile in KINDS for _ in range(tile.copies)]
    arrivals = default_arrivals(Round.FIRST_RIGHT, PASS_SIZE)
    for name in shipped_names():
        card = shipped_card(name)
        tables = tables_of(card)
        rng = np.random.default_rng(SEED)
        families: Counter[str] = Counter()
        for _ in range(racks):
            rack = Rack(tuple(wall[index] for index in rng.permutation(len(wall))[:14]))
            situation = Situation(rack, (), arrivals)
            reach = situation.reach(tables, situation.held)
            families[card.hands[tables.hand[int(reach.argmax())]].family] += 1
        print(f"{name} ({racks} racks, seed {SEED}):")
        for family, count in families.most_common():
            print(f"  {family}: {100 * count / racks:.1f} %")


if __name__ == "__main__":
    main()
