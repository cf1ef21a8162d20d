"""Simulated tables by the thousand, appended to a file as they finish; run again to go on.

Run: python tests/benchmarks/simulate.py FILE --rules advised,careful,careful,careful --games 2000 [--jobs 2]

Each shuffle is played four times, the rules moved one seat on each time, so that every rule meets every
seat's luck. Progress goes to stderr. The file is JSON Lines, one finished game a line, in any order; a
torn last line is dropped when going on.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import dataclass, replace
from multiprocessing import Pool
from pathlib import Path
from typing import Any

from patterns.card import Card
from patterns.card_file import shipped_card
from solver.question import Question
from solver.rounds import Round
from solver.table.game import Game, play_game
from solver.table.rules import Advised, Careful, Nearest, RandomLegal
from solver.table.seat import PassRule, Seat


@dataclass(frozen=True)
class Lean(Advised):
    """The tool's advice with other draws and claims than the defaults."""

    name: str = "lean"
    draws: int = 18
    claims: int = 6

    def _question(self, card: Card, seat: Seat, round_: Round, count: int) -> Question:
        question = super()._question(card, seat, round_, count)
        arrivals = replace(question.situation.arrivals, draws=self.draws, claims=self.claims)
        return replace(question, arrivals=arrivals)


RULES: dict[str, PassRule] = {
    rule.name: rule for rule in (Advised(), Lean(), Careful(), Nearest(), RandomLegal())
}
_card: Any = None


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
    global _card
    card, names, seed, number, second = task
    if _card is None or _card[0] != card:
        _card = (card, shipped_card(card))
    turn = number % 4
    rules = [names[(seat - turn) % 4] for seat in range(4)]
    game = play_game(_card[1], [RULES[name] for name in rules], seed, number // 4, second=second)
    return json.dumps(as_line(game, number, rules), separators=(",", ":"))


def finished(path: Path) -> set[int]:
    """Return the numbers of the games in a file, after dropping a torn last line."""
    if not path.exists():
        return set()
    text = path.read_text(encoding="utf-8")
    whole = text[: text.rfind("\n") + 1]
    if whole != text:
        path.write_text(whole, encoding="utf-8")
    return {json.loads(line)["game"] for line in whole.splitlines()}


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
    done = finished(asked.file)
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
