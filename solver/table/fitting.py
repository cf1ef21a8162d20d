"""A card's fit: games with it, what they say of its odds, and how far that can be believed.

Each game is a Charleston of one advised and three careful players, played to the end with several walls:
first freely, then with the advised player bound to one target. Of every moment the chances are worked out at
a few points of a grid, between which they are smooth, so that a fit looks at numbers and plays nothing again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.rack import Pile
from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.arrivals import CHOOSING, Fit, Make, MixedArrivals
from solver.deals import Luck
from solver.odds import ALONE, GRAIN, GREATEST_FACTOR, LEAST_FACTOR, Moment, scaled
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.situation import Situation, still_elsewhere, tables_of
from solver.table.game import Game, SeatStart, Table, play_again, play_game
from solver.table.players import ByWorth, Careful

WALLS = 3
# Where chances are worked out: lengths of play as multiples, and tiles from later exchanges.
FACTORS, LATERS = (0.75, 1.0, 1.5), (-3, 1, 6, 16)
_GRID = tuple(product(FACTORS, LATERS))
# The bound player goes for the likeliest hand in some games, down to the tenth likeliest in others.
_RANKS = 10
_MOST_LATER = 30
# How far makes may be expected to differ, as a part of the factor (standard deviation): few games are of one.
_SPREAD = 0.2
_LEAST = 1e-6
_TENTHS = 10


@dataclass(frozen=True)
class FitGame:
    """What a fit needs of one game.

    Attributes:
        number: Names it among the games of a seed.
        won: With how many of the `WALLS` the advised player won.
        some: For each round in the order of play, and last as play begins, the chance of some hand at each
            point of the grid: `FACTORS` by `LATERS`; only `FACTORS` as play begins.
        make: What kind of hand the bound player went for.
        alone: Its chance at each of the `FACTORS`.
        alone_won: With how many of the walls the bound player won.
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
        outcomes: Predictions judged.
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
    """One game, played with several walls.

    Attributes:
        kept: What the advised player knew after each pass, with how many tiles went, and as play begins.
        target: Index of the target of the bound player.
        won: With how many of the `WALLS` the advised player won.
        alone_won: The same, bound to the target.
    """

    kept: tuple[tuple[Round | None, int, Situation], ...]
    target: int
    won: int
    alone_won: int


