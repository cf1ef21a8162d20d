"""How the time of an answer grows, what a core does in all, and whether memory stays level.

Run: python -m tests.benchmarks.bench_growth [RACKS] [REQUESTS]

Prints Markdown. Cards of other sizes are hands of three to five groups at random steps of rank and in random
suits, for this only. All figures are from one run, and those that matter are ratios within it. Memory is that
of one process after so many requests (none unless a number is given), each with another rack.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter
from typing import TypeVar

import numpy as np

from api.service import Service
from patterns.card import Card
from patterns.card_file import card_from_toml, shipped_card
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.advice import advise
from solver.deals import Luck, deal
from solver.passes import PassTable
from solver.plan import plan
from solver.review import Exchange, Record, review
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.situation import Question, still_elsewhere
from solver.table.players import ByWorth

SIZES = (500, 1_000, 2_000, 5_000)
SEED = 20_251_126
WARM_UP = 5
GROUPS = [(4, 4, 4, 2), (3, 4, 3, 4), (2, 4, 4, 4), (3, 3, 4, 4), (2, 2, 4, 3, 3), (2, 3, 4, 5)]
WALL = [tile for tile in KINDS for _ in range(tile.copies)]
Asked = TypeVar("Asked")


def card_of(size: int) -> Card:
    """Return a card of about so many targets: numbers in two or three suits, drawn at random."""
    rnd = random.Random(size)
    hands: list[str] = []
    targets = 0
    while targets < size and len(hands) < 300:
        counts = rnd.choice(GROUPS)
        suits = [rnd.choice("pqr") for _ in counts]
        steps = [rnd.randint(0, 4) for _ in counts]
        groups = " ".join(
            f"{'n' if not step else f'(n+{step})'}{suit}*{count}"
            for step, suit, count in zip(steps, suits, counts, strict=True)
        )
        text = f'[[hand]]\nname = "Hand {len(hands)}"\nfamily = "f{len(hands) % 9}"\ngroups = "{groups}"\n'
        try:
            targets += card_from_toml('[card]\nname = "One"\n' + text, "one").target_count
        except ValueError:
            continue
        hands.append(text)
    return card_from_toml('[card]\nname = "Many"\n' + "".join(hands), "many")


def questions_of(card: Card, count: int, size: int = 14) -> list[Question]:
    """Return questions of racks not met before, a few to warm up first."""
    racks = [
        Rack(tuple(random.Random(SEED + number).sample(WALL, size))) for number in range(WARM_UP + count)
    ]
    return [Question(card, rack, Round.FIRST_RIGHT) for rack in racks]


def milliseconds(step: Callable[[Asked], object], asked: Sequence[Asked]) -> np.ndarray:
    """Return the time of each call but those to warm up."""
    times = []
    for each in asked:
        begun = perf_counter()
        step(each)
        times.append(1e3 * (perf_counter() - begun))
    return np.array(times[WARM_UP:])


def record_of(card: Card, number: int, size: int = 14) -> Record:
    """Return a Charleston in which each pass is the advice's or a random one, as a coin falls."""
    luck, dealt = Luck(SEED, number), deal(SEED, number, size)
    heap, rack, passed = list(dealt.heap), list(dealt.rack.tiles), list[Tile]()
    exchanges = []
    for round_ in ORDER:
        open_ = round_ in (Round.FIRST_LEFT, Round.SECOND_RIGHT, Round.COURTESY)
        give = luck.below(PASS_SIZE + 1) if open_ else PASS_SIZE
        held = Rack(tuple(rack))
        given = tuple(luck.shuffled([tile for tile in held.tiles if tile is not Tile.JOKER])[:give])
        if luck.below(2):
            elsewhere = still_elsewhere(passed, {tile: rack.count(tile) for tile in rack})
            given = ByWorth().best(Question(card, held, round_, give, seen=elsewhere, alternatives=0))[1]
        came, heap = tuple(heap[:give]), heap[give:]
        exchanges.append(Exchange(round_, given, came, 0 if round_ is Round.COURTESY else PASS_SIZE - give))
        for tile in given:
            rack.remove(tile)
        rack.extend(came)
        passed.extend(given)
    return Record(card, dealt.rack, tuple(exchanges))


def resident() -> float:
    """Return the process's resident memory in MiB."""
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def memory(requests: int) -> None:
    """Print memory as requests go by."""
    with Service() as service:
        for number in range(requests + 1):
            rnd = random.Random(number)
            rack = [tile.value for tile in rnd.sample(WALL, 14)]
            round_ = rnd.choice(("first_right", "first_across", "first_left", "second_left", "courtesy"))
            body = json.dumps({"rack": rack, "round": round_, "give": 3}).encode()
            assert service.answer("POST", "/v1/advice", body).status == 200
            if number % (requests // 10) == 0:
                print(f"{number} requests: {resident():.0f} MiB", flush=True)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    full = shipped_card("full")
    print("| targets | p50, ms | p95, ms | times the smallest |\n|---|---|---|---|")
    smallest = None
    for card in (*(card_of(size) for size in SIZES), full):
        times = milliseconds(advise, questions_of(card, count))
        smallest = smallest or float(np.median(times))
        name = f"{card.target_count:,}" + (" (full card)" if card is full else "")
        print(
            f"| {name} | {np.median(times):.1f} | {np.percentile(times, 95):.1f} "
            f"| {np.median(times) / smallest:.2f} |",
            flush=True,
        )
    ours = milliseconds(advise, questions_of(full, count))
    thirteen = milliseconds(advise, questions_of(full, count, 13))
    table = milliseconds(PassTable.of_question, questions_of(full, count))
    print(f"\n13 tiles take {np.median(thirteen) / np.median(ours):.2f} times as long as 14.")
    print(f"One core answers {1e3 / ours.mean():.1f} racks a second, {count} racks of the full card.")
    print(f"The table of all passes alone takes {np.median(table) / np.median(ours):.2f} of an answer.")
    plans = milliseconds(lambda asked: plan(asked, 3), questions_of(full, max(5, count // 5)))
    reviews = milliseconds(review, [record_of(full, number) for number in range(WARM_UP + count // 5)])
    for name, times in (("A plan of three rounds", plans), ("A review of all seven rounds", reviews)):
        print(f"{name}: p50 {np.median(times):.0f} ms, p95 {np.percentile(times, 95):.0f} ms.")
    if len(sys.argv) > 2:
        memory(int(sys.argv[2]))


if __name__ == "__main__":
    main()
