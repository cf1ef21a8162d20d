"""A card's fit: games with it, what they say of its odds, and how far that can be believed.

Each game is a Charleston of one advised and three careful players, played to the end with several walls:
first freely, then with the advised player bound to one target. Of every moment the chances are worked out at
a few points of a grid, between which they are smooth, so that a fit looks at numbers and plays nothing again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.stopping import check_stop
from solver.arrivals import CHOOSING, LEAST, Arrivals, Fit, Make, Sharpness, logits
from solver.deals import Luck
from solver.odds import GRAIN, GREATEST_FACTOR, LEAST_FACTOR, Moment, alone_factors, alone_play, scaled
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.situation import Situation, tables_of
from solver.table.charleston import kept_after
from solver.table.game import BeforePlay, Table, play_again, play_game
from solver.table.players import ByWorth, Careful

WALLS = 3
# Where chances are worked out: lengths of play as multiples, and tiles from later exchanges.
FACTORS, LATERS = (0.75, 1.0, 1.5), (-3, 1, 6, 16)
_GRID = tuple(product(FACTORS, LATERS))
# The bound player goes for the likeliest hand in some games, down to the tenth likeliest in others.
_RANKS = 10
_MOST_LATER = 30
# How far lengths for one hand alone may be expected to be from an estimate's, as a part, and sharpness from 1
# (standard deviations, the first of six cards): few games say little of either.
_SPREAD, _SHARPNESS = 0.1, 0.3
# With no game won, or all, no sharpness could be told.
_LEAST_WON = 0.01
_SHARP = [round(step * GRAIN, 2) for step in range(8, 41)]
_TENTHS = 10


@dataclass(frozen=True)
class FitGame:
    """What a fit needs of one game, numbered among those of a seed: `Played`, by its chances.

    Attributes:
        some: For each round in the order of play, and last as play begins, the chance of some hand at each
            point of the grid: `FACTORS` by `LATERS`; only `FACTORS` as play begins.
        make: What kind of hand the bound player went for.
        alone: Its chance at each of the `FACTORS`.
    """

    number: int
    won: int
    some: tuple[tuple[float, ...], ...]
    make: Make
    alone: tuple[float, ...]
    alone_won: int


@dataclass(frozen=True)
class Judged:
    """How far what is stated can be believed, on games that nothing was fitted to.

    Attributes:
        after: The pass just made, or None when play begins.
        make: The kind of hand, for one hand alone; None for some hand.
        error: Expected calibration error, in ten groups of equal numbers.
        by_chance: What it would be on average if every prediction were true.
        ratio: How often it came true for each time it was predicted to.
    """

    after: Round | None
    make: Make | None
    outcomes: int
    error: float
    by_chance: float
    ratio: float


@dataclass(frozen=True)
class Played:
    """One game: with how many of the `WALLS` the advised player won, freely and bound to a target.

    Kept is what she knew after each pass, with how many tiles went, and as play began.
    """

    kept: tuple[tuple[Round | None, int, Situation], ...]
    target: int
    won: int
    alone_won: int


def play(card: Card, seed: int, number: int) -> Played:
    """Play one game; the same numbers play the same game."""
    mine = number % 4
    game = play_game(card, [ByWorth() if seat == mine else Careful() for seat in range(4)], seed, number)
    seat = game.seats[mine]
    begins = Situation(seat.rack, seat.seen(), CHOOSING.coming(None, 0))
    targets = Moment.of(card, begins).targets
    target = int(targets[number // 4 % min(_RANKS, len(targets))])

    def bind(table: Table) -> None:
        table.aims[mine].open[:] = False
        table.aims[mine].open[target] = True

    def wins(walls: int, before_play: BeforePlay = lambda table: None) -> int:
        lucks = (Luck(seed, number, 2, wall) for wall in range(walls))
        return sum(play_again(card, game.seats, luck, before_play).winner == mine for luck in lucks)

    won = (game.ending.winner == mine) + wins(WALLS - 1)
    check_stop()
    kept: list[tuple[Round | None, int, Situation]] = []
    for made, pile, seen in kept_after(game.passes, mine):
        give = len(made.given)
        kept.append((made.round, give, Situation(pile, seen, CHOOSING.coming(made.round, give))))
    return Played((*kept, (None, 0, begins)), target, won, wins(WALLS, bind))


def game_for_fit(card: Card, seed: int, number: int) -> FitGame:
    """Play one game, and work out its chances at the points of the grid."""
    game, some = play(card, seed, number), []
    for round_, give, situation in game.kept:
        check_stop()
        moment = Moment.of(card, situation)
        grid = _GRID if round_ else [(factor, 0) for factor in FACTORS]
        futures = (Arrivals(max(0, give + later), scaled(CHOOSING, f).lengths) for f, later in grid)
        some.append(tuple(moment.some_hand(coming) for coming in futures))
    make = tuple(Make)[int(tables_of(card).makes[game.target])]
    one = replace(moment, targets=np.array([game.target]))
    alone = tuple(float(one.reach(alone_play(factor).coming(None, 0))[0]) for factor in FACTORS)
    return FitGame(number, game.won, tuple(some), make, alone, game.alone_won)


def fit_of(games: Sequence[FitGame]) -> tuple[Fit, list[Judged]]:
    """Return a card's fit, by games in order of number, and how true it is of games it was not fitted to.

    All games are fitted to; judged are thirds, by their remainders by three, none without a game, each by a
    fit to the other two (cross-validation).
    """
    thirds = [[game for game in games if game.number % 3 == third] for third in range(3)]
    order = [game for third in thirds for game in third]
    parts = [
        (third, _Fitted.to([game for game in games if game.number % 3 != place]))
        for place, third in enumerate(thirds)
    ]
    judged = [
        judge(
            np.concatenate([fitted.some(third, place) for third, fitted in parts]),
            [game.won for game in order],
            after,
            None,
        )
        for place, after in enumerate((*ORDER, None))
    ]
    alone = np.concatenate([fitted.one(third) for third, fitted in parts])
    for make in Make:
        of = [place for place, game in enumerate(order) if game.make is make]
        if len(of) >= _TENTHS:
            judged.append(judge(alone[of], [order[place].alone_won for place in of], None, make))
    return _Fitted.to(games).fit(len(games), judged[len(ORDER)].error), judged


_STEPS = [step * GRAIN for step in range(round(LEAST_FACTOR / GRAIN), round(GREATEST_FACTOR / GRAIN) + 1)]
_ALONE_STEPS = [step / 100 for step in range(round(LEAST_FACTOR * 100), round(GREATEST_FACTOR * 100) + 1)]


@dataclass(frozen=True)
class _Fitted:
    """What games say of a card: multiples of lengths of play, for some hand and for each `Make` alone.

    Later exchanges are for each round in the order of play.
    """

    factor: float
    later: tuple[int, ...]
    sharpness: Sharpness
    alone: tuple[float, ...]

    @classmethod
    def to(cls, games: Sequence[FitGame]) -> _Fitted:
        """Fit to games.

        Lengths of play are scaled by one factor so that as many hands are completed as predicted when play
        begins; then later exchanges are valued so that it is the same after every pass. Chances are then as
        sharp as is likeliest, and for one hand alone there is a factor for each make, by which as many are
        completed as predicted, nearer to an estimate's where few games tell.
        """
        won = sum(game.won for game in games) / (len(games) * WALLS)
        begins = _array(games, len(ORDER))
        factor = min(_STEPS, key=lambda each: abs(float(_between(begins, each).mean()) - won))
        later: list[int] = [-PASS_SIZE]
        for place in reversed(range(len(ORDER))):
            chances = _array(games, place)
            means = {n: _between(chances, factor, n).mean() for n in range(later[0], _MOST_LATER + 1)}
            later.insert(0, min(means, key=lambda n: abs(means[n] - won)))
        share = round(min(max(won, _LEAST_WON), 1 - _LEAST_WON), 4)
        found = cls(factor, tuple(later[:-1]), Sharpness(share), ())
        sharp = max((Sharpness(share, each) for each in _SHARP), key=found._likely(games))
        found = replace(found, sharpness=sharp)
        expected = zip(Make, alone_factors(factor), strict=True)
        return replace(found, alone=tuple(found._of_make(games, make, about) for make, about in expected))

    def _likely(self, games: Sequence[FitGame]) -> Callable[[Sharpness], float]:
        """Return how likely the games are, by a sharpness, which is expected about 1."""
        won = np.array([game.won for game in games])
        stages = [self.some(games, place) for place in range(len(ORDER) + 1)]

        def likely(sharpness: Sharpness) -> float:
            said = np.mean([_said(sharpness.of(chances), won) for chances in stages])
            return float(said - ((sharpness.factor - 1) / _SHARPNESS) ** 2 / 2)

        return likely

    def _of_make(self, games: Sequence[FitGame], make: Make, about: float) -> float:
        """Return the factor of one make; its logarithm is normally spread about what is expected.

        It is the likeliest by how many were completed, not by which: that would be another factor where
        chances lie too far apart.
        """
        of = [game for game in games if game.make is make]
        if not of:
            return about
        chances, won = np.array([game.alone for game in of]), np.array([game.alone_won for game in of])
        most = self.some(of, len(ORDER))

        def likely(factor: float) -> float:
            mean = np.minimum(_between(chances, factor), most).mean(keepdims=True)
            return float(_said(mean, won) - (np.log(factor / about) / _SPREAD) ** 2 / 2)

        return max(_ALONE_STEPS, key=likely)

    def some(self, games: Sequence[FitGame], place: int) -> NDArray[np.float64]:
        """Return (games,) chances of some hand at one stage."""
        later = self.later[place] if place < len(ORDER) else None
        sharp: NDArray[np.float64] = self.sharpness.of(_between(_array(games, place), self.factor, later))
        return sharp

    def one(self, games: Sequence[FitGame]) -> NDArray[np.float64]:
        """Return (games,) chances of the bound player's hand as play begins, at most that of some hand."""
        chances, makes = np.array([game.alone for game in games]), [game.make for game in games]
        by_make = dict(zip(Make, (_between(chances, factor) for factor in self.alone), strict=True))
        alone = [by_make[make][place] for place, make in enumerate(makes)]
        least: NDArray[np.float64] = np.minimum(alone, self.some(games, len(ORDER)))
        return least

    def fit(self, games: int, error: float) -> Fit:
        """Return it as a card has it."""
        some = replace(scaled(CHOOSING, self.factor), later=self.later)
        alone = tuple(map(alone_play, self.alone))
        return Fit(some, alone, games=games, error=error, sharpness=self.sharpness)


