"""Are the chances true? Lengths of play fitted to half the shuffles, judged on the other half.

Run: python -m tests.benchmarks.calibrate GAMES.jsonl [MORE.jsonl] [--most 6000] [--jobs 2]
     python -m tests.benchmarks.calibrate GAMES.jsonl [MORE.jsonl] --rounds [--plot FILE.svg]

Reads games made by `simulate` with the advice in some seats. Even shuffles fit, odd ones judge. The second
form judges the default lengths (fitted to the even shuffles) after every round.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import combinations, product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from patterns.card_file import shipped_card
from solver.arrivals import LATER_EXCHANGES, LENGTHS, Arrivals
from solver.calibration.lengths import fit_shares, some_hand
from solver.calibration.reliability import Reliability, reliability
from solver.card_tables import N_NATURALS, tables_of
from solver.reach.evaluate import Demands, reach_of
from solver.reach.states import missing
from solver.rounds import Round
from solver.situation import Situation
from tests.benchmarks.games import Moment, games_of, moments_of
from tests.benchmarks.plots import reliability_plot

DRAWS = (4, 8, 12, 16, 20, 24, 30)
CLAIMS = (0, 4, 8, 12, 18, 24)
# Tiles from later exchanges, draws, claims.
Future = tuple[int, int, int]
GRID: tuple[Future, ...] = tuple((0, *length) for length in product(DRAWS, CLAIMS))
FIRST: Future = (0, 15, 22)
MOST_LATER = 12
_FEWEST = 100


def reach_under(card_name: str, futures: tuple[Future, ...], moments: list[Moment]) -> NDArray[np.float64]:
    """Return (moments, futures, hands) reach."""
    tables = tables_of(shipped_card(card_name))
    starts = tables.first_of_hand()
    found = np.zeros((len(moments), len(futures), len(starts)))
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
            found[row, column] = np.maximum.reduceat(reach, starts)
    return found


def spread(card: str, futures: tuple[Future, ...], moments: list[Moment], jobs: int) -> NDArray[np.float64]:
    """Return (moments, futures) chance of some hand, worked out by several processes."""
    parts = [moments[start : start + 50] for start in range(0, len(moments), 50)]
    with ProcessPoolExecutor(jobs) as pool:
        done = []
        for part in pool.map(partial(reach_under, card, futures), parts):
            done.append(some_hand(part))
            print(f"\r{50 * len(done)}/{len(moments)}", end="", file=sys.stderr)
    print(file=sys.stderr)
    return np.concatenate(done)


def table(name: str, found: Reliability) -> str:
    lines = [
        f"{name}: expected calibration error {found.error:.4f}, Brier {found.brier:.4f} "
        f"(base rate {found.base_brier:.4f}), worst miss {max(t.miss for t in found.tenths):.3f}"
    ]
    lines += [
        f"  {t.predicted:.3f}  {t.realised:.3f}  ({t.low:.3f}-{t.high:.3f})  {t.count}" for t in found.tenths
    ]
    return "\n".join(lines)


def by_rounds(
    card: str, moments: list[Moment], most: int, jobs: int
) -> Iterator[tuple[str, int, float, Reliability]]:
    """Judge the default lengths after every round, and when play begins, on the odd shuffles.

    Yields:
        The round's name; how many tiles from later exchanges make the even shuffles' outcomes likeliest;
        how much less likely (in nats a moment) they are with the default; and the default's reliability.
    """
    for round_ in (*Round, None):
        some = [m for m in moments if m.round is round_][: 2 * most]
        if len(some) < _FEWEST:
            continue
        laters = range(MOST_LATER + 1) if round_ else range(1)
        futures = tuple((later, each.draws, each.claims) for later in laters for each in LENGTHS)
        shares = np.array([each.share for each in LENGTHS])
        parts = spread(card, futures, some, jobs).reshape(len(some), len(laters), len(LENGTHS))
        chances = parts @ shares
        happened, odd = np.array([m.won for m in some]), np.array([m.shuffle % 2 == 1 for m in some])
        likely = np.log(np.where(happened[:, None], chances, 1 - chances))[~odd].mean(axis=0)
        default = LATER_EXCHANGES[round_] if round_ else 0
        best = int(likely.argmax())
        name = round_.value if round_ else "play begins"
        judged = reliability(chances[odd, default], happened[odd])
        yield name, best, float(likely[best] - likely[default]), judged


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--rule", default="advised")
    parser.add_argument("--most", type=int, default=100_000)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--rounds", action="store_true", help="judge the default lengths after every round")
    parser.add_argument("--plot", type=Path)
    asked = parser.parse_args()
    read = [games_of(file) for file in asked.files]
    header, games = read[0][0], [game for _, some in read for game in some]
    moments = [m for game in games for m in moments_of(game, asked.rule)]
    if asked.rounds:
        found = {}
        for name, later, loss, judged in by_rounds(header["card"], moments, asked.most, asked.jobs):
            found[name] = judged
            print(f"{name}: likeliest with {later} tiles from later exchanges (default less by {loss:.5f})")
            print(table("  default", judged), flush=True)
        if asked.plot:
            asked.plot.write_text(reliability_plot(found), encoding="utf-8")
        return
    moments = [m for m in moments if m.round is None][: asked.most]
    happened = np.array([m.won for m in moments])
    even = np.array([m.shuffle % 2 == 0 for m in moments])
    chances = spread(header["card"], (FIRST, *GRID), moments, asked.jobs)
    first, chances = chances[:, 0], chances[:, 1:]
    print(f"{len(games)} games, {len(moments)} moments, {happened.mean():.3f} completed a hand")
    print(table("15 draws and 22 claims, held out", reliability(first[~even], happened[~even])))
    shares = fit_shares(chances[even], happened[even], steps=50_000, tolerance=1e-8)
    fitted = [(*future[1:], share) for future, share in zip(GRID, shares, strict=True) if share > 0.01]
    print("any lengths:", ", ".join(f"{d} and {c}: {share:.2f}" for d, c, share in fitted))
    print(table("any lengths, held out", reliability(chances[~even] @ shares, happened[~even])))
    for size in (1, 2):
        columns, shares = fewest(chances[even], happened[even], size)
        named = ", ".join(f"{GRID[c][1:]}: {share:.2f}" for c, share in zip(columns, shares, strict=True))
        judged = reliability(chances[~even][:, columns] @ shares, happened[~even])
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
