import numpy as np
import pytest

from solver.table.fit import Tenth, brier, reliability


def test_groups_are_counted_by_hand() -> None:
    predicted = np.array([0.9, 0.1, 0.8, 0.2])
    found = reliability(predicted, np.array([True, False, False, False]), groups=2)
    low, high = found.tenths
    assert (low.predicted, low.realised, low.count) == (pytest.approx(0.15), 0.0, 2)
    assert (high.predicted, high.realised, high.count) == (pytest.approx(0.85), 0.5, 2)
    assert found.error == pytest.approx((0.15 + 0.35) / 2)
    assert found.brier == pytest.approx((0.01 + 0.01 + 0.64 + 0.04) / 4)
    assert found.base_brier == pytest.approx(0.25 * 0.75)


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


def test_certain_and_right_costs_nothing() -> None:
    assert brier(np.array([1.0, 0.0]), np.array([True, False])) == 0


@pytest.mark.parametrize(("predicted", "happened", "groups"), [(3, 2, 1), (3, 3, 4), (3, 3, 0)])
def test_what_cannot_be_grouped(predicted: int, happened: int, groups: int) -> None:
    with pytest.raises(ValueError, match="groups"):
        reliability(np.zeros(predicted), np.zeros(happened, bool), groups)
