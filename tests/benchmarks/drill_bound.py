"""How far is the advice from a player who sees what comes in? Drills, where nobody else plays.

Run: python -m tests.benchmarks.drill_bound --drills 300 [--seed 800]

Every rule plays the same deals and heaps: 14 tiles, three exchanges. The seeing player knows the next
three tiles of the heap at each exchange, and nothing of later ones.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.review import hindsight
from solver.rounds import FIRST_CHARLESTON, Drill
from solver.situation import Question, Situation, tables_of, tiles_away
from solver.table.charleston import Seat
from solver.table.players import ByWorth, Careful, Nearest, RandomLegal

RULES = {rule.name: rule for rule in (Careful(), Nearest(), RandomLegal())}


def play(card: Card, rule: str, seed: int, number: int) -> tuple[float, float]:
    """Return expected hands and tiles away when the exchanges are over."""
    order = Luck(seed, number).shuffled([tile for tile in KINDS for _ in range(tile.copies)])
    seat = Seat(Counter(order[:14]))
    heap = [tile for tile in order[14:] if tile is not Tile.JOKER]
    for index, round_ in enumerate(FIRST_CHARLESTON):
        came = tuple(heap[3 * index : 3 * index + 3])
        drill = Drill(len(FIRST_CHARLESTON) - index)
        question = Question(card, seat.rack, round_, 3, seen=seat.seen(), alternatives=0, drill=drill)
        if rule == "advised":
            given = ByWorth().best(question)[1]
        elif rule == "seeing":
            first = ByWorth().best(question)[1]
            given = hindsight(question, first, came).passed
        else:
            given = RULES[rule].choose(card, seat, round_, 3, Luck(seed, number, index))
        seat.tiles.subtract(given)
        seat.tiles.update(came)
        seat.tiles = +seat.tiles
        seat.passed.extend(given)
    rack = Rack(tuple(seat.tiles.elements()))
    situation = Situation(rack, seat.seen(), Arrivals(0, Drill.then_draws, 0), jokers_in_wall=False)
    tables, weights = tables_of(card), hand_weights(card, Limits())
    near = tiles_away(tables, situation.held, situation.outlook.jokers_held).min()
    return score(situation, tables, weights, ()).expected, float(near)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--card", default="full")
    parser.add_argument("--drills", type=int, default=300)
    parser.add_argument("--seed", type=int, default=800)
    asked = parser.parse_args()
    card = shipped_card(asked.card)
    found = {
        rule: np.array([play(card, rule, asked.seed, number) for number in range(asked.drills)])
        for rule in ("seeing", "advised", "careful", "nearest", "random")
    }
    best = found["seeing"][:, 0]
    for rule, values in found.items():
        behind = best - values[:, 0]
        error = behind.std(ddof=1) / len(behind) ** 0.5
        print(
            f"{rule:<8} {values[:, 0].mean():.3f} expected hands, {values[:, 1].mean():.2f} tiles away, "
            f"{behind.mean():.3f} behind the seeing player (error {error:.3f})"
        )


if __name__ == "__main__":
    main()
