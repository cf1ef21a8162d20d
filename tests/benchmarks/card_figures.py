"""What the practice cards are like to play: drills of the whole Charleston, and random racks before it.

Run: python -m tests.benchmarks.card_figures full [--drills 300] [--racks 2000] [--many 5000] [--seed 70001]
     python -m tests.benchmarks.card_figures full --rules advised,careful,nearest,random

A drill: 14 tiles and a heap without jokers in place of the others; six exchanges of three tiles, then as many
as the rule wants of the courtesy pass. Every rule plays the same deals and heaps.
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, Trait
from patterns.rack import Rack
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.arrivals import Arrivals, default_arrivals
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.rounds import DRILL_RACK, ORDER, PASS_SIZE, Drill, Round
from solver.situation import Question, Situation, tables_of, tiles_away
from solver.table.charleston import Seat
from solver.table.players import ByWorth, Careful
from tests.benchmarks.simulate import card_of
from tests.solver.table.rivals import Nearest, RandomLegal

RULES = {"careful": Careful(), "nearest": Nearest(), "random": RandomLegal()}
ADVISED = "advised"


def shuffled(seed: int, number: int) -> list[Tile]:
    """Return the whole set in the order of one shuffle."""
    return Luck(seed, number).shuffled([tile for tile in KINDS for _ in range(tile.copies)])


def drill(card: Card, rule: str, seed: int, number: int) -> tuple[float, float]:
    """Return expected hands and tiles away when all seven exchanges of a drill are over."""
    order = shuffled(seed, number)
    seat = Seat(Counter(order[:DRILL_RACK]))
    heap = iter([tile for tile in order[DRILL_RACK:] if tile is not Tile.JOKER])
    for index, round_ in enumerate(ORDER):
        asked = Question(
            card,
            seat.rack,
            round_,
            PASS_SIZE,
            seen=seat.seen(),
            alternatives=0,
            drill=Drill(len(ORDER) - index),
        )
        given = _given(asked, seat, rule, Luck(seed, number, index))
        came = [next(heap) for _ in given]
        seat.tiles.subtract(given)
        seat.tiles.update(came)
        seat.tiles = +seat.tiles
        seat.passed.extend(given)
    situation = Situation(seat.rack, seat.seen(), Arrivals.of(0, Drill.then_draws, 0), jokers_in_wall=False)
    tables = tables_of(card)
    near = tiles_away(tables, situation.held, situation.outlook.jokers_held).min()
    return score(situation, tables, hand_weights(card, Limits()), ()).expected, float(near)


def _given(asked: Question, seat: Seat, rule: str, luck: Luck) -> tuple[Tile, ...]:
    """Return what a rule gives at one exchange."""
    last = asked.round is Round.COURTESY
    if rule in RULES:
        count = RULES[rule].wish(asked.card, seat, luck) if last else PASS_SIZE
        return RULES[rule].choose(asked.card, seat, asked.round, count, luck) if count else ()
    numbers = range(PASS_SIZE + 1) if last else (PASS_SIZE,)
    best = (ByWorth().best(replace(asked, give=count)) for count in numbers)
    return max(best, key=lambda found: found[0])[1]


def best_hands(card: Card, seed: int, racks: int) -> NDArray[np.intp]:
    """Return the index of the likeliest hand before the first pass, for so many random racks of 14."""
    tables, arrivals = tables_of(card), default_arrivals(Round.FIRST_RIGHT, PASS_SIZE)
    found = []
    for number in range(racks):
        situation = Situation(Rack(tuple(shuffled(seed, number)[:DRILL_RACK])), (), arrivals)
        found.append(tables.hand[int(situation.reach(tables, situation.held).argmax())])
    return np.array(found)


def kept_alone(card: Card, seed: int, racks: int) -> dict[str, tuple[int, int]]:
    """Return how many lone winds and lone dragons the advice keeps at the first pass, and of how many."""
    kept: Counter[str] = Counter()
    of: Counter[str] = Counter()
    for number in range(racks):
        rack = Rack(tuple(shuffled(seed, number)[:DRILL_RACK]))
        passed = ByWorth().best(Question(card, rack, Round.FIRST_RIGHT, PASS_SIZE, alternatives=0))[1]
        for name, kinds in (("winds", WINDS), ("dragons", DRAGONS)):
            alone = [tile for tile in kinds if rack.tiles.count(tile) == 1]
            of[name] += len(alone)
            kept[name] += sum(tile not in passed for tile in alone)
    return {name: (kept[name], of[name]) for name in of}


def _told(card: Card, rules: list[str], asked: argparse.Namespace) -> None:
    pairs = sum(Trait.PAIRS_ONLY in hand.traits for hand in card.hands)
    concealed = sum(hand.concealed for hand in card.hands)
    print(
        f"{card.name}: {len(card.hands)} hands in {len(card.families)} families, "
        f"{card.target_count} targets, {concealed} concealed, {pairs} of pairs only"
    )
    found = {
        rule: np.array([drill(card, rule, asked.seed, number) for number in range(asked.drills)])
        for rule in rules
    }
    for rule, values in found.items():
        error = values[:, 1].std(ddof=1) / len(values) ** 0.5
        line = f"{rule:<8} {values[:, 1].mean():.2f} tiles away (error {error:.2f}), "
        line += f"{values[:, 0].mean():.3f} expected hands"
        print(line)
    for name, (kept, of) in kept_alone(card, asked.seed + 1, asked.racks).items():
        print(f"lone {name} kept at the first pass: {100 * kept / of:.1f} % of {of}")
    best = Counter(best_hands(card, asked.seed + 2, asked.many).tolist())
    families: Counter[str] = Counter()
    for hand, count in best.items():
        families[card.hands[hand].family] += count
    for family in card.families:
        print(f"  {family}: best on {100 * families[family] / asked.many:.1f} %")
    fewest = sorted((best[index], hand.name) for index, hand in enumerate(card.hands))
    print("hands best on the fewest racks:", ", ".join(f"{name} {count}" for count, name in fewest[:6]))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("card", help="a practice card, or a card file")
    parser.add_argument("--drills", type=int, default=300)
    parser.add_argument("--racks", type=int, default=2_000)
    parser.add_argument("--many", type=int, default=5_000)
    parser.add_argument("--seed", type=int, default=70_001)
    parser.add_argument("--rules", default=ADVISED)
    asked = parser.parse_args()
    _told(card_of(asked.card), asked.rules.split(","), asked)


if __name__ == "__main__":
    main()
