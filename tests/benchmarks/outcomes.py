"""What finished games say: what others pass and get, what racks are worth, and whether the vote is right.

Run: python -m tests.benchmarks.outcomes incoming GAMES.jsonl
     python -m tests.benchmarks.outcomes going-on GAMES.jsonl [--games 100] [--samples 6]
     python -m tests.benchmarks.outcomes power GAMES.jsonl [--games 100]
     python -m tests.benchmarks.outcomes gives GAMES.jsonl [--games 12]

``incoming``: shares of tiles held that careful players pass, by sort and round. Even shuffles measure; odd
ones judge: the mean log chance of each tile that came in to an advised player, taken from the tiles not
seen, weighted by the shares against all equally likely.

``going-on``: for advised players (odd shuffles) expected hands after the second Charleston as
predicted before it, with tiles coming in as measured and all alike, and as they then were.

``power``: which sum of powers of reach tells best who wins: the log likelihood that its log adds to a
logistic model of the walls won, which knows who is East, over all racks as play begins (games ``--again``).

``gives``: what a tile, or two of a kind, adds to the racks that careful players keep at the first pass, by
exact reach and by `solver.gives`: the mean logs of both, and how they go together over the kinds.
"""

from __future__ import annotations

import argparse
from collections import Counter
from functools import partial
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.rack import Pile, Rack
from patterns.tiles import KINDS, Tile
from solver.ahead import going_on, incoming, played, sort_of
from solver.arrivals import default_arrivals
from solver.gives import receivers
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, RULES, SECOND_CHARLESTON, Round
from solver.situation import N_NATURALS, NATURALS, Objective, Question, Situation, still_elsewhere, tables_of
from solver.table.charleston import STEP
from tests.benchmarks.simulate import card_of, games_of

_SORTS = (*"123456789", "wind", "dragon", "flower")


def shares_of(games: list[dict[str, Any]]) -> dict[Round, dict[int, float]]:
    """Return, per round and sort of tile, the share of tiles held that careful players passed."""
    held: dict[Round, Counter[int]] = {round_: Counter() for round_ in Round}
    given: dict[Round, Counter[int]] = {round_: Counter() for round_ in Round}
    for game in games:
        for seat, round_, had, gave in game["passes"]:
            if game["rules"][seat] == "careful" and gave:
                held[Round(round_)].update(sort_of(Tile(t)) for t in had if t != "J")
                given[Round(round_)].update(sort_of(Tile(t)) for t in gave)
    return {r: {sort: given[r][sort] / n for sort, n in held[r].items()} for r in Round if held[r]}


def judge(
    games: list[dict[str, Any]], shares: dict[Round, dict[int, float]]
) -> dict[Round, tuple[float, float, int]]:
    """Return, per round, the mean log chance of a tile that advised players get, by shares and all alike."""
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
                if (game["rules"][seat], game["rules"][sender]) != ("advised", "careful"):
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
                        (float(np.log(max(weight[tile], floor) / total)), float(-np.log(pool.total())))
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
    situation = Situation(question.rack, question.seen, default_arrivals(None))
    weights = hand_weights(question.card, Limits())
    return score(situation, tables_of(question.card), weights, ()).expected


def rows_of(card: Card, game: dict[str, Any], samples: int) -> tuple[float, float, float]:
    """Return the value predicted by measured shares, the one with all alike, and the one that came."""
    seat = game["rules"].index("advised")
    made = {round_: (had, gave) for who, round_, had, gave in game["passes"] if who == seat}

    def knows(before: Round, over: tuple[Round, ...]) -> tuple[Rack, tuple[Tile, ...]]:
        rack = Rack(tuple(map(Tile, made[before.value][0])))
        passed = [Tile(text) for round_ in over for text in made[round_.value][1]]
        return rack, still_elsewhere(passed, {tile: rack.tiles.count(tile) for tile in set(rack.tiles)})

    rack, seen = knows(Round.SECOND_LEFT, FIRST_CHARLESTON)
    question = Question(card, rack, Round.SECOND_LEFT, seen=seen, alternatives=0)
    end, seen = knows(Round.COURTESY, (*FIRST_CHARLESTON, *SECOND_CHARLESTON))
    came = worth_of(Question(card, end, Round.COURTESY, seen=seen))
    exchanges = [(round_, PASS_SIZE) for round_ in SECOND_CHARLESTON]

    def predicted() -> float:
        start = going_on(question)
        values = []
        for sample in range(samples):
            heaps = incoming(question.situation, exchanges, SEED, sample)
            values.append(worth_of(played(start, SECOND_CHARLESTON, heaps)))
        return float(np.mean(values))

    with mock.patch.multiple("solver.ahead", weights_of=lambda round_: (1,) * 35, HELD=1.0):
        alike = predicted()
    return predicted(), alike, came


