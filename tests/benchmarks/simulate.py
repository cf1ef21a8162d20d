"""Simulated tables by the thousand, appended to a file as they finish; run again to go on.

Run: python -m tests.benchmarks.simulate FILE --rules advised,careful,careful,careful --games 2000 [--jobs 2]

Each shuffle is played four times, the rules moved one seat on each time, so that every rule meets every
seat's luck. Progress goes to stderr. The file is JSON Lines: first what was asked and a digest of the code
and the card, then one finished game a line, in any order. Going on with another request, another card or
other code is refused; a torn last line is cut off.
"""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import Any

from solver.arrivals import Arrivals
from solver.table.charleston import PassRule
from solver.table.game import Game, play_game
from solver.table.players import ByWorth, Careful, Nearest, Objective, RandomLegal
from tests.benchmarks.appending import OtherRunError, append_games, code_digest
from tests.benchmarks.games import card_of

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


def play(card: str, names: list[str], seed: int, second: bool, number: int) -> dict[str, Any]:
    """Play one game; every four share a shuffle."""
    turn = number % 4
    rules = [names[(seat - turn) % 4] for seat in range(4)]
    game = play_game(card_of(card), [RULES[name] for name in rules], seed, number // 4, second=second)
    return as_line(game, number, rules)


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
    task = partial(play, asked.card, names, asked.seed, not asked.no_second)
    try:
        append_games(asked.file, header, asked.games, task, asked.jobs)
    except OtherRunError as error:
        parser.error(str(error))


if __name__ == "__main__":
    main()
