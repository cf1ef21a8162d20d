"""What finished games say: what others pass, and whether going on is worth what the vote says.

Run: python -m tests.benchmarks.outcomes incoming GAMES.jsonl
     python -m tests.benchmarks.outcomes going-on GAMES.jsonl [--games 100] [--samples 6]

``incoming``: shares of tiles held that careful players pass, by sort and round. Even shuffles measure; odd
ones judge: the mean log chance of each tile that came in to an advised player, taken from the tiles not
seen, weighted by the shares against all equally likely.

``going-on``: for advised players (odd shuffles) expected hands after the second Charleston as
predicted before it, with tiles coming in as measured and all alike, and as they then were.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np

from patterns.card import Card
from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.ahead import Path as Way
from solver.ahead import TileSort, incoming, sort_of
from solver.arrivals import after_the_exchanges
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Round
from solver.situation import Question, Situation, still_elsewhere, tables_of
from solver.table.charleston import STEP
from tests.benchmarks.simulate import card_of, games_of


def shares_of(games: list[dict[str, Any]], passer: str) -> dict[Round, dict[TileSort, float]]:
    """Return, per round and sort of tile, the share of tiles held that were passed."""
    held: dict[Round, Counter[TileSort]] = {round_: Counter() for round_ in Round}
    given: dict[Round, Counter[TileSort]] = {round_: Counter() for round_ in Round}
    for game in games:
        for seat, round_, had, gave in game["passes"]:
            if game["rules"][seat] == passer and gave:
                held[Round(round_)].update(sort_of(Tile(t)) for t in had if t != "J")
                given[Round(round_)].update(sort_of(Tile(t)) for t in gave)
    return {r: {sort: given[r][sort] / n for sort, n in held[r].items()} for r in Round if held[r]}


def judge(
    games: list[dict[str, Any]], shares: dict[Round, dict[TileSort, float]], passer: str, receiver: str
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


SEED = 5


def worth_of(question: Question) -> float:
    """Return expected hands when only draws and claims are still to come."""
    situation = Situation(question.rack, question.seen, after_the_exchanges())
    weights = hand_weights(question.card, Limits())
    return score(situation, tables_of(question.card), weights, ()).expected


def rows_of(card: Card, game: dict[str, Any], samples: int) -> tuple[float, float, float]:
    """Return the value predicted by measured shares, the one with all alike, and the one that came."""
    seat = game["rules"].index("advised")
    made = {round_: (had, gave) for who, round_, had, gave in game["passes"] if who == seat}

    def knows(before: Round, played: tuple[Round, ...]) -> tuple[Rack, tuple[Tile, ...]]:
        rack = Rack(tuple(map(Tile, made[before.value][0])))
        passed = [Tile(text) for round_ in played for text in made[round_.value][1]]
        return rack, still_elsewhere(passed, {tile: rack.tiles.count(tile) for tile in set(rack.tiles)})

    rack, seen = knows(Round.SECOND_LEFT, FIRST_CHARLESTON)
    question = Question(card, rack, Round.SECOND_LEFT, seen=seen, alternatives=0)
    end, seen = knows(Round.COURTESY, (*FIRST_CHARLESTON, *SECOND_CHARLESTON))
    came = worth_of(Question(card, end, Round.COURTESY, seen=seen))
    exchanges = [(round_, PASS_SIZE) for round_ in SECOND_CHARLESTON]

    def predicted() -> float:
        start = Way.start(question)
        values = []
        for sample in range(samples):
            heaps = incoming(question.situation, exchanges, SEED, sample)
            values.append(worth_of(start.play(SECOND_CHARLESTON, heaps).question))
        return float(np.mean(values))

    with mock.patch.multiple("solver.ahead", weights_of=lambda round_: (1,) * 35, HELD=1.0):
        alike = predicted()
    return predicted(), alike, came


def tell_incoming(file: Path, passer: str, receiver: str) -> None:
    games = games_of(file)[1]
    fit = [game for game in games if game["game"] // 4 % 2 == 0]
    shares = shares_of(fit, passer)
    print(f"{len(fit)} games measured; share of tiles held that are passed, in thousandths")
    print("round          " + " ".join(f"{sort.value:>6}" for sort in TileSort))
    for round_, found in shares.items():
        print(f"{round_.value:<15}" + " ".join(f"{1000 * found.get(sort, 0):6.0f}" for sort in TileSort))
    print("held out: mean log chance of a tile that came in, by shares / all alike / tiles")
    odd = [game for game in games if game["game"] // 4 % 2]
    for round_, (ours, flat, count) in judge(odd, shares, passer, receiver).items():
        print(f"{round_.value:<15} {ours:.3f} {flat:.3f} {count}")


def tell_going_on(file: Path, most: int, samples: int) -> None:
    header, games = games_of(file)
    card = card_of(header["card"])
    odd = [game for game in games if game["game"] // 4 % 2][:most]
    found = np.array([rows_of(card, game, samples) for game in odd])
    measured, alike, came = found.mean(axis=0)
    errors = (found[:, :2] - found[:, 2:]).std(axis=0, ddof=1) / len(found) ** 0.5
    print(f"{len(found)} games, {samples} samples each; expected hands after the second Charleston")
    print(f"as it came {came:.3f}")
    print(f"predicted by shares {measured:.3f} (error of the difference {errors[0]:.3f})")
    print(f"predicted all alike {alike:.3f} (error {errors[1]:.3f})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=("incoming", "going-on"))
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--passer", default="careful")
    parser.add_argument("--receiver", default="advised")
    parser.add_argument("--games", type=int, default=100, help="going-on: most games")
    parser.add_argument("--samples", type=int, default=6, help="going-on: samples of what comes in")
    asked = parser.parse_args()
    for file in asked.files:
        if asked.what == "incoming":
            tell_incoming(file, asked.passer, asked.receiver)
        else:
            tell_going_on(file, asked.games, asked.samples)


if __name__ == "__main__":
    main()
