"""What do opponents pass? Shares per kind and round, and whether they predict what comes in.

Run: python -m tests.benchmarks.measure_incoming GAMES.jsonl --passer careful --receiver advised

Even shuffles measure; odd ones judge: the mean log chance of each tile that came in, taken from the tiles
its receiver had not seen, weighted by the shares against all equally likely.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from patterns.tiles import KINDS, Tile
from solver.ahead import Sort, sort_of
from solver.rounds import RULES, Round
from solver.table.charleston import STEP
from tests.benchmarks.games import games_of


def shares_of(games: list[dict[str, Any]], passer: str) -> dict[Round, dict[Sort, float]]:
    """Return, per round and sort of tile, the share of tiles held that were passed."""
    held: dict[Round, Counter[Sort]] = {round_: Counter() for round_ in Round}
    given: dict[Round, Counter[Sort]] = {round_: Counter() for round_ in Round}
    for game in games:
        for seat, round_, had, gave in game["passes"]:
            if game["rules"][seat] == passer and gave:
                held[Round(round_)].update(sort_of(Tile(t)) for t in had if t != "J")
                given[Round(round_)].update(sort_of(Tile(t)) for t in gave)
    return {r: {sort: given[r][sort] / n for sort, n in held[r].items()} for r in Round if held[r]}


def judge(
    games: list[dict[str, Any]], shares: dict[Round, dict[Sort, float]], passer: str, receiver: str
) -> dict[Round, tuple[float, float, int]]:
    """Return, per round, the mean log chance of a tile under the shares and under equal chances."""
    scores: dict[Round, list[tuple[float, float]]] = {round_: [] for round_ in Round}
    copies = Counter({tile: tile.copies for tile in KINDS if tile is not Tile.JOKER})
    for game in games:
        passed: list[Counter[Tile]] = [Counter() for _ in range(4)]
        for name in Round:
            made = [one for one in game["passes"] if one[1] == name.value]
            for seat, _, _, gave in made:
                passed[seat].update(Tile(t) for t in gave)
            for seat, _, had, gave in made:
                sender = (seat - STEP[RULES[name].direction]) % 4
                if game["rules"][seat] != receiver or game["rules"][sender] != passer:
                    continue
                kept = Counter(Tile(t) for t in had) - Counter(Tile(t) for t in gave)
                pool = copies - kept - passed[seat]
                came = next(one[3] for one in made if one[0] == sender)
                for tile in map(Tile, came):
                    if not pool[tile]:  # one of his own passes came back
                        continue
                    weight = {t: shares[name].get(sort_of(t), 0.0) for t in pool}
                    total = sum(n * weight[t] for t, n in pool.items())
                    floor = 1e-4
                    scores[name].append(
                        (
                            float(np.log(max(weight[tile], floor) / total)),
                            float(-np.log(pool.total())),
                        )
                    )
                    pool[tile] -= 1
    return {
        r: (float(np.mean([a for a, _ in s])), float(np.mean([b for _, b in s])), len(s))
        for r, s in scores.items()
        if s
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--passer", default="careful")
    parser.add_argument("--receiver", default="advised")
    asked = parser.parse_args()
    _, games = games_of(asked.file)
    fit = [game for game in games if game["game"] // 4 % 2 == 0]
    shares = shares_of(fit, asked.passer)
    print(f"{len(fit)} games measured; share of tiles held that are passed, in thousandths")
    print("round          " + " ".join(f"{sort.value:>6}" for sort in Sort))
    for round_, found in shares.items():
        print(f"{round_.value:<15}" + " ".join(f"{1000 * found.get(sort, 0):6.0f}" for sort in Sort))
    print("held out: mean log chance of a tile that came in, by shares / all alike / tiles")
    odd = [game for game in games if game["game"] // 4 % 2]
    for round_, (ours, flat, count) in judge(odd, shares, asked.passer, asked.receiver).items():
        print(f"{round_.value:<15} {ours:.3f} {flat:.3f} {count}")


if __name__ == "__main__":
    main()