def play(card: Card, seed: int, number: int) -> Played:
    """Play one game; the same numbers play the same game."""
    mine = number % 4
    game = play_game(card, [ByWorth() if seat == mine else Careful() for seat in range(4)], seed, number)
    kept = (*_kept(game, mine), (None, 0, _as_play_begins(game.starts[mine])))
    targets = Moment.of(card, kept[-1][2]).targets
    target = int(targets[number // 4 % min(_RANKS, len(targets))])

    def bind(table: Table) -> None:
        table.aims[mine].open[:] = False
        table.aims[mine].open[target] = True

    def wins(walls: int, before_play: Callable[[Table], None] | None = None) -> int:
        lucks = (Luck(seed, number, 2, wall) for wall in range(walls))
        return sum(play_again(card, game.starts, luck, before_play).winner == mine for luck in lucks)

    won = (game.ending.winner == mine) + wins(WALLS - 1)
    check_stop()
    return Played(kept, target, won, wins(WALLS, bind))


def _kept(game: Game, seat: int) -> Iterator[tuple[Round | None, int, Situation]]:
    passed: list[Tile] = []
    for made in game.passes:
        if made.seat == seat:
            passed += made.given
            kept, give = Counter(made.held) - Counter(made.given), len(made.given)
            pile, seen = Pile(tuple(kept.elements())), still_elsewhere(passed, kept)
            yield made.round, give, Situation(pile, seen, CHOOSING.coming(made.round, give))


def _as_play_begins(start: SeatStart) -> Situation:
    return Situation(Pile(start.tiles), start.seen, CHOOSING.coming(None, 0))


def game_for_fit(card: Card, seed: int, number: int) -> FitGame:
    """Play one game, and work out its chances at the points of the grid."""
    game, tables, some = play(card, seed, number), tables_of(card), []
    for round_, give, situation in game.kept:
        check_stop()
        moment = Moment.of(card, situation)
        grid = _GRID if round_ else [(factor, 0) for factor in FACTORS]
        futures = (MixedArrivals(max(0, give + later), scaled(CHOOSING, f).lengths) for f, later in grid)
        some.append(tuple(moment.some_hand(coming) for coming in futures))
    place = int(tables.makes[game.target])
    one = replace(moment, targets=np.array([game.target]))
    alone = tuple(float(one.reach(scaled(ALONE[place], factor).coming(None, 0))[0]) for factor in FACTORS)
    return FitGame(number, game.won, tuple(some), tuple(Make)[place], alone, game.alone_won)


def fit_of(card: Card, games: Sequence[FitGame]) -> tuple[Fit, list[Judged]]:
    """Return a card's fit, by two of three games in order of number, and how true it is of the third.

    Lengths of play are scaled by one factor so that as many hands are completed as predicted when play
    begins; then later exchanges are valued so that it is the same after every pass. For one hand alone there
    is a factor for each make, the likeliest, if makes are taken to differ by some fifth.

    Raises:
        ValueError: fewer than three games.
    """
    fits = [game for game in games if game.number % 3]
    judges = [game for game in games if not game.number % 3]
    if not fits or not judges:
        raise ValueError("a fit takes three games or more")
    won = sum(game.won for game in fits) / (len(fits) * WALLS)
    begins = _array(fits, len(ORDER))
    factor = min(_STEPS, key=lambda each: abs(float(_between(begins, each).mean()) - won))
    later: list[int] = [-PASS_SIZE]
    for place in reversed(range(len(ORDER))):
        chances = _array(fits, place)
        means = {n: _between(chances, factor, n).mean() for n in range(later[0], _MOST_LATER + 1)}
        later.insert(0, min(means, key=lambda n: abs(means[n] - won)))
    factors = [_factor_alone([game for game in fits if game.make is make], factor) for make in Make]
    judged = [
        judge(_between(_array(judges, place), factor, n), [game.won for game in judges], after, None)
        for place, (after, n) in enumerate(zip((*ORDER, None), (*later[:-1], None), strict=True))
    ]
    for make, each in zip(Make, factors, strict=True):
        of = [game for game in judges if game.make is make]
        if len(of) >= _TENTHS:
            chances = _between(np.array([game.alone for game in of]), each)
            judged.append(judge(chances, [game.alone_won for game in of], None, make))
    some = replace(scaled(CHOOSING, factor), later=tuple(later[:-1]))
    alone = tuple(scaled(play, each) for play, each in zip(ALONE, factors, strict=True))
    return Fit(some, alone, games=len(games), error=judged[len(ORDER)].error), judged


_STEPS = [step * GRAIN for step in range(round(LEAST_FACTOR / GRAIN), round(GREATEST_FACTOR / GRAIN) + 1)]


def _factor_alone(games: Sequence[FitGame], usual: float) -> float:
    """Return the likeliest factor of one make, normally spread (by its logarithm) about that of the card."""
    if not games:
        return usual
    chances, won = np.array([game.alone for game in games]), np.array([game.alone_won for game in games])

    def likely(factor: float) -> float:
        each = _between(chances, factor)
        # Walls of one game share its luck: together they count as one.
        said = (won * np.log(each) + (WALLS - won) * np.log1p(-each)).sum() / WALLS
        return float(said - (np.log(factor / usual) / _SPREAD) ** 2 / 2)

    return max(_STEPS, key=likely)


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
    inside = np.clip(chances, _LEAST, 1 - _LEAST)
    found: NDArray[np.float64] = 1 / (1 + np.exp(-(np.log(inside / (1 - inside)) @ weights)))
    return np.clip(found, _LEAST, 1 - _LEAST)


def tenths(chances: NDArray[np.float64], happened: NDArray[np.bool_]) -> list[tuple[int, float, float]]:
    """Split (n,) chances into ten groups of equal numbers, or as many as there are, the smallest first.

    Returns:
        Of each group how many they are, their mean, and the share that happened.
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
