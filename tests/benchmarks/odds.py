"""Are the odds true? What answers state, held against fresh games.

Run: python -m tests.benchmarks.odds CARD_OR_FILE ... [--games 200] [--seed 9001] [--estimate]

Each card is judged by the fit beside it (practice cards bring theirs), or with ``--estimate`` by the estimate
that a card without one gets. One advised and three careful players; every Charleston is played to the end
with six walls: three freely, for the chance of some hand after each pass and as play begins, and three with
the advised player bound to one target, the likeliest in some games, down to the tenth likeliest in others.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from api import words
from api.answers.cards import checked
from patterns.card import Card
from patterns.card_file import FIT_ENDING, card_from_toml, shipped_card, shipped_names
from patterns.fit_file import fit_from_toml, shipped_fit
from solver.arrivals import Fit, Make
from solver.limits import Limits, hand_weights
from solver.odds import estimate
from solver.passes import score
from solver.rounds import ORDER
from solver.situation import tables_of
from solver.table.fitting import Judged, Played, judge, play
from solver.why import Standings


def read(name: str, by_estimate: bool) -> tuple[Card, Fit | None]:
    """Return a card and what makes its odds true."""
    if name in shipped_names():
        card = shipped_card(name)
        return card, estimate(card) if by_estimate else checked(shipped_fit(name), card)
    path = Path(name)
    card = card_from_toml(path.read_text(encoding="utf-8"), path.name)
    if by_estimate:
        return card, estimate(card)
    beside = path.with_name(path.name.removesuffix(".toml") + FIT_ENDING)
    return card, checked(fit_from_toml(beside.read_text(encoding="utf-8"), beside.name), card)


def stated(card: Card, fit: Fit, game: Played) -> tuple[list[float], float]:
    """Return the chance of some hand after each pass and as play begins, and that of the target alone."""
    tables, weights = tables_of(card), hand_weights(card, Limits())
    some = []
    for round_, give, situation in game.kept:
        whole = score(situation, tables, weights, ())
        odds = fit.odds(round_, give, of_some=True)
        some.append(Standings(situation, tables, whole, whole, odds).some_hand or 0.0)
    coming = odds.alone[int(tables.makes[game.target])]
    target = np.array([game.target])
    alone = replace(situation, arrivals=coming).reach(tables, situation.held, target)
    return some, min(float(alone[0]), some[-1])


def judged(card: Card, fit: Fit, games: list[Played]) -> list[Judged]:
    """Return how true the odds are: of some hand after each pass, and of one hand alone by its make."""
    said = [stated(card, fit, game) for game in games]
    won = [game.won for game in games]
    found = [
        judge(np.array([some[place] for some, _ in said]), won, after, None)
        for place, after in enumerate((*ORDER, None))
    ]
    makes = tables_of(card).makes
    for place, make in enumerate(Make):
        of = [index for index, game in enumerate(games) if makes[game.target] == place]
        if of:
            alone = np.array([said[index][1] for index in of])
            found.append(judge(alone, [games[index].alone_won for index in of], None, make))
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("cards", nargs="+")
    parser.add_argument("--games", type=int, default=200)
    parser.add_argument("--seed", type=int, default=9_001)
    parser.add_argument("--estimate", action="store_true")
    asked = parser.parse_args()
    for name in asked.cards:
        card, fit = read(name, asked.estimate)
        if fit is None:
            print(f"{name}: no estimate can be trusted")
            continue
        games = []
        for number in range(asked.games):
            games.append(play(card, asked.seed, number))
            print(f"\r{name}: {number + 1}/{asked.games} games", end="", file=sys.stderr)
        print(file=sys.stderr)
        print(f"{name}: {fit}", *map(words.judged_words, judged(card, fit, games)), sep="\n  ", flush=True)


if __name__ == "__main__":
    main()
