"""Are the chances true? Lengths of play fitted to half the shuffles, judged on the other half.

Run: python -m tests.benchmarks.calibrate lengths GAMES.jsonl [MORE.jsonl] [--most 6000] [--jobs 2]
     python -m tests.benchmarks.calibrate rounds GAMES.jsonl [MORE.jsonl] [--few 300]
     python -m tests.benchmarks.calibrate alone FILE --games 16000 [--seed 700] [--fresh N]

The first two read games made by `simulate` with the advice in some seats. Even shuffles fit, odd ones judge.
``lengths`` fits how long play lasts to racks as play begins. ``rounds`` fits what later exchanges are worth,
and judges what answers state after every round; with ``--few 0`` on all shuffles, for games that nothing was
fitted to.

``alone`` plays games of its own, as `simulate` does: how likely is one target for a player who goes for
nothing else? One player advised, three careful. The advised player chooses after one pass (or when play
begins) the best target of a hand, the likeliest in some games, down to the tenth likeliest in others, and
goes for it alone; which pass and which hand follow from the number of the game. Then the lengths of play, and
what later exchanges are worth, that make the reach of that target true are fitted to half of the blocks and
judged on the other half, or with ``--fresh N`` on the games from number N on.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import combinations, product
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Pile
from patterns.tiles import Tile
from solver.arrivals import CHOOSING, Arrivals, Fit
from solver.odds import ALONE
from solver.passes import score
from solver.reach.evaluate import Demands, missing, reach_of
from solver.rounds import ORDER, SECOND_CHARLESTON, Round
from solver.situation import N_NATURALS, Situation, tables_of
from solver.table.fit import Reliability, fit_shares, reliability
from solver.table.game import play_game
from solver.table.players import Alone, Careful
from solver.why import Standings, union
from tests.benchmarks.simulate import (
    Moment,
    OtherRunError,
    append_games,
    card_of,
    code_digest,
    games_of,
    moments_of,
)

DRAWS = (8, 12, 16, 20, 24)
CLAIMS = (0, 4, 8, 12, 18)
# Tiles from later exchanges, draws, claims.
Future = tuple[int, int, int]
GRID: tuple[Future, ...] = tuple((0, *length) for length in product(DRAWS, CLAIMS))
FIRST: Future = (0, 15, 22)
LATERS = (0, 1, 2, 3, 4, 5, 6, 8, 10)


def chance_under(card_name: str, futures: tuple[Future, ...], moments: list[Moment]) -> NDArray[np.float64]:
    """Return (moments, futures) chance of some hand, hands taken to be independent."""
    tables = tables_of(card_of(card_name))
    starts = tables.first_of_hand()
    found = np.zeros((len(moments), len(futures)))
    for row, moment in enumerate(moments):
        demands = None
        for column, (later, draws, claims) in enumerate(futures):
            coming = Arrivals(moment.coming + later, draws, claims)
            situation = Situation(moment.kept, moment.seen, coming)
            unseen = situation.unseen[:N_NATURALS]
            if demands is None:
                lack = missing(tables.plain, tables.grouped, situation.held)
                demands = Demands.of(lack, tables.concealed, unseen)
            reach = reach_of(demands, situation.outlook, unseen)
            found[row, column] = union(np.maximum.reduceat(reach, starts))
    return found


def stated(card_name: str, moments: list[Moment]) -> NDArray[np.float64]:
    """Return (moments,) chance of some hand, as an answer states it."""
    tables = tables_of(card_of(card_name))
    found = np.zeros(len(moments))
    for row, moment in enumerate(moments):
        coming = CHOOSING.coming(moment.round, moment.coming)
        odds = Fit(CHOOSING, ALONE).odds(moment.round, moment.coming, of_some=True)
        situation = Situation(moment.kept, moment.seen, coming)
        whole = score(situation, tables, np.ones(len(tables.card.hands)), ())
        found[row] = Standings(situation, tables, whole, whole, odds).some_hand
    return found


def spread(
    predict: Callable[[list[Moment]], NDArray[np.float64]], moments: list[Moment], jobs: int
) -> NDArray[np.float64]:
    """Return predictions for moments, worked out by several processes."""
    parts = [moments[start : start + 50] for start in range(0, len(moments), 50)]
    with ProcessPoolExecutor(jobs) as pool:
        done = []
        for part in pool.map(predict, parts):
            done.append(part)
            print(f"\r{50 * len(done)}/{len(moments)}", end="", file=sys.stderr)
    print(file=sys.stderr)
    return np.concatenate(done)


def table(name: str, found: Reliability) -> str:
    lines = [
        f"{name}: expected calibration error {found.error:.4f}, Brier {found.brier:.4f} "
        f"(base rate {found.base_brier:.4f}), worst miss {max(t.miss for t in found.tenths):.3f}"
    ]
    lines += [
        f"  {t.predicted:.3f}  {t.realized:.3f}  ({t.low:.3f}-{t.high:.3f})  {t.count}" for t in found.tenths
    ]
    return "\n".join(lines)


def fit_later(card: str, moments: list[Moment], few: int, jobs: int) -> tuple[int, list[float]]:
    """Return how many tiles from later exchanges make the mean prediction nearest to the share realized.

    Args:
        card: Name of the card.
        moments: Moments after one round.
        few: How many of them are predicted; the share is that of all.
        jobs: Processes.

    Returns:
        The number, and the mean prediction with each of `LATERS`.
    """
    futures = tuple((later, each.draws, each.claims) for later in LATERS for each in CHOOSING.lengths)
    chances = spread(partial(chance_under, card, futures), moments[:few], jobs)
    shares = np.array([each.share for each in CHOOSING.lengths])
    means = (chances.reshape(-1, len(LATERS), len(CHOOSING.lengths)) @ shares).mean(axis=0)
    came = float(np.mean([moment.won for moment in moments]))
    return LATERS[int(np.abs(means - came).argmin())], means.round(3).tolist()


def fewest(
    chances: NDArray[np.float64], happened: NDArray[np.bool_], size: int
) -> tuple[list[int], NDArray[np.float64]]:
    """Return the so many lengths, with shares, under which the outcomes are likeliest."""
    best: tuple[float, list[int], NDArray[np.float64]] | None = None
    for columns in combinations(range(chances.shape[1]), size):
        some = chances[:, columns]
        shares = fit_shares(some, happened, steps=500, tolerance=1e-6)
        likely = np.where(happened, some @ shares, 1 - some @ shares)
        score = float(np.log(np.maximum(likely, 1e-12)).sum())
        if best is None or score > best[0]:
            best = score, list(columns), shares
    assert best is not None
    return best[1], best[2]


def fit_and_judge_lengths(card: str, moments: list[Moment], jobs: int) -> None:
    """Print the lengths of play that make outcomes when play begins likeliest, judged on odd shuffles."""
    happened = np.array([m.won for m in moments])
    fits = np.array([m.shuffle % 2 == 0 for m in moments])
    chances = spread(partial(chance_under, card, (FIRST, *GRID)), moments, jobs)
    first, chances = chances[:, 0], chances[:, 1:]
    print(f"{len(moments)} moments, {happened.mean():.3f} completed a hand")
    print(table("15 draws and 22 claims, held out", reliability(first[~fits], happened[~fits])))
    shares = fit_shares(chances[fits], happened[fits], steps=50_000, tolerance=1e-8)
    fitted = [(*future[1:], share) for future, share in zip(GRID, shares, strict=True) if share > 0.01]
    print("any lengths:", ", ".join(f"{d} and {c}: {share:.2f}" for d, c, share in fitted))
    print(table("any lengths, held out", reliability(chances[~fits] @ shares, happened[~fits])))
    for size in (1, 2):
        columns, shares = fewest(chances[fits], happened[fits], size)
        named = ", ".join(f"{GRID[c][1:]}: {share:.2f}" for c, share in zip(columns, shares, strict=True))
        judged = reliability(chances[~fits][:, columns] @ shares, happened[~fits])
        print(table(f"best {size} ({named}), held out", judged))


def judge_rounds(card: str, moments: list[Moment], most: int, few: int, jobs: int) -> None:
    """Print, after every round, what later exchanges are worth and how true the chances stated are."""
    for round_ in (*Round, None):
        some = [m for m in moments if m.round is round_]
        judges = [m for m in some if m.shuffle % 2 or not few][:most]
        name = round_.value if round_ else "play begins"
        if round_ and few:
            even = [m for m in some if m.shuffle % 2 == 0]
            later, means = fit_later(card, even, few, jobs)
            print(f"{name}: {later} tiles from later exchanges; mean predictions {means}")
        predicted = spread(partial(stated, card), judges, jobs)
        found = reliability(predicted, np.array([m.won for m in judges]))
        print(table(f"  {name}, held out", found), flush=True)


# One target alone.

STAGES = (*Round, None)
RANKS = 10
LENGTHS_TRIED = tuple(product((12, 16, 20, 24, 28), (0, 4, 8, 12, 18, 24)))
LATERS_ALONE = (-3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14)


def play_alone(card_name: str, seed: int, number: int) -> dict[str, Any]:
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


def fit_lengths_alone(card_name: str, fits: list[AloneAt], judges: list[AloneAt]) -> None:
    """Print the one and the two lengths that make outcomes when play begins likeliest, judged on others."""
    chances = predicted(card_name, fits, 0, LENGTHS_TRIED)
    won = _won(fits)
    for size in (1, 2):
        columns, shares = fewest(chances, won, size)
        some = tuple(LENGTHS_TRIED[column] for column in columns)
        named = ", ".join(f"{length}: {share:.2f}" for length, share in zip(some, shares, strict=True))
        judged = reliability(predicted(card_name, judges, 0, some) @ shares, _won(judges))
        print(table(f"best {size} ({named}), held out", judged), flush=True)


def fit_later_alone(card_name: str, fits: list[AloneAt]) -> tuple[int, list[float]]:
    """Return how many tiles from later exchanges make the mean prediction nearest to the share realized.

    Returns:
        The number, and the mean prediction with each of `LATERS_ALONE`.
    """
    means = [float(shipped(card_name, fits, later).mean()) for later in LATERS_ALONE]
    return LATERS_ALONE[int(np.abs(np.array(means) - _won(fits).mean()).argmin())], np.round(
        means, 3
    ).tolist()


def shipped(card_name: str, moments: list[AloneAt], later: int) -> NDArray[np.float64]:
    """Return (moments,) reach by the lengths shipped, with so many tiles from later exchanges."""
    lengths = tuple((each.draws, each.claims) for each in ALONE.lengths)
    return predicted(card_name, moments, later, lengths) @ np.array([each.share for each in ALONE.lengths])


def _won(moments: list[AloneAt]) -> NDArray[np.bool_]:
    return np.array([moment.won for moment in moments])


def judge_alone(card: str, file: Path, fresh: int | None, few: int) -> None:
    """Print lengths and what later exchanges are worth to a player of one target, and how true both are."""
    moments = moments_alone(games_of(file)[1])
    for stage in (None, *Round):
        fits, judges = split(moments[stage], fresh)
        name, later = "play begins", 0
        if stage is None:
            fit_lengths_alone(card, fits[:few], judges)
        else:
            name, later = stage.value, ALONE.later[ORDER.index(stage)]
            best, means = fit_later_alone(card, fits[:few])
            print(f"{name}: {best} tiles from later exchanges; mean predictions {means}")
        judged = reliability(shipped(card, judges, later), _won(judges))
        print(table(f"{name}, as shipped, held out", judged), flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=("lengths", "rounds", "alone"))
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--rule", default="advised")
    parser.add_argument("--most", type=int, default=100_000, help="most moments judged")
    parser.add_argument("--few", type=int, default=300, help="most moments fitted to; 0: fitted to none")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--card", default="full", help="alone: the card")
    parser.add_argument("--games", type=int, default=16_000, help="alone: games played")
    parser.add_argument("--seed", type=int, default=700, help="alone: their seed")
    parser.add_argument("--fresh", type=int, help="alone: judge from this number on, fit to earlier ones")
    asked = parser.parse_args()
    if asked.what == "alone":
        header = {"card": asked.card, "seed": asked.seed, "code": code_digest()}
        play = partial(play_alone, asked.card, asked.seed)
        try:
            append_games(asked.files[0], header, asked.games, play, asked.jobs)
        except OtherRunError as error:
            parser.error(str(error))
        judge_alone(asked.card, asked.files[0], asked.fresh, asked.few)
        return
    read = [games_of(file) for file in asked.files]
    card, games = read[0][0]["card"], [game for _, some in read for game in some]
    moments = sorted(
        (m for game in games for m in moments_of(game, asked.rule)), key=lambda moment: moment.shuffle
    )
    print(f"{len(games)} games")
    if asked.what == "rounds":
        judge_rounds(card, moments, asked.most, asked.few, asked.jobs)
    else:
        fit_and_judge_lengths(card, [m for m in moments if m.round is None][: asked.most], asked.jobs)


if __name__ == "__main__":
    main()
