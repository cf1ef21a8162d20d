"""Is the reach of one hand true when its player goes for nothing else?

Run: python -m tests.benchmarks.committed --games 2000 [--jobs 2] [--seed 700]

After the Charleston (one player advised, three careful) the advised player settles on the best target of
one hand, the likeliest in game 0, the second likeliest in game 1 and so on up to the tenth, and is bound to
it. Prints predicted reach against the share completed, and the lengths of play that make it true: fitted to
even shuffles, judged on odd ones.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from itertools import product

import numpy as np

from patterns.card_file import shipped_card
from patterns.rack import Pile
from patterns.tiles import KINDS
from solver.arrivals import Arrivals, after_the_exchanges
from solver.calibration.reliability import reliability
from solver.card_tables import N_NATURALS, tables_of
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import missing
from solver.rescore import score
from solver.situation import Situation
from solver.table.by_worth import ByWorth
from solver.table.game import play_game
from solver.table.play import Table
from solver.table.rules import Careful
from tests.benchmarks.calibrate import fewest
from tests.benchmarks.calibrate import table as as_table

LENGTHS_TRIED = tuple(product((8, 12, 16, 20, 24), (0, 4, 8, 12, 18, 24, 32)))


def bound_game(card_name: str, seed: int, number: int) -> tuple[int, list[float], bool]:
    """Return the shuffle, the reach under each length of the hand settled on, and whether it was completed.

    The last reach is that under the default lengths.
    """
    card = shipped_card(card_name)
    tables = tables_of(card)
    seat = number % 4
    rules = [ByWorth() if each == seat else Careful() for each in range(4)]
    predicted: list[float] = []

    def bind(table: Table) -> None:
        aim = table.aims[seat]
        tiles = tuple(KINDS[kind] for kind, count in enumerate(aim.held) for _ in range(count))
        seen = tuple(KINDS[kind] for kind, count in enumerate(aim.elsewhere) for _ in range(count))
        situation = Situation(Pile(tiles), seen, after_the_exchanges())
        found = score(situation, tables, np.ones(len(card.hands)), ())
        hand = np.argsort(-found.reach, kind="stable")[number // 4 % 10]
        aim.open[:] = False
        aim.open[found.target[hand]] = True
        row = found.target[hand : hand + 1]
        unseen = situation.unseen[:N_NATURALS]
        lack = missing(tables.plain[row], tables.grouped[row], situation.held)
        demand = Demands.of(lack, tables.concealed[row], unseen)
        for draws, claims in LENGTHS_TRIED:
            outlook = replace(situation.outlook, arrivals=Arrivals(0, draws, claims))
            predicted.append(float(reach_of(demand, outlook, unseen)[0]))
        predicted.append(float(found.reach[hand]))

    game = play_game(card, rules, seed, number, before_play=bind)
    return number // 4, predicted, game.ending.winner == seat


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--card", default="full")
    parser.add_argument("--games", type=int, default=2000)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--seed", type=int, default=700)
    asked = parser.parse_args()
    found = []
    with ProcessPoolExecutor(asked.jobs) as pool:
        for result in pool.map(partial(bound_game, asked.card, asked.seed), range(asked.games), chunksize=10):
            found.append(result)
            if len(found) % 20 == 0:
                print(f"\r{len(found)}/{asked.games}", end="", file=sys.stderr)
    print(file=sys.stderr)
    reach, completed = np.array([r for _, r, _ in found]), np.array([c for *_, c in found])
    fits = np.array([shuffle % 2 == 0 for shuffle, *_ in found])
    print(f"{len(found)} games, predicted {reach[:, -1].mean():.3f}, completed {completed.mean():.3f}")
    print(as_table("default lengths", reliability(reach[:, -1], completed)))
    for size in (1, 2):
        columns, shares = fewest(reach[fits, :-1], completed[fits], size)
        named = ", ".join(f"{LENGTHS_TRIED[c]}: {x:.2f}" for c, x in zip(columns, shares, strict=True))
        judged = reliability(reach[~fits][:, columns] @ shares, completed[~fits])
        print(as_table(f"best {size} ({named}), held out", judged))


if __name__ == "__main__":
    main()
