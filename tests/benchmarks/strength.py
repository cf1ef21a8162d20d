"""How often each pass rule wins, and where it stands after the Charleston.

Run: python -m tests.benchmarks.strength GAMES.jsonl [MORE.jsonl ...]

A ratio of win shares has a 95 % interval by resampling whole shuffles (1,000 times, fixed seed), as the
games of one shuffle share their luck. Best reach and tiles away are those of the racks as play begins,
under the default lengths of play.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import numpy as np

from patterns.card_file import shipped_card
from patterns.rack import Pile
from patterns.tiles import Tile
from solver.arrivals import after_the_exchanges
from solver.limits import Limits, hand_weights
from solver.passes import score
from solver.situation import Situation, tables_of, tiles_away
from solver.table.fit import wilson
from tests.benchmarks.games import games_of

_SAMPLES = 1_000
_RACKS = 1_000


def wins_by_shuffle(games: list[dict[str, Any]], rule: str) -> np.ndarray:
    """Return (shuffles, 2): wins of a rule and games it sat in, per seat."""
    shuffles = sorted({game["game"] // 4 for game in games})
    row = {shuffle: index for index, shuffle in enumerate(shuffles)}
    found = np.zeros((len(shuffles), 2))
    for game in games:
        for seat, name in enumerate(game["rules"]):
            if name == rule:
                found[row[game["game"] // 4]] += (game["winner"] == seat, 1)
    return found


def ratio(first: np.ndarray, other: np.ndarray) -> tuple[float, float, float]:
    """Return how many times as often the first rule wins, with a 95 % interval."""
    rng = np.random.default_rng(1)
    picks = rng.integers(len(first), size=(_SAMPLES, len(first)))

    def of(rows: np.ndarray) -> np.ndarray:
        mine, theirs = first[rows].sum(axis=-2), other[rows].sum(axis=-2)
        return (mine[..., 0] / mine[..., 1]) / (theirs[..., 0] / theirs[..., 1])

    low, high = np.quantile(of(picks), (0.025, 0.975))
    return float(of(np.arange(len(first)))), float(low), float(high)


def standing(card_name: str, games: list[dict[str, Any]], rule: str) -> tuple[float, float, float]:
    """Return mean tiles away, best reach and expected hands as play begins, on the first racks of a rule."""
    card = shipped_card(card_name)
    tables = tables_of(card)
    weights = hand_weights(card, Limits())
    found = []
    for game in games:
        for name, (held, seen) in zip(game["rules"], game["starts"], strict=True):
            if name == rule and len(found) < _RACKS:
                pile, away = Pile(tuple(map(Tile, held))), tuple(map(Tile, seen))
                situation = Situation(pile, away, after_the_exchanges())
                scored = score(situation, tables, weights, ())
                near = tiles_away(tables, situation.held, situation.outlook.jokers_held).min()
                found.append((near, scored.reach.max(), scored.expected))
    near, best, expected = np.mean(found, axis=0)
    return float(near), float(best), float(expected)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    asked = parser.parse_args()
    for file in asked.files:
        header, games = games_of(file)
        games = games[: len(games) // 4 * 4]
        rules = list(dict.fromkeys(header["rules"]))
        drawn = np.mean([game["drawn"] for game in games])
        dead = np.mean([game["winner"] is None for game in games])
        print(
            f"{len(games)} games, seed {header['seed']}, {drawn:.1f} tiles drawn, "
            f"{100 * dead:.1f} % dead walls"
        )
        wins = {rule: wins_by_shuffle(games, rule) for rule in rules}
        for rule in rules:
            won, sat = wins[rule].sum(axis=0).astype(int)
            low, high = wilson(int(won), int(sat))
            near, best, expected = standing(header["card"], games, rule)
            line = f"  {rule:<14} {100 * won / sat:5.1f} % ({100 * low:.1f}-{100 * high:.1f}) of {sat}"
            line += f"; {near:.2f} tiles away, best reach {best:.3f}, expected hands {expected:.3f}"
            if rule != rules[0]:
                times, low, high = ratio(wins[rules[0]], wins[rule])
                line += f"; {rules[0]} wins {times:.2f} times as often ({low:.2f}-{high:.2f})"
            print(line)


if __name__ == "__main__":
    main()
