"""How strong is the advice? Advised players against careful, nearest-target and random ones, on both cards.

Run: python -m tests.benchmarks.strength FOLDER --games 2000 [--again 5] [--seed 1] [--jobs 2]

At each table sits one advised player with three of one rival kind. Files of games in the folder are made by
`simulate`, go on where they stopped, and show progress on stderr; then every file of games in the folder is
read, also others that `simulate` made (four rules head to head). With ``--games 0`` nothing is played.

Each game is played on from its Charleston with other walls, too (``--again``): most of the luck is in the
wall. A player's share of a Charleston is the mean over its walls. The games of one shuffle share their luck,
so 95 % intervals come from resampling whole shuffles (2,000 times, fixed seed). Files with the same card,
seed and rivals met the same shuffles and walls: their first rules are compared on the games of both.
"""

from __future__ import annotations

import argparse
import sys
from functools import partial
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.simulate import OtherRunError, append_games, asked_for, games_of, play

_SAMPLES = 2_000
RIVALS = ("careful", "nearest", "random")


def wins_by_shuffle(games: list[dict[str, Any]], rules: list[str]) -> NDArray[np.float64]:
    """Return (shuffles, rules, 2): games won, each the mean of its walls, and games sat in, seat by seat."""
    row = {shuffle: index for index, shuffle in enumerate(sorted({game["game"] // 4 for game in games}))}
    found = np.zeros((len(row), len(rules), 2))
    for game in games:
        winners = [game["winner"], *game["again"]]
        for seat, name in enumerate(game["rules"]):
            if name not in rules:
                continue
            share = winners.count(seat) / len(winners)
            found[row[game["game"] // 4], rules.index(name)] += (share, 1)
    return found


def shares_of(wins: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return (1 + samples, rules) shares won: as they came, then of shuffles drawn again."""
    picks = np.random.default_rng(1).integers(len(wins), size=(_SAMPLES, len(wins)))
    total = np.stack([wins.sum(axis=0), *(wins[rows].sum(axis=0) for rows in picks)])
    shares: NDArray[np.float64] = total[..., 0] / total[..., 1]
    return shares


def interval(values: NDArray[np.float64]) -> tuple[float, float, float]:
    """Return the first of the values, as it came, and a 95 % interval by the others."""
    low, high = np.quantile(values[1:], (0.025, 0.975), method="nearest").tolist()
    return float(values[0]), low, high


def ratio(first: NDArray[np.float64], other: NDArray[np.float64]) -> str:
    """Return how many times as great the first shares are; infinitely so where the others are 0."""
    times = np.divide(first, other, out=np.full_like(first, np.inf), where=other > 0)
    return "{:.3f} times as often ({:.3f}-{:.3f})".format(*interval(times))


def tell(header: dict[str, Any], games: list[dict[str, Any]]) -> str:
    """Return what the games of a file say, in words."""
    rules = list(dict.fromkeys(header["rules"]))
    walls = 1 + header["again"]
    drawn = np.mean([game["drawn"] for game in games])
    dead = np.mean([winner is None for game in games for winner in (game["winner"], *game["again"])])
    lines = [
        f"{header['card']} card, {', '.join(header['rules'])}: {len(games)} games of seed {header['seed']},"
        f" {walls} walls each; {drawn:.1f} tiles drawn, {100 * dead:.1f} % dead walls"
    ]
    shares = shares_of(wins_by_shuffle(games, rules))
    for place, rule in enumerate(rules):
        share, low, high = interval(100 * shares[:, place])
        line = f"  {rule:<14} wins {share:5.2f} % ({low:.2f}-{high:.2f})"
        for other, name in enumerate(rules[:place]):
            line += f"; {name} {ratio(shares[:, other], shares[:, place])}"
        lines.append(line)
    return "\n".join(lines)


def compared(files: list[tuple[dict[str, Any], list[dict[str, Any]]]]) -> list[str]:
    """Return, for each two files that met the same shuffles and walls, how their first rules compare."""
    lines = []
    for (header, games), (other, others) in combinations(files, 2):
        rules = [each["rules"] for each in (header, other)]
        alike = all(header[same] == other[same] for same in ("card", "seed", "again", "second"))
        if not alike or rules[0][1:] != rules[1][1:]:
            continue
        numbers = {game["game"] for game in games} & {game["game"] for game in others}
        wins = [
            wins_by_shuffle([game for game in some if game["game"] in numbers], own)
            for some, own in ((games, rules[0][:1]), (others, rules[1][:1]))
        ]
        shares = shares_of(np.concatenate(wins, axis=1))
        lines.append(
            f"{header['card']} card, {len(numbers)} games of both: {rules[0][0]}"
            f" {ratio(shares[:, 0], shares[:, 1])}, beside {rules[1][0]}"
        )
    return lines


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--games", type=int, default=2_000, help="of each table; every four share a shuffle")
    parser.add_argument("--again", type=int, default=5, help="play each game on with so many other walls")
    parser.add_argument("--cards", nargs="+", default=["full", "small"], help="names, or paths of card files")
    parser.add_argument("--rivals", nargs="+", default=RIVALS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    for card in asked.cards if asked.games else ():
        for rival in asked.rivals:
            file = asked.folder / f"{Path(card).stem}-{rival}-{asked.seed}.jsonl"
            print(file.name, file=sys.stderr)
            header = asked_for(card, ["advised", *[rival] * 3], asked.seed, again=asked.again)
            try:
                append_games(file, header, asked.games, partial(play, header), asked.jobs)
            except OtherRunError as error:
                parser.error(str(error))
    files = [games_of(file) for file in sorted(asked.folder.glob("*.jsonl"))]
    print("\n".join([*(tell(*file) for file in files), *compared(files)]))


if __name__ == "__main__":
    main()
