"""How strong is the advice? Simulated tables by the thousand, and which players win.

Run: python -m tests.benchmarks.simulate FOLDER --games 2000 [--rules RULES ...] [--again 5] [--seed 1]

RULES are those of the four seats, as in ``advised,careful,careful,careful``; by default one advised player
sits with three of each rival kind, on both cards. Each shuffle is played four times, the rules moved one
seat on each time, so that every rule meets every seat's luck, and each game is played on from its Charleston
with other walls, too (``--again``): most of the luck is in the wall.

Each table's games are a file of the folder, JSON Lines: first what was asked, then one game a line in any
order. Only games that a file lacks are played. Then all files are read: a player's share of a Charleston is
the mean over its walls. The games of one shuffle share their luck, so 95 % intervals come from resampling
whole shuffles (2,000 times, fixed seed). Files with the same card, seed and rivals met the same shuffles and
walls: their first rules are compared on the games of both.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from functools import cache, partial
from itertools import combinations
from multiprocessing import Pool
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.card_file import card_from_toml, shipped_card
from solver.deals import Luck
from solver.table.charleston import PassRule
from solver.table.game import play_again, play_game
from solver.table.players import ByWorth, Careful
from tests.solver.table.rivals import ByPower, Nearest, RandomLegal

PLAYERS: dict[str, PassRule] = {
    "advised": ByWorth(),
    "sum": ByPower(1),
    "careful": Careful(),
    "nearest": Nearest(),
    "random": RandomLegal(),
}
# Parts the luck of the walls played again from that of the games.
_AGAIN = 0x5EC0_4DAA
_SAMPLES = 2_000
_RULES = [",".join(["advised", *[rival] * 3]) for rival in ("careful", "nearest", "random")]

Games = list[dict[str, Any]]


@cache
def card_of(name: str) -> Card:
    """Return a shipped card by its name, or any card by the path of its file; reading takes half a game."""
    if name.endswith(".toml"):
        return card_from_toml(Path(name).read_text(encoding="utf-8"), Path(name).stem)
    return shipped_card(name)


@cache
def rule_of(name: str) -> PassRule:
    """Return the rule of a name: advised, sum, careful, nearest, random, or power-X with X a number."""
    if name.startswith("power-"):
        return ByPower(float(name.removeprefix("power-")))
    return PLAYERS[name]


def play(asked: dict[str, Any], number: int) -> dict[str, Any]:
    """Play one game of those that a file's header asks for; every four share a shuffle."""
    card, seed, turn = card_of(asked["card"]), asked["seed"], number % 4
    rules = [asked["rules"][(seat - turn) % 4] for seat in range(4)]
    game = play_game(card, [rule_of(name) for name in rules], seed, number // 4)
    walls = [Luck(_AGAIN, seed, number // 4, time) for time in range(asked["again"])]
    return {
        "game": number,
        "rules": rules,
        "passes": [
            [made.seat, made.round.value, [t.value for t in made.held], [t.value for t in made.given]]
            for made in game.passes
        ],
        "starts": [[[t.value for t in s.rack.tiles], [t.value for t in s.seen()]] for s in game.seats],
        "winner": game.ending.winner,
        "drawn": game.ending.drawn,
        "again": [play_again(card, game.seats, luck).winner for luck in walls],
    }


def play_all(path: Path, header: dict[str, Any], games: int, jobs: int) -> None:
    """Play the games that a file lacks, each written as soon as it is finished."""
    if not path.exists():
        path.write_text(json.dumps(header) + "\n", encoding="utf-8")
    there, found = games_of(path)
    if there != header:
        sys.exit(f"{path.name} holds other games")
    os.truncate(path, path.read_bytes().rfind(b"\n") + 1)
    left = sorted(set(range(games)) - {game["game"] for game in found})
    begun = time.monotonic()
    with path.open("a", encoding="utf-8") as file, Pool(jobs) as pool:
        for count, game in enumerate(pool.imap_unordered(partial(play, header), left), start=1):
            file.write(json.dumps(game, separators=(",", ":")) + "\n")
            file.flush()
            more = len(left) - count
            minutes = (time.monotonic() - begun) / count * more / 60
            print(f"\r{path.name}: {more} games, {minutes:.1f} min left", end="", file=sys.stderr)
    print(file=sys.stderr)


def games_of(path: Path) -> tuple[dict[str, Any], Games]:
    """Return a file's header and its whole games in order of number."""
    lines = path.read_text(encoding="utf-8").split("\n")[:-1]
    games = [json.loads(line) for line in lines[1:]]
    return json.loads(lines[0]), sorted(games, key=lambda game: game["game"])


def wins_by_shuffle(games: Games, rules: list[str]) -> NDArray[np.float64]:
    """Return (shuffles, rules, 2): games won, each the mean of its walls, and games sat in, seat by seat."""
    row = {shuffle: index for index, shuffle in enumerate(sorted({game["game"] // 4 for game in games}))}
    found = np.zeros((len(row), len(rules), 2))
    for game in games:
        winners = [game["winner"], *game["again"]]
        for seat, name in enumerate(game["rules"]):
            if name in rules:
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


def tell(header: dict[str, Any], games: Games) -> str:
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


def compared(files: list[tuple[dict[str, Any], Games]]) -> list[str]:
    """Return, for each two files that met the same shuffles and walls, how their first rules compare."""
    lines = []
    for (header, games), (other, others) in combinations(files, 2):
        rules = [each["rules"] for each in (header, other)]
        alike = all(header[same] == other[same] for same in ("card", "seed", "again"))
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
    parser.add_argument("--rules", nargs="+", default=_RULES)
    parser.add_argument("--cards", nargs="+", default=["full", "small"], help="names, or paths of card files")
    parser.add_argument("--again", type=int, default=5, help="play each game on with so many other walls")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    for card in asked.cards:
        for rules in asked.rules:
            file = asked.folder / f"{Path(card).stem}-{rules}-{asked.seed}.jsonl"
            header = {"card": card, "rules": rules.split(","), "seed": asked.seed, "again": asked.again}
            play_all(file, header, asked.games, asked.jobs)
    files = [games_of(file) for file in sorted(asked.folder.glob("*.jsonl"))]
    print("\n".join([*(tell(*file) for file in files), *compared(files)]))


if __name__ == "__main__":
    main()
