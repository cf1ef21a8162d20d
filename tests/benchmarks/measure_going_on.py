"""Is what the vote says of going on true? Predicted value of a second Charleston against what came of it.

Run: python -m tests.benchmarks.measure_going_on GAMES.jsonl [--games 100] [--samples 6]

For advised players of simulated games (odd shuffles, one game each): expected hands after the second
Charleston as predicted before it, with tiles coming in as measured and all alike, and as they then were.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np

from patterns.card import Card
from patterns.card_file import shipped_card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.ahead import Path as Way
from solver.ahead import incoming
from solver.arrivals import after_the_exchanges
from solver.limits import Limits, hand_weights
from solver.model import Stopper
from solver.passes import score
from solver.rounds import FIRST_CHARLESTON, PASS_SIZE, SECOND_CHARLESTON, Round
from solver.situation import Question, Situation, still_elsewhere, tables_of
from tests.benchmarks.games import games_of

SEED = 5


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
    weights = hand_weights(card, Limits())
    came = score(Situation(end, seen, after_the_exchanges()), tables_of(card), weights, ()).expected
    exchanges = [(round_, PASS_SIZE) for round_ in SECOND_CHARLESTON]

    def predicted() -> float:
        start = Way.start(question)
        values = [
            start.play(
                SECOND_CHARLESTON, incoming(question.situation, exchanges, SEED, sample), Stopper()
            ).value()
            for sample in range(samples)
        ]
        return float(np.mean(values))

    with mock.patch("solver.ahead.weights_of", lambda round_: (1,) * 35):
        alike = predicted()
    return predicted(), alike, came


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--games", type=int, default=100)
    parser.add_argument("--samples", type=int, default=6)
    asked = parser.parse_args()
    header, games = games_of(asked.file)
    card = shipped_card(header["card"])
    odd = [game for game in games if game["game"] % 8 == 4][: asked.games]
    found = np.array([rows_of(card, game, asked.samples) for game in odd])
    measured, alike, came = found.mean(axis=0)
    errors = (found[:, :2] - found[:, 2:]).std(axis=0, ddof=1) / len(found) ** 0.5
    print(f"{len(found)} games, {asked.samples} samples each; expected hands after the second Charleston")
    print(f"as it came {came:.3f}")
    print(f"predicted by shares {measured:.3f} (error of the difference {errors[0]:.3f})")
    print(f"predicted all alike {alike:.3f} (error {errors[1]:.3f})")


if __name__ == "__main__":
    main()