def _said(chances: NDArray[np.float64], won: NDArray[np.int_]) -> float:
    """Return the log likelihood of games; walls of one game share its luck: together they count as one."""
    return float((won * np.log(chances) + (WALLS - won) * np.log1p(-chances)).sum() / WALLS)


def _array(games: Sequence[FitGame], place: int) -> NDArray[np.float64]:
    """Return (games, points) chances of some hand at one stage."""
    return np.array([game.some[place] for game in games])


def _weights(points: Sequence[float], at: float) -> NDArray[np.float64]:
    """Return how much each of some points counts for a value between (Lagrange's polynomial)."""
    parts = [[(at - other) / (point - other) for other in points if other != point] for point in points]
    weights: NDArray[np.float64] = np.array(parts).prod(axis=1)
    return weights


def _between(chances: NDArray[np.float64], factor: float, later: int | None = None) -> NDArray[np.float64]:
    """Return (n,) chances between (n, points) of the grid, by a polynomial of their logits.

    The points are by `FACTORS`, and with a number of later tiles also by `LATERS`.
    """
    weights = _weights(np.log(FACTORS).tolist(), float(np.log(factor)))
    if later is not None:
        weights = np.outer(weights, _weights(LATERS, later)).ravel()
    found: NDArray[np.float64] = 1 / (1 + np.exp(-(logits(chances) @ weights)))
    return np.clip(found, LEAST, 1 - LEAST)