def tell_incoming(file: Path) -> None:
    games = games_of(file)[1]
    fit = [game for game in games if game["game"] // 4 % 2 == 0]
    shares = shares_of(fit)
    print(f"{len(fit)} games measured; share of tiles held that are passed, in thousandths")
    print("round          " + " ".join(f"{sort:>6}" for sort in _SORTS))
    for round_, found in shares.items():
        print(f"{round_.value:<15}" + " ".join(f"{1000 * found.get(n, 0):6.0f}" for n in range(len(_SORTS))))
    print("held out: mean log chance of a tile that came in, by shares / all alike / tiles")
    odd = [game for game in games if game["game"] // 4 % 2]
    for round_, (ours, flat, count) in judge(odd, shares).items():
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


POWERS = (0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 3.0)


def likelihood(features: NDArray[np.float64], won: NDArray[np.int64], played: NDArray[np.int64]) -> float:
    """Return the greatest log likelihood of a logistic model, by Newton's method.

    Features are (n, k), a constant among them; each came true so often of so many.
    """
    weights = np.zeros(features.shape[1])
    for _ in range(25):
        chance = 1 / (1 + np.exp(-features @ weights))
        curve = (features * (played * chance * (1 - chance))[:, None]).T @ features
        weights += np.linalg.solve(curve, features.T @ (won - played * chance))
    chance = 1 / (1 + np.exp(-features @ weights))
    return float((won * np.log(chance) + (played - won) * np.log(1 - chance)).sum())


def tell_power(file: Path, most: int) -> None:
    header, games = games_of(file)
    tables = tables_of(card_of(header["card"]))
    sums, east, won = [], [], []
    for game in games[:most]:
        walls = [game["winner"], *game["again"]]
        for seat, (held, seen) in enumerate(game["starts"]):
            away = tuple(map(Tile, seen))
            situation = Situation(Pile(tuple(map(Tile, held))), away, default_arrivals(None))
            reach = score(situation, tables, np.ones(len(tables.card.hands)), ()).reach
            sums.append([np.log((reach**power).sum()) for power in POWERS])
            east.append(float(seat == 0))
            won.append(walls.count(seat))
    wins, logs = np.array(won), np.array(sums)
    known = np.stack([np.ones(len(wins)), np.array(east)], axis=1)
    played = np.full(len(wins), len(walls))
    base = likelihood(known, wins, played)
    print(f"{len(wins)} racks, {len(walls)} walls each; log likelihood gained")
    for power, column in zip(POWERS, logs.T, strict=True):
        print(f"  power {power}: {likelihood(np.column_stack([known, column]), wins, played) - base:.1f}")


def tell_gives(file: Path, most: int) -> None:
    header, games = games_of(file)
    card = card_of(header["card"])
    tables, starts = tables_of(card), tables_of(card).first_of_hand()
    counted = Objective.STRENGTH.counted
    added = np.concatenate([copies * np.eye(N_NATURALS, dtype=np.int8) for copies in (1, 2)])
    added = np.concatenate([added[:1] * 0, added])
    exact, racks = [], 0
    for game in games[:most]:
        for seat, round_, had, gave in game["passes"]:
            if game["rules"][seat] == "careful" and round_ == Round.FIRST_RIGHT.value:
                pile = Pile(tuple((Counter(map(Tile, had)) - Counter(map(Tile, gave))).elements()))
                situation = Situation(pile, (), default_arrivals(Round.FIRST_RIGHT, 0))
                reach = situation.reach(tables, situation.held + added)
                strong = counted(np.maximum.reduceat(reach, starts, axis=1)).sum(axis=1)
                exact.append(np.log(strong[1:] / strong[0]))
                racks += 1
    gain = partial(receivers(card).gain, objective=Objective.STRENGTH)
    ours = np.log1p([gain([tile] * copies) for copies in (1, 2) for tile in NATURALS])
    print(f"{racks} racks; mean log of how many times as strong they get: exactly, as stated; correlation")
    for copies in (0, 1):
        some = slice(copies * N_NATURALS, (copies + 1) * N_NATURALS)
        mean, stated = np.mean(exact, axis=0)[some], ours[some]
        like = np.corrcoef(mean, stated)[0, 1]
        print(f"  {copies + 1} of a kind: {mean.mean():.3f} {stated.mean():.3f} {like:.3f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=("incoming", "going-on", "power", "gives"))
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--games", type=int, default=100, help="going-on, power, gives: most games")
    parser.add_argument("--samples", type=int, default=6, help="going-on: samples of what comes in")
    asked = parser.parse_args()
    for file in asked.files:
        if asked.what == "incoming":
            tell_incoming(file)
        elif asked.what == "power":
            tell_power(file, asked.games)
        elif asked.what == "gives":
            tell_gives(file, asked.games)
        else:
            tell_going_on(file, asked.games, asked.samples)


if __name__ == "__main__":
    main()
