"""A card's fit from its games: what each game says, and what is made of many."""

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest

from solver.arrivals import CHOOSING, Arrivals, Make, Sharpness
from solver.odds import Moment, alone_factors, scaled
from solver.rounds import ORDER
from solver.situation import tables_of
from solver.table.fitting import (
    FACTORS,
    LATERS,
    WALLS,
    FitGame,
    _between,
    fit_of,
    game_for_fit,
    judge,
    play,
    tenths,
)
from tests.solver.played import own, small


def test_a_game_says_the_same_every_time_and_more_comes_of_more_tiles() -> None:
    game = game_for_fit(own(), 5, 2)
    assert game == game_for_fit(own(), 5, 2) != replace(game_for_fit(own(), 5, 3), number=2)
    assert 0 <= game.won <= WALLS and 0 <= game.alone_won <= WALLS
    assert len(game.some) == len(ORDER) + 1
    for stage in game.some[:-1]:
        grid = np.array(stage).reshape(len(FACTORS), len(LATERS))
        assert (np.diff(grid, axis=0) >= 0).all() and (np.diff(grid, axis=1) >= 0).all()
    for chances in (game.some[-1], game.alone):
        assert all(less <= more for less, more in pairwise(chances)) and len(chances) == len(FACTORS)


def test_the_bound_player_goes_for_a_hand_down_to_the_tenth_likeliest() -> None:
    played = [play(small(), 6, number) for number in (0, 36)]
    for game, rank in zip(played, (0, 9), strict=True):
        *_, (round_, _, begins) = game.kept
        assert round_ is None
        assert game.target == Moment.of(small(), begins).targets[rank]


def test_between_the_points_of_the_grid_chances_are_nearly_exact() -> None:
    *_, (_, _, begins) = play(small(), 7, 1).kept
    moment = Moment.of(small(), begins)

    def exact(factor: float, later: int) -> float:
        return moment.some_hand(Arrivals(3 + later, scaled(CHOOSING, factor).lengths))

    grid = np.array([[exact(*point) for point in product(FACTORS, LATERS)]])
    for factor, later in product(FACTORS, LATERS):
        assert _between(grid, factor, later)[0] == pytest.approx(exact(factor, later), rel=1e-9)
    # Multiples whose lengths are whole numbers.
    missed = [
        abs(_between(grid, factor, later)[0] - exact(factor, later))
        for factor, later in product((1.0, 1.25, 1.5), (0, 3, 12))
    ]
    assert max(missed) < 0.03 and np.mean(missed) < 0.01


def invented(games: int, factor: float, later: int, alone: float, sharp: float = 1) -> list[FitGame]:
    """Return games whose chances come true under one play, and for groups alone under another."""
    rng = np.random.default_rng(4)
    made = []
    for number in range(games):
        rack = rng.normal(-1.3, 0.8)

        def chance(f: float, n: float, rack: float = rack) -> float:
            return float(1 / (1 + np.exp(-(rack + 2.5 * np.log(f) + 0.1 * n))))

        some = (tuple(chance(f, n) for f, n in product(FACTORS, LATERS)),) * len(ORDER)
        begins = tuple(chance(f, later) for f in FACTORS)
        bound = tuple(chance(f, 0) for f in FACTORS)
        true = float(Sharpness(0.5, sharp).of(np.array(chance(factor, later))))
        won, bound_won = rng.binomial(WALLS, [true, chance(alone, 0)]).tolist()
        made.append(FitGame(number, won, (*some, begins), Make.GROUPS, bound, bound_won))
    return made


def test_a_fit_finds_the_play_that_games_came_of() -> None:
    fit, judged = fit_of(invented(3_000, factor=1.3, later=5, alone=1.1))
    assert fit.games == 3_000
    assert fit.some_hand.lengths == scaled(CHOOSING, 1.3).lengths
    assert all(abs(later - 5) <= 1 for later in fit.some_hand.later)
    assert all(more >= less for more, less in pairwise(fit.some_hand.later))
    groups, *others = (play.coming(None, 0).mean_draws for play in fit.alone)
    assert groups == pytest.approx(24 * 1.1, abs=0.6)
    expected = [24 * factor for factor in alone_factors(1.3)[1:]]
    assert others == pytest.approx(expected, abs=0.05), "no game says otherwise"
    assert [(each.after, each.make) for each in judged] == [
        *((round_, None) for round_ in ORDER),
        (None, None),
        (None, Make.GROUPS),
    ]
    for each in judged:
        assert each.outcomes == 3_000 * WALLS
        assert each.error < 0.02 and each.ratio == pytest.approx(1, abs=0.05)
        assert 0.008 < each.by_chance < 0.015
    assert fit.error == judged[7].error


def test_no_game_is_judged_by_a_fit_to_it() -> None:
    """Where luck is all of one third, a fit to the other two is far off for each; one to all would not be."""
    games = invented(300, factor=1.3, later=5, alone=1.1)
    lucky = [replace(game, won=0 if game.number % 3 else WALLS) for game in games]
    _, judged = fit_of(lucky)
    assert all(each.error > 0.4 for each in judged if each.make is None)


def test_chances_are_as_sharp_as_games_say() -> None:
    """Half as far from the share won as stated, in logits."""
    fit, judged = fit_of(invented(3_000, factor=1.3, later=5, alone=1.1, sharp=0.5))
    assert fit.sharpness.factor == pytest.approx(0.5, abs=0.1)
    assert all(each.error < 0.03 for each in judged if each.make is None)


def test_every_make_has_its_place() -> None:
    tables = tables_of(small())
    makes = [list(Make)[place] for place in tables.makes]
    assert set(makes) >= {Make.GROUPS, Make.SOME_PAIRS, Make.CONCEALED}
    for make, target, hidden in zip(makes, tables.targets, tables.concealed, strict=True):
        sizes = [group.count for group in target.groups]
        assert (make is Make.PAIRS_ONLY) == (max(sizes) < 3)
        assert (make is Make.GROUPS) == (min(sizes) > 2 and not hidden)
        assert (make is Make.CONCEALED) == (bool(hidden) and max(sizes) > 2)


def test_groups_of_predictions_are_counted_by_hand() -> None:
    found = tenths(np.array([0.9, 0.1, 0.8, 0.2]), np.array([True, False, False, False]))
    assert found == [(1, 0.1, 0.0), (1, 0.2, 0.0), (1, 0.8, 0.0), (1, 0.9, 1.0)]


def test_true_chances_show_a_small_error_and_bent_ones_a_large_one() -> None:
    rng = np.random.default_rng(5)
    chances = rng.uniform(0.05, 0.6, 7_000)
    won = rng.binomial(WALLS, chances).tolist()
    true, bent = judge(chances, won, None, None), judge(chances**0.5, won, None, None)
    assert true.error < 0.012 < 0.1 < bent.error
    assert true.ratio == pytest.approx(1, abs=0.05) and bent.ratio < 0.8
