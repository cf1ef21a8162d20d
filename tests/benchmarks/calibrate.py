"""Are the chances true? Lengths of play fitted to half the shuffles, judged on the other half.

Run: python -m tests.benchmarks.calibrate GAMES.jsonl [MORE.jsonl] [--most 6000] [--jobs 2]
     python -m tests.benchmarks.calibrate GAMES.jsonl [MORE.jsonl] --rounds [--plot FILE.svg]

Reads games made by `simulate` with the advice in some seats. Even shuffles fit, odd ones judge. The second
form judges what answers state after every round; with `--few 0` on all shuffles, for games that nothing was
fitted to.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import combinations, product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solver.arrivals import LENGTHS, Arrivals, after_the_exchanges, arrivals_alone, default_arrivals
from solver.passes import score
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import missing
from solver.rounds import Round
from solver.situation import N_NATURALS, Situation, tables_of
from solver.table.fit import Reliability, fit_shares, reliability
from solver.why import Standings, union
from tests.benchmarks.games import Moment, card_of, games_of, moments_of
from tests.benchmarks.plots import reliability_plot

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
        coming = default_arrivals(moment.round, moment.coming) if moment.round else after_the_exchanges()
        alone = arrivals_alone(moment.round, moment.coming)
        situation = Situation(moment.kept, moment.seen, coming)
        whole = score(situation, tables, np.ones(len(tables.card.hands)), ())
        found[row] = Standings(situation, tables, whole, whole, alone).some_hand
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
    futures = tuple((later, each.draws, each.claims) for later in LATERS for each in LENGTHS)
    chances = spread(partial(chance_under, card, futures), moments[:few], jobs)
    shares = np.array([each.share for each in LENGTHS])
    means = (chances.reshape(-1, len(LATERS), len(LENGTHS)) @ shares).mean(axis=0)
    came = float(np.mean([moment.won for moment in moments]))
    return LATERS[int(np.abs(means - came).argmin())], means.round(3).tolist()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--rule", default="advised")
    parser.add_argument("--most", type=int, default=100_000)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--rounds", action="store_true", help="judge the default lengths after every round")
    parser.add_argument(
        "--few", type=int, default=300, help="moments a round fitted to; 0: games not fitted to"
    )
    parser.add_argument("--plot", type=Path)
    asked = parser.parse_args()
    read = [games_of(file) for file in asked.files]
    header, games = read[0][0], [game for _, some in read for game in some]
    moments = sorted(
        (m for game in games for m in moments_of(game, asked.rule)), key=lambda moment: moment.shuffle
    )
    if asked.rounds:
        found = {}
        for round_ in (*Round, None):
            some = [m for m in moments if m.round is round_]
            judges = [m for m in some if m.shuffle % 2 or not asked.few][: asked.most]
            name = round_.value if round_ else "play begins"
            if round_ and asked.few:
                even = [m for m in some if m.shuffle % 2 == 0]
                later, means = fit_later(header["card"], even, asked.few, asked.jobs)
                print(f"{name}: {later} tiles from later exchanges; mean predictions {means}")
            predicted = spread(partial(stated, header["card"]), judges, asked.jobs)
            found[name] = reliability(predicted, np.array([m.won for m in judges]))
            print(table(f"  {name}, held out", found[name]), flush=True)
        if asked.plot:
            asked.plot.write_text(reliability_plot(found), encoding="utf-8")
        return
    moments = [m for m in moments if m.round is None][: asked.most]
    happened = np.array([m.won for m in moments])
    fits = np.array([m.shuffle % 2 == 0 for m in moments])
    chances = spread(partial(chance_under, header["card"], (FIRST, *GRID)), moments, asked.jobs)
    first, chances = chances[:, 0], chances[:, 1:]
    print(f"{len(games)} games, {len(moments)} moments, {happened.mean():.3f} completed a hand")
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


if __name__ == "__main__":
    main()
