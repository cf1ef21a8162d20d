"""How likely is one target for a player who goes for nothing else?

Run: python -m tests.benchmarks.alone FILE --games 16000 [--jobs 2] [--seed 700]

One player advised, three careful. The advised player chooses after one pass (or when play begins) the
best target of a hand, the likeliest in some games, down to the tenth likeliest in others, and goes for it
alone; which pass and which hand follow from the number of the game. Games go to the file as they finish,
and the same command goes on. Then the lengths of play, and what later exchanges are worth, that make the
reach of that target true are fitted to half of the shuffles and judged, beside those shipped, on the other
half, or with `--fresh N` on the games from number N on.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from functools import partial
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Pile
from patterns.tiles import Tile
from solver.arrivals import LATER_EXCHANGES_ALONE, LENGTHS_ALONE, Arrivals
from solver.rounds import SECOND_CHARLESTON, Round
from solver.situation import Situation, tables_of
from solver.table.fit import reliability
from solver.table.game import play_game
from solver.table.players import Alone, Careful
from tests.benchmarks.appending import OtherRunError, append_games, code_digest
from tests.benchmarks.calibrate import fewest
from tests.benchmarks.calibrate import table as as_table
from tests.benchmarks.games import card_of, games_of

STAGES = (*Round, None)
RANKS = 10
LENGTHS_TRIED = tuple(product((12, 16, 20, 24, 28), (0, 4, 8, 12, 18, 24)))
LATERS = (-3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14)


def play(card_name: str, seed: int, number: int) -> dict[str, Any]:
    """Play one game; every four share a shuffle, the player alone one seat on each time."""
    card, shuffle, seat = card_of(card_name), number // 4, number % 4
    at = STAGES[shuffle % len(STAGES)]
    block = shuffle // len(STAGES)
    # Half of the tables play the second Charleston, but where the target is chosen during it.
    second = at in SECOND_CHARLESTON or block // 2 % 2 == 0
    player = Alone(at, block // 4 % RANKS)
    rules = [player if each == seat else Careful() for each in range(4)]
    begin = partial(player.begin_play, card, seat=seat)
    game = play_game(card, rules, seed, shuffle, second=second, before_play=begin)
    return {
        "game": number,
        "fits": block % 2 == 0,
        "rank": player.rank,
        "target": player.target,
        "won": game.ending.winner == seat,
        "moments": [
            [
                moment.round and moment.round.value,
                [tile.value for tile in moment.kept.tiles],
                [tile.value for tile in moment.seen],
                moment.coming,
            ]
            for moment in player.moments
        ],
    }


@dataclass(frozen=True)
class AloneAt:
    """A moment of a player of one target alone, and whether it was completed."""

    game: int
    kept: Pile
    seen: tuple[Tile, ...]
    coming: int
    target: int
    fits: bool
    won: bool


def moments_alone(games: list[dict[str, Any]]) -> dict[Round | None, list[AloneAt]]:
    """Return the moments of games after each pass, and when play begins."""
    found: dict[Round | None, list[AloneAt]] = {stage: [] for stage in STAGES}
    for game in games:
        for round_, kept, seen, coming in game["moments"]:
            tiles, away = (tuple(Tile(text) for text in texts) for texts in (kept, seen))
            known = game["game"], Pile(tiles), away, coming
            moment = AloneAt(*known, game["target"], game["fits"], game["won"])
            found[round_ and Round(round_)].append(moment)
    return found


def split(moments: list[AloneAt], fresh: int | None) -> tuple[list[AloneAt], list[AloneAt]]:
    """Return the moments to fit to and those to judge: of later games, if it is said from which on."""
    if fresh is None:
        return [m for m in moments if m.fits], [m for m in moments if not m.fits]
    return [m for m in moments if m.fits and m.game < fresh], [m for m in moments if m.game >= fresh]


def predicted(
    card_name: str, moments: list[AloneAt], later: int, lengths: tuple[tuple[int, int], ...]
) -> NDArray[np.float64]:
    """Return (moments, lengths) reach of the target, with so many tiles from later exchanges."""
    tables = tables_of(card_of(card_name))
    found = np.zeros((len(moments), len(lengths)))
    for row, moment in enumerate(moments):
        target = np.array([moment.target])
        for column, (draws, claims) in enumerate(lengths):
            coming = Arrivals(max(0, moment.coming + later), draws, claims)
            situation = Situation(moment.kept, moment.seen, coming)
            found[row, column] = situation.reach(tables, situation.held, target)[0]
    return found


def fit_lengths(card_name: str, fits: list[AloneAt], judges: list[AloneAt]) -> None:
    """Print the one and the two lengths that make outcomes when play begins likeliest, judged on others."""
    chances = predicted(card_name, fits, 0, LENGTHS_TRIED)
    won = _won(fits)
    for size in (1, 2):
        columns, shares = fewest(chances, won, size)
        some = tuple(LENGTHS_TRIED[column] for column in columns)
        named = ", ".join(f"{length}: {share:.2f}" for length, share in zip(some, shares, strict=True))
        judged = reliability(predicted(card_name, judges, 0, some) @ shares, _won(judges))
        print(as_table(f"best {size} ({named}), held out", judged), flush=True)


def fit_later(card_name: str, fits: list[AloneAt]) -> tuple[int, list[float]]:
    """Return how many tiles from later exchanges make the mean prediction nearest to the share realized.

    Returns:
        The number, and the mean prediction with each of `LATERS`.
    """
    means = [float(shipped(card_name, fits, later).mean()) for later in LATERS]
    return LATERS[int(np.abs(np.array(means) - _won(fits).mean()).argmin())], np.round(means, 3).tolist()


def shipped(card_name: str, moments: list[AloneAt], later: int) -> NDArray[np.float64]:
    """Return (moments,) reach by the lengths shipped, with so many tiles from later exchanges."""
    lengths = tuple((each.draws, each.claims) for each in LENGTHS_ALONE)
    return predicted(card_name, moments, later, lengths) @ np.array([each.share for each in LENGTHS_ALONE])


def _won(moments: list[AloneAt]) -> NDArray[np.bool_]:
    return np.array([moment.won for moment in moments])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--card", default="full")
    parser.add_argument("--games", type=int, default=16000)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--seed", type=int, default=700)
    parser.add_argument("--few", type=int, default=1000, help="most moments fitted to")
    parser.add_argument("--fresh", type=int, help="judge on games from this number on, fit to earlier ones")
    asked = parser.parse_args()
    header = {"card": asked.card, "seed": asked.seed, "code": code_digest()}
    try:
        append_games(asked.file, header, asked.games, partial(play, asked.card, asked.seed), asked.jobs)
    except OtherRunError as error:
        parser.error(str(error))
    moments = moments_alone(games_of(asked.file)[1])
    for stage in (None, *Round):
        fits, judges = split(moments[stage], asked.fresh)
        name, later = "play begins", 0
        if stage is None:
            fit_lengths(asked.card, fits[: asked.few], judges)
        else:
            name, later = stage.value, LATER_EXCHANGES_ALONE[stage]
            best, means = fit_later(asked.card, fits[: asked.few])
            print(f"{name}: {best} tiles from later exchanges; mean predictions {means}")
        judged = reliability(shipped(asked.card, judges, later), _won(judges))
        print(as_table(f"{name}, as shipped, held out", judged), flush=True)


if __name__ == "__main__":
    main()