def tenths(chances: NDArray[np.float64], happened: NDArray[np.bool_]) -> list[tuple[int, float, float]]:
    """Split (n,) chances into ten groups of equal numbers, or as many as there are, the smallest first.

    Of each group it tells how many they are, their mean, and the share that happened.
    """
    groups = np.array_split(np.argsort(chances, kind="stable"), min(_TENTHS, len(chances)))
    return [
        (len(each), float(chances[each].mean()), int(happened[each].sum()) / len(each)) for each in groups
    ]


def judge(chances: NDArray[np.float64], won: Sequence[int], after: Round | None, make: Make | None) -> Judged:
    """Judge (n,) chances by how often each came true on `WALLS` walls."""
    predicted = np.repeat(chances, WALLS)
    happened = np.array([wall < each for each in won for wall in range(WALLS)])
    groups = tenths(predicted, happened)
    error = sum(count * abs(share - mean) for count, mean, share in groups) / len(predicted)
    # Of a normal distribution the mean distance from 0 is its standard deviation times the root of 2 / pi.
    spread = [sqrt(count * mean * (1 - mean)) for count, mean, _ in groups]
    by_chance = sqrt(2 / pi) * sum(spread) / len(predicted)
    ratio = float(happened.mean() / predicted.mean())
    return Judged(after, make, len(predicted), error, by_chance, ratio)
