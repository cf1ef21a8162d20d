from math import inf, sqrt

import numpy as np
import pytest

from solver.ahead import CLEAR_ERRORS, FEWEST_SAMPLES, Comparison, clear, compare


def rows(*choices: list[float]) -> np.ndarray:
    return np.array(choices, float).T


def test_means_and_errors_by_hand() -> None:
    """Differences 1, 3, 2: mean 2, sample deviation 1, so the error of the mean is 1 / sqrt(3)."""
    leader, (first, second) = compare(rows([4, 6, 8], [3, 3, 6]))
    assert leader == 0
    assert first == Comparison(6.0, 0.0, 0.0)
    assert second.mean == 4.0
    assert second.behind == 2.0
    assert second.error == pytest.approx(1 / sqrt(3))


def test_pairing_takes_out_the_luck_that_choices_share() -> None:
    luck = [0.0, 100.0, 50.0, 75.0]
    leader, results = compare(rows(luck, [value + 1 for value in luck]))
    assert leader == 1
    assert results[0].behind == 1.0
    assert results[0].error == 0.0


def test_one_sample_says_nothing_of_the_error() -> None:
    assert compare(rows([1], [2]))[1] == (Comparison(1.0, 1.0, inf), Comparison(2.0, 0.0, 0.0))


def test_of_equal_choices_the_first_leads() -> None:
    leader, results = compare(rows([1, 2], [2, 1], [1, 2]))
    assert leader == 0
    assert [result.behind for result in results] == [0, 0, 0]


def test_clear_needs_enough_samples() -> None:
    sure = rows([2.0] * FEWEST_SAMPLES, [1.0] * FEWEST_SAMPLES)
    assert clear(sure)
    assert not clear(sure[:-1])


def test_clear_needs_three_errors_against_every_choice() -> None:
    """Half the differences 1 + d, half 1 - d: the error is d / sqrt(15) of 16 samples."""
    assert CLEAR_ERRORS == 3.0
    zero = [0.0] * 16

    def ahead_by_one(spread: float) -> list[float]:
        return [1 + spread, 1 - spread] * 8

    narrow, wide = ahead_by_one(sqrt(15) / 3 - 0.01), ahead_by_one(sqrt(15) / 3 + 0.01)
    assert clear(rows(narrow, zero))
    assert not clear(rows(wide, zero))
    assert clear(rows(zero, narrow, [-value for value in narrow]))
    noise = [0.5, 0.5, -0.5, -0.5] * 4
    close = [value - 0.01 + more for value, more in zip(narrow, noise, strict=True)]
    assert not clear(rows(narrow, zero, close))


def test_equal_choices_are_never_clear() -> None:
    assert not clear(rows([1.0] * 20, [1.0] * 20))


def test_one_choice_is_clear_as_soon_as_may_be() -> None:
    assert clear(rows([1.0] * FEWEST_SAMPLES))
