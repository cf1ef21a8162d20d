"""Are the odds true? What answers state, held against fresh games.

Run: python -m tests.benchmarks.odds CARD_OR_FILE ... [--games 200] [--seed 9001] [--estimate] [--other 20]

Each card is judged by the fit beside it (practice cards bring theirs), or with ``--estimate`` by the estimate
that a card without one gets. One advised and three careful players; every Charleston is played to the end
with six walls: three freely, for the chance of some hand after each pass and as play begins, and three with
the advised player bound to one target, the likeliest in some games, down to the tenth likeliest in others.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from api import words
from api.answers.cards import checked
from patterns.card import Card
from patterns.card_file import FIT_ENDING, card_from_toml, shipped_card, shipped_names
from patterns.fit_file import fit_from_toml, shipped_fit
from patterns.tiles import Tile
from solver.arrivals import CHOOSING, Fit, Make
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.odds import estimate
from solver.passes import PassTable, score
from solver.rounds import ORDER, Round
from solver.situation import Situation, tables_of
from solver.table.charleston import Seat, play_charleston
from solver.table.fitting import Judged, Played, judge, play
from solver.table.game import deal_seats
from solver.table.players import ByWorth, Careful
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


def some_hand(card: Card, fit: Fit, round_: Round | None, give: int, situation: Situation) -> float:
    """Return the chance of some hand as it is stated after a pass, or (None) as play begins."""
    tables, odds = tables_of(card), fit.odds(round_, give, of_some=True)
    whole = score(situation, tables, hand_weights(card, Limits()), ())
    return Standings(situation, tables, whole, whole, odds).some_hand or 0.0


def stated(card: Card, fit: Fit, game: Played) -> tuple[list[float], float]:
    """Return the chance of some hand after each pass and as play begins, and that of the target alone."""
    some = [some_hand(card, fit, *kept) for kept in game.kept]
    tables, (*_, situation) = tables_of(card), game.kept[-1]
    coming = fit.alone[int(tables.makes[game.target])].coming(None, 0)
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


@dataclass
class Swerves(ByWorth):
    """The advice, but for one pass: the best but so many, of which ``kept`` is the share of strength."""

    at: Round
    behind: int
    kept: float = 1.0

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        if round_ is not self.at:
            return super().choose(card, seat, round_, count, luck)
        table = PassTable.of(self._question(card, seat, round_, count))
        index = int(table.order[: self.behind + 1][-1])
        self.kept = float(table.strength[index] / table.strength.max())
        return table.tiles(index)


def ends(card: Card, fit: Fit, seed: int, number: int, rule: ByWorth) -> float:
    """Return the chance of some hand as play begins, after a Charleston among careful players."""
    seats, mine = deal_seats(seed, number)[0], number % 4
    play_charleston(
        card, seats, [rule if seat == mine else Careful() for seat in range(4)], Luck(seed, number)
    )
    situation = Situation(seats[mine].rack, seats[mine].seen(), CHOOSING.coming(None, 0))
    return some_hand(card, fit, None, 0, situation)


def tell_other(card: Card, fit: Fit, games: int, seed: int, behind: int) -> None:
    """Tell, round by round, how strong the rack was left, and what that came to."""
    rules = [Swerves(round_, behind) for round_ in ORDER]
    found = np.zeros((games, len(ORDER), 2))
    best = np.zeros(games)
    for number in range(games):
        best[number] = ends(card, fit, seed, number, ByWorth())
        found[number] = [(ends(card, fit, seed, number, rule), rule.kept) for rule in rules]
        print(f"\r{card.name}: {number + 1}/{games} games", end="", file=sys.stderr)
    print(file=sys.stderr)
    print(f"{card.name}: {games} games, some hand {best.mean():.3f} as play begins")
    for round_, (chances, kept) in zip(ORDER, found.transpose(1, 2, 0), strict=True):
        left, ratio = kept.mean(), chances.mean() / best.mean()
        error = (chances - best).std(ddof=1) / games**0.5 / best.mean()
        print(
            f"  {round_.words}: {left:.3f} of the strength, {ratio:.3f} ({error:.3f}) of the chance,"
            f" power {np.log(ratio) / np.log(left):.2f}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("cards", nargs="+")
    parser.add_argument("--games", type=int, default=200)
    parser.add_argument("--seed", type=int, default=9_001)
    parser.add_argument("--estimate", action="store_true")
    parser.add_argument("--other", type=int, help="one pass is not the best but so many behind it")
    asked = parser.parse_args()
    for name in asked.cards:
        card, fit = read(name, asked.estimate)
        if fit is None:
            print(f"{name}: no estimate can be trusted")
            continue
        if asked.other is not None:
            tell_other(card, fit, asked.games, asked.seed, asked.other)
            continue
        games = []
        for number in range(asked.games):
            games.append(play(card, asked.seed, number))
            print(f"\r{name}: {number + 1}/{asked.games} games", end="", file=sys.stderr)
        print(file=sys.stderr)
        print(f"{name}: {fit}", *map(words.judged_words, judged(card, fit, games)), sep="\n  ", flush=True)


if __name__ == "__main__":
    main()
