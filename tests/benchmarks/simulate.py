"""Simulated tables by the thousand, appended to a file as they finish, and read back.

Run: python -m tests.benchmarks.simulate FILE --rules advised,careful,careful,careful --games 2000 [--jobs 2]

Each shuffle is played four times, the rules moved one seat on each time, so that every rule meets every
seat's luck. Progress goes to stderr. The file is JSON Lines: first what was asked and a digest of the code
and the card, then one finished game a line, in any order. The same command goes on where it stopped. Going
on with another request, another card or other code is refused; a torn last line is cut off.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from multiprocessing import Pool
from pathlib import Path
from typing import Any

from patterns.card import Card
from patterns.card_file import card_from_toml, shipped_card
from patterns.rack import Pile
from patterns.tiles import Tile
from solver.deals import Luck
from solver.rounds import Round
from solver.situation import still_elsewhere
from solver.table.charleston import PassRule
from solver.table.game import Game, play_again, play_game
from solver.table.players import ByWorth, Careful
from tests.solver.table.rivals import Nearest, RandomLegal

ROOT = Path(__file__).parents[2]
_PLAYERS: tuple[PassRule, ...] = (ByWorth(), ByWorth("sum", power=1), Careful(), Nearest(), RandomLegal())
# Parts the luck of the walls played again from that of the games.
_AGAIN = 0x5EC0_4DAA


@cache
def card_of(name: str) -> Card:
    """Return a shipped card by its name, or any card by the path of its file; reading takes half a game."""
    if name.endswith(".toml"):
        return card_from_toml(Path(name).read_text(encoding="utf-8"), Path(name).stem)
    return shipped_card(name)


@cache
def rule_of(name: str) -> PassRule:
    """Return the rule of a name: advised, sum, careful, nearest, random, or power-X with X a number.

    Raises:
        KeyError: there is no such rule.
    """
    if name.startswith("power-"):
        return ByWorth(name, power=float(name.removeprefix("power-")))
    return {rule.name: rule for rule in _PLAYERS}[name]


def as_line(game: Game, number: int, rules: list[str], again: list[int | None]) -> dict[str, Any]:
    ending = game.ending
    return {
        "game": number,
        "rules": rules,
        "passes": [
            [made.seat, made.round.value, [t.value for t in made.held], [t.value for t in made.given]]
            for made in game.passes
        ],
        "starts": [[[t.value for t in s.tiles], [t.value for t in s.seen]] for s in game.starts],
        "winner": ending.winner,
        "hand": ending.hand,
        "drawn": ending.drawn,
        "draws": ending.draws,
        "self_drawn": ending.self_drawn,
        "again": again,
    }


def play(asked: dict[str, Any], number: int) -> dict[str, Any]:
    """Play one game of those that a file's header asks for; every four share a shuffle."""
    card, seed, turn = card_of(asked["card"]), asked["seed"], number % 4
    rules = [asked["rules"][(seat - turn) % 4] for seat in range(4)]
    game = play_game(card, [rule_of(name) for name in rules], seed, number // 4, second=asked["second"])
    walls = [Luck(_AGAIN, seed, number // 4, time) for time in range(asked["again"])]
    return as_line(game, number, rules, [play_again(card, game.starts, luck).winner for luck in walls])


def asked_for(
    card: str, rules: list[str], seed: int, *, again: int = 0, second: bool = True
) -> dict[str, Any]:
    """Return the header of a file: what is played, and by what code.

    Args:
        card: Name of a shipped card, or the path of a card's file.
        rules: Names of four rules.
        seed: Names the shuffles.
        again: How often each game is played on from its Charleston with another wall.
        second: Whether the second Charleston is played.
    """
    code = code_digest()
    return {"card": card, "rules": rules, "seed": seed, "second": second, "again": again, "code": code}


class OtherRunError(Exception):
    """The file was made by another request or other code."""


def code_digest() -> str:
    """Return a digest of all code and cards that a game depends on."""
    digest = hashlib.sha256()
    for folder in ("patterns", "solver"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml", ".lark"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def finished(path: Path, header: dict[str, Any]) -> set[int]:
    """Return the numbers of the games in a file; a torn last line is cut off, an absent header written.

    Raises:
        OtherRunError: the file's header is another.
    """
    with path.open("a+b") as file:
        file.seek(0)
        text = file.read()
        whole = text[: text.rfind(b"\n") + 1]
        lines = whole.decode().splitlines()
        if lines and json.loads(lines[0]) != header:
            raise OtherRunError(f"{path.name} was made by another run: {lines[0]}")
        file.truncate(len(whole))
        if not lines:
            file.write((json.dumps(header) + "\n").encode())
    return {json.loads(line)["game"] for line in lines[1:]}


def append_games(
    path: Path, header: dict[str, Any], games: int, play: Callable[[int], dict[str, Any]], jobs: int
) -> None:
    """Play the games that a file does not have yet, and append each as soon as it is finished.

    Args:
        path: The file; its first line is the header, each other line a game with its number as ``game``.
        header: What was asked.
        games: How many the file is to have, numbered from 0.
        play: Plays one; it must be picklable.
        jobs: Processes.

    Raises:
        OtherRunError: the file's header is another.
        SystemExit: interrupted, with 130; what is finished is kept.
    """
    done = finished(path, header)
    left = [number for number in range(games) if number not in done]
    begun = time.monotonic()
    with path.open("a", encoding="utf-8") as file, Pool(jobs) as pool:
        try:
            for count, game in enumerate(pool.imap_unordered(play, left), start=1):
                file.write(json.dumps(game, separators=(",", ":")) + "\n")
                file.flush()
                if count % 20 == 0 or count == len(left):
                    pace = (time.monotonic() - begun) / count
                    print(
                        f"\r{len(done) + count}/{games} games, {pace:.2f} s each,"
                        f" {pace * (len(left) - count) / 60:.1f} min left",
                        end="",
                        file=sys.stderr,
                    )
        except KeyboardInterrupt:
            print("\nstopped; what is finished is kept", file=sys.stderr)
            raise SystemExit(130) from None
    print(file=sys.stderr)


@dataclass(frozen=True)
class Moment:
    """A player just after a pass, or when play begins.

    Attributes:
        shuffle: Number of the shuffle; four games share one.
        round: The pass just made, or None when the exchanges are over.
        kept: Tiles held, what comes in not yet among them.
        seen: Own passes that can still be elsewhere.
        coming: Tiles that come in now, for those just passed.
        won: Whether this player completed a hand.
        hand: Index of the hand completed, or None.
    """

    shuffle: int
    round: Round | None
    kept: Pile
    seen: tuple[Tile, ...]
    coming: int
    won: bool
    hand: int | None


def games_of(path: Path) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return a file's header and its whole games in order of number."""
    lines = path.read_text(encoding="utf-8").split("\n")[:-1]
    games = [json.loads(line) for line in lines[1:]]
    return json.loads(lines[0]), sorted(games, key=lambda game: game["game"])


def moments_of(game: dict[str, Any], rule: str) -> Iterator[Moment]:
    """Yield every moment of the players of one rule."""
    for seat, name in enumerate(game["rules"]):
        if name != rule:
            continue
        shuffle, won = game["game"] // 4, game["winner"] == seat
        hand = game["hand"] if won else None
        passed: list[Tile] = []
        for who, round_, held, given in game["passes"]:
            if who != seat or not given:
                continue
            tiles, away = [Tile(text) for text in held], [Tile(text) for text in given]
            for tile in away:
                tiles.remove(tile)
            passed += away
            counts = {tile: tiles.count(tile) for tile in set(tiles)}
            seen = still_elsewhere(passed, counts)
            yield Moment(shuffle, Round(round_), Pile(tuple(tiles)), seen, len(away), won, hand)
        held, seen_texts = game["starts"][seat]
        start = Pile(tuple(Tile(text) for text in held))
        yield Moment(shuffle, None, start, tuple(Tile(text) for text in seen_texts), 0, won, hand)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--card", default="full")
    parser.add_argument("--rules", default="advised,careful,careful,careful")
    parser.add_argument("--games", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--again", type=int, default=0, help="play each game on with so many other walls")
    parser.add_argument("--no-second", action="store_true")
    asked = parser.parse_args()
    names = asked.rules.split(",")
    try:
        if len([rule_of(name) for name in names]) != 4:
            parser.error("four rules, please")
    except (KeyError, ValueError) as error:
        parser.error(f"no such rule: {error}")
    second = not asked.no_second
    header = asked_for(asked.card, names, asked.seed, again=asked.again, second=second)
    try:
        append_games(asked.file, header, asked.games, partial(play, header), asked.jobs)
    except OtherRunError as error:
        parser.error(str(error))


if __name__ == "__main__":
    main()
