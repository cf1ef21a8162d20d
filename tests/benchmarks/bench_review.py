"""How long a review of a whole Charleston takes, and how its time is shared out.

Run: python -m tests.benchmarks.bench_review [RECORDS]

Prints Markdown. Full card, all seven rounds, every number of tiles compared where a round leaves it open;
each record is reviewed once, one at a time, after a few to warm up. Passes are the advice's or random legal
ones, half each on average. Shares are of the same run.
"""

from __future__ import annotations

import platform
import sys
from collections import Counter
from collections.abc import Callable
from time import perf_counter
from typing import Any
from unittest import mock

import numpy as np

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver import advice
from solver import review as grade
from solver.deals import Luck, deal
from solver.review import Exchange, Record
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.situation import Question, still_elsewhere
from solver.table.players import ByWorth

SEED = 20_251_126
WARM_UP = 5


def record_of(card: Card, number: int, size: int = 14) -> Record:
    """Return a Charleston in which each pass is the advice's or a random one, as a coin falls."""
    chance, dealt = Luck(SEED, number), deal(SEED, number, size)
    heap, rack, passed = list(dealt.heap), Counter(dealt.rack.tiles), list[Tile]()
    exchanges = []
    for round_ in ORDER:
        open_ = round_ in (Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY)
        give = chance.below(PASS_SIZE + 1) if open_ else PASS_SIZE
        held = Rack(tuple((+rack).elements()))
        given = tuple(chance.shuffled([tile for tile in held.tiles if tile is not Tile.JOKER])[:give])
        if chance.below(2):
            question = Question(card, held, round_, give, seen=still_elsewhere(passed, rack), alternatives=0)
            given = ByWorth().best(question)[1]
        came, heap = tuple(heap[:give]), heap[give:]
        blind = 0 if round_ is Round.COURTESY else PASS_SIZE - give
        exchanges.append(Exchange(round_, given, came, blind))
        rack.subtract(given)
        rack.update(came)
        passed.extend(given)
    return Record(card, dealt.rack, tuple(exchanges))


class Shares:
    """Seconds spent in some functions, by what they are given."""

    def __init__(self) -> None:
        self.of: Counter[str] = Counter()
        self.calls: Counter[str] = Counter()

    def timed(self, function: Callable[..., Any], name: Callable[..., str]) -> Callable[..., Any]:
        """Return a function that also adds up its time, under a name made from its first argument."""

        def run(*args: Any, **named: Any) -> Any:
            begun = perf_counter()
            try:
                return function(*args, **named)
            finally:
                part = name(args[0])
                self.of[part] += perf_counter() - begun
                self.calls[part] += 1

        return run


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    card = shipped_card("full")
    records = [record_of(card, number) for number in range(WARM_UP + count)]
    for record in records[:WARM_UP]:
        grade.review(record)
    shares, times = Shares(), []
    number = shares.timed(advice._advise_number, lambda question: f"advice of {question.give} tiles")
    after = shares.timed(grade.hindsight, lambda _: "hindsight")
    with mock.patch.object(advice, "_advise_number", number), mock.patch.object(grade, "hindsight", after):
        for record in records[WARM_UP:]:
            begun = perf_counter()
            grade.review(record)
            times.append(perf_counter() - begun)
    whole = sum(times)
    shares.of["scoring and all else"] = whole - shares.of.total()
    shares.calls["scoring and all else"] = count
    print(f"Python {platform.python_version()}, {card.target_count} targets, {count} records, seed {SEED}.\n")
    print(f"A review: p50 {1e3 * np.median(times):.0f} ms, p95 {1e3 * np.percentile(times, 95):.0f} ms.\n")
    print("| part | times a review | ms each | share |\n|---|---|---|---|")
    for part in sorted(shares.of):
        calls, seconds = shares.calls[part], shares.of[part]
        print(
            f"| {part} | {calls / count:.0f} | {1e3 * seconds / calls:.1f} | {100 * seconds / whole:.0f} % |"
        )


if __name__ == "__main__":
    main()
