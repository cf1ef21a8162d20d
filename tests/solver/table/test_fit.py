"""Are the probabilities true? Intervals, groups of predictions, and lengths of play fitted to outcomes."""

import numpy as np
import pytest
from scipy.optimize import brentq

from solver.table.fit import Z95, Tenth, brier, reliability, wilson


@pytest.mark.parametrize(("successes", "trials"), [(3, 10), (1, 2), (40, 1600), (999, 1000)])
def test_the_ends_are_where_the_score_test_turns(successes: int, trials: int) -> None:
    """An end p of the interval is where the observed share lies exactly z standard errors from p."""

    def off(p: float, side: int) -> float:
        return successes / trials - p + side * Z95 * np.sqrt(p * (1 - p) / trials)

    share = successes / trials
    low = brentq(off, 1e-9, share - 1e-9, args=(-1,))
    high = brentq(off, share + 1e-9, 1 - 1e-9, args=(1,))
    assert wilson(successes, trials) == pytest.approx((low, high), abs=1e-9)


def test_none_and_all_touch_the_ends_and_there_is_no_other_share() -> None:
    low, high = wilson(0, 7)
    assert low == 0 and 0 < high < 1 and wilson(7, 7) == pytest.approx((1 - high, 1))
    for successes, trials in ((-1, 3), (4, 3), (0, 0)):
        with pytest.raises(ValueError, match="is no share"):
            wilson(successes, trials)


def test_groups_are_counted_by_hand() -> None:
    found = reliability(np.array([0.9, 0.1, 0.8, 0.2]), np.array([True, False, False, False]), groups=2)
    low, high = found.tenths
    assert (low.predicted, low.realized, low.count) == (pytest.approx(0.15), 0.0, 2)
    assert (high.predicted, high.realized, high.count) == (pytest.approx(0.85), 0.5, 2)
    assert found.error == pytest.approx((0.15 + 0.35) / 2)
    assert found.brier == pytest.approx((0.01 + 0.01 + 0.64 + 0.04) / 4)
    assert found.base_brier == pytest.approx(0.25 * 0.75)
    assert brier(np.array([1.0, 0.0]), np.array([True, False])) == 0


def test_true_chances_show_a_small_error_and_bent_ones_a_large_one() -> None:
    rng = np.random.default_rng(5)
    chances = rng.uniform(0.05, 0.6, 20_000)
    happened = rng.uniform(size=len(chances)) < chances
    assert reliability(chances, happened).error < 0.01
    assert reliability(chances**0.5, happened).error > 0.1


def test_a_miss_is_the_distance_to_the_interval() -> None:
    assert Tenth(0.2, 0.3, 0.25, 0.4, 9).miss == pytest.approx(0.05)
    assert Tenth(0.5, 0.3, 0.25, 0.4, 9).miss == pytest.approx(0.1)
    assert Tenth(0.3, 0.3, 0.25, 0.4, 9).miss == 0


@pytest.mark.parametrize(("predicted", "happened", "groups"), [(3, 2, 1), (3, 3, 4), (3, 3, 0)])
def test_what_cannot_be_grouped(predicted: int, happened: int, groups: int) -> None:
    with pytest.raises(ValueError, match="groups"):
        reliability(np.zeros(predicted), np.zeros(happened, bool), groups)
