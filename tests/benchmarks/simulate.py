"""Simulated tables by the thousand, appended to a file as they finish; run again to go on.

Run: python -m tests.benchmarks.simulate FILE --rules advised,careful,careful,careful --games 2000 [--jobs 2]

Each shuffle is played four times, the rules moved one seat on each time, so that every rule meets every
seat's luck. Progress goes to stderr. The file is JSON Lines: first what was asked and a digest of the code
and the card, then one finished game a line, in any order. Going on with another request, another card or
other code is refused; a torn last line is cut off.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from multiprocessing import Pool
from pathlib import Path
from typing import Any

from patterns.card_file import shipped_card
from solver.arrivals import Arrivals
from solver.table.by_worth import ByWorth, Objective
from solver.table.game import Game, play_game
from solver.table.rules import Careful, Nearest, RandomLegal
from solver.table.seat import PassRule

ROOT = Path(__file__).parents[2]
# The first version of the advice assumed one length of play.
FIRST = Arrivals(0, 15, 22)
RULES: dict[str, PassRule] = {
    rule.name: rule
    for rule in (
        ByWorth(),
        ByWorth("first-version", coming=FIRST),
        ByWorth("18-and-6", coming=Arrivals(0, 18, 6)),
        ByWorth("24-and-12", coming=Arrivals(0, 24, 12)),
        ByWorth("single", Objective.SINGLE),
        ByWorth("some", Objective.SOME),
        ByWorth("roots", Objective.ROOTS),
        ByWorth("squares", Objective.SQUARES),
        Careful(),
        Nearest(),
        RandomLegal(),
    )
}
_cards: dict[str, Any] = {}


def code_digest() -> str:
    """Return a digest of all code and cards that a game depends on."""
    digest = hashlib.sha256()
    for folder in ("patterns", "solver"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml", ".lark"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def as_line(game: Game, number: int, rules: list[str]) -> dict[str, Any]:
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
    }


def play(task: tuple[str, list[str], int, int, bool]) -> str:
    card, names, seed, number, second = task
    if card not in _cards:
        _cards[card] = shipped_card(card)
    turn = number % 4
    rules = [names[(seat - turn) % 4] for seat in range(4)]
    game = play_game(_cards[card], [RULES[name] for name in rules], seed, number // 4, second=second)
    return json.dumps(as_line(game, number, rules), separators=(",", ":"))


class OtherRunError(Exception):
    """The file was made by another request or other code."""


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


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--card", default="full")
    parser.add_argument("--rules", default="advised,careful,careful,careful")
    parser.add_argument("--games", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--no-second", action="store_true")
    asked = parser.parse_args()
    names = asked.rules.split(",")
    if len(names) != 4 or not set(names) <= set(RULES):
        parser.error(f"four rules of: {', '.join(RULES)}")
    header = {
        "card": asked.card,
        "rules": names,
        "seed": asked.seed,
        "second": not asked.no_second,
        "code": code_digest(),
    }
    try:
        done = finished(asked.file, header)
    except OtherRunError as error:
        parser.error(str(error))
    left = [number for number in range(asked.games) if number not in done]
    tasks = [(asked.card, names, asked.seed, number, not asked.no_second) for number in left]
    begun = time.monotonic()
    with asked.file.open("a", encoding="utf-8") as file, Pool(asked.jobs) as pool:
        try:
            for count, line in enumerate(pool.imap_unordered(play, tasks), start=1):
                file.write(line + "\n")
                file.flush()
                if count % 20 == 0 or count == len(tasks):
                    pace = (time.monotonic() - begun) / count
                    print(
                        f"\r{len(done) + count}/{asked.games} games, {pace:.2f} s each,"
                        f" {pace * (len(tasks) - count) / 60:.1f} min left",
                        end="",
                        file=sys.stderr,
                    )
        except KeyboardInterrupt:
            print("\nstopped; what is finished is kept", file=sys.stderr)
            raise SystemExit(130) from None
    print(file=sys.stderr)


if __name__ == "__main__":
    main()
