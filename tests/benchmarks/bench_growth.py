"""How the time of an answer grows, how many racks a core answers, and what a plain script would take.

Run: python -m tests.benchmarks.bench_growth [RACKS]

Prints Markdown. Cards of other sizes are made up of hands of three and four groups, for this only. All
figures are from one run, and those that matter are ratios within it.
"""

from __future__ import annotations

import itertools
import random
import sys
from collections import Counter
from dataclasses import replace
from time import perf_counter

import numpy as np
from scipy.stats import multivariate_hypergeom

from patterns.card import Card
from patterns.card_file import card_from_toml, shipped_card
from patterns.rack import Rack
from patterns.tiles import KINDS
from solver.advice import advise
from solver.arrivals import Arrivals
from solver.reach.states import missing
from solver.review import review
from solver.rounds import Round
from solver.situation import N_NATURALS, Question, counts_of, tables_of
from solver.table.players import ByWorth
from tests.solver.enumeration import enumerate_passes
from tests.solver.played import played_best

SIZES = (500, 1_000, 2_000, 5_000)
WALL = [tile for tile in KINDS for _ in range(tile.copies)]


def card_of(size: int) -> Card:
    """Return a card of about so many targets: hands of numbers in two or three suits, drawn at random."""
    rnd = random.Random(size)
    hands, targets = [], 0
    while targets < size and len(hands) < 300:
        counts = rnd.choice(
            [(4, 4, 4, 2), (3, 4, 3, 4), (2, 4, 4, 4), (3, 3, 4, 4), (2, 2, 4, 3, 3), (2, 3, 4, 5)]
        )
        suits = [rnd.choice("pqr") for _ in counts]
        steps = [rnd.randint(0, 4) for _ in counts]
        groups = " ".join(
            f"{'n' if not step else f'(n+{step})'}{suit}*{count}"
            for step, suit, count in zip(steps, suits, counts, strict=True)
        )
        text = f'[[hand]]\nname = "Hand {len(hands)}"\nfamily = "f{len(hands) % 9}"\ngroups = "{groups}"\n'
        try:
            made = card_from_toml('[card]\nname = "One"\n' + text, "one")
        except ValueError:
            continue
        hands.append(text)
        targets += made.target_count
    return card_from_toml('[card]\nname = "Many"\n' + "".join(hands), "many")


def racks_of(count: int, size: int = 14) -> list[Rack]:
    return [Rack(tuple(random.Random(seed).sample(WALL, size))) for seed in range(count)]


def seconds(card: Card, racks: list[Rack]) -> np.ndarray:
    """Return the time of each answer, after five to warm up."""
    questions = [Question(card, rack, Round.FIRST_RIGHT) for rack in [*racks_of(5), *racks]]
    times = []
    for question in questions:
        begun = perf_counter()
        advise(question)
        times.append(perf_counter() - begun)
    return np.array(times[5:])


def plain_script(card: Card, rack: Rack) -> tuple[float, int]:
    """Value every target after the first pass with SciPy alone: no jokers, no claims, no shared work.

    Returns:
        Seconds for one pass, and how many passes the rack has.
    """
    tables = tables_of(card)
    held = counts_of(rack.tiles)[:N_NATURALS]
    unseen = np.array([tile.copies for tile in KINDS[:N_NATURALS]]) - held
    begun = perf_counter()
    lack = missing(tables.plain, tables.grouped, held)
    for need in lack.plain.astype(int) + lack.grouped:
        kinds = np.flatnonzero(need)
        ways = list(itertools.product(*(range(need[k], unseen[k] + 1) for k in kinds)))
        if ways:
            drawn = np.array(ways)
            rest = 24 - drawn.sum(axis=1)
            pools = [*unseen[kinds], unseen.sum() - unseen[kinds].sum()]
            rows = np.column_stack([drawn, rest])[rest >= 0]
            if len(rows):
                multivariate_hypergeom.pmf(rows, m=pools, n=24).sum()
    return perf_counter() - begun, len(enumerate_passes(Question(card, rack, Round.FIRST_RIGHT)).passes)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    racks, full = racks_of(count), shipped_card("full")
    print("| targets | p50, ms | p95, ms | times the smallest |\n|---|---|---|---|")
    base = None
    for card in (*(card_of(size) for size in SIZES), full):
        times = seconds(card, racks)
        base = base or float(np.median(times))
        name = f"{card.target_count:,}" + (" (full card)" if card is full else "")
        print(
            f"| {name} | {1e3 * np.median(times):.1f} | {1e3 * np.percentile(times, 95):.1f} "
            f"| {np.median(times) / base:.2f} |",
            flush=True,
        )
    ours = seconds(full, racks)
    small = seconds(full, racks_of(count, 13))
    print(f"\n13 tiles take {np.median(small) / np.median(ours):.2f} times as long as 14.")
    print(f"One core answers {1 / ours.mean():.1f} racks a second, {count} racks of the full card.")
    quick = []
    for rack in racks:
        begun = perf_counter()
        ByWorth().best(Question(full, rack, Round.FIRST_RIGHT, alternatives=0))
        quick.append(perf_counter() - begun)
    ratio = np.mean(quick) / ours.mean()
    print(f"Enumerating the passes over the same options takes {ratio:.2f} times an answer,")
    slow = []
    for rack in racks[:20]:
        begun = perf_counter()
        enumerate_passes(Question(full, rack, Round.FIRST_RIGHT))
        slow.append(perf_counter() - begun)
    print(f"enumerating them with the reach code alone {np.mean(slow) / ours[:20].mean():.2f} times,")
    one, passes = plain_script(full, racks[0])
    print(
        f"a plain SciPy script (no jokers, no claims) {one * passes / ours.mean():,.0f} times: {one:.2f} s "
        f"for one pass, of which the rack has {passes} (one measured, the rest reckoned)."
    )
    record = replace(
        played_best(3, list(Round), size=13), card=full, arrivals=Arrivals(0, 16, 4), drill=False
    )
    times = []
    for _ in range(5):
        begun = perf_counter()
        review(record)
        times.append(perf_counter() - begun)
    exchanges = Counter(each.round for each in record.exchanges).total()
    print(f"A review of {exchanges} exchanges: {1e3 * np.median(times):.0f} ms.")


if __name__ == "__main__":
    main()
