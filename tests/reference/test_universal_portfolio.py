"""Source: Cover's universal portfolio (Mathematical Finance 1991) for two stocks, from memory.

Wealth spread evenly over all constant portfolios is never more than n + 1 times behind the best of them
after n days. His stock that doubles and halves in turn grows by 9 / 8 every two days at best, with half of
the wealth in it.
"""

import numpy as np
import pytest

from solver.ahead import log_capital


def best_of_all(values: np.ndarray) -> float:
    shares = np.linspace(0, 1, 2_001)[:, None]
    with np.errstate(divide="ignore"):
        return float(np.log(1 - shares + shares * values).sum(axis=1).max())


@pytest.mark.parametrize("days", [2, 10, 100])
def test_a_stock_that_doubles_and_halves(days: int) -> None:
    values = np.array([2.0, 0.5] * (days // 2))
    assert best_of_all(values) == pytest.approx(days / 2 * np.log(9 / 8))
    assert best_of_all(values) - np.log(days + 1) <= log_capital(values, 1.0) <= best_of_all(values)
    if days == 2:  # the integral of (1 + b)(1 - b / 2)
        assert log_capital(values, 1.0) == pytest.approx(np.log(13 / 12))


@pytest.mark.parametrize("seed", range(20))
def test_any_stock(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.exponential(rng.choice([0.5, 1.0, 2.0]), rng.integers(1, 101))
    behind = best_of_all(values) - log_capital(values, 1.0)
    assert -1e-9 <= behind <= np.log(len(values) + 1)
