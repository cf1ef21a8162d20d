import numpy as np
import pytest
from scipy.optimize import brentq

from solver.table.fit import Z95, wilson


@pytest.mark.parametrize(("successes", "trials"), [(3, 10), (1, 2), (40, 1600), (999, 1000)])
def test_the_ends_are_where_the_score_test_turns(successes: int, trials: int) -> None:
    """An end p of the interval is where the observed share lies exactly z standard errors from p."""

    def off(p: float, side: int) -> float:
        return successes / trials - p + side * Z95 * np.sqrt(p * (1 - p) / trials)

    share = successes / trials
    low = brentq(off, 1e-9, share - 1e-9, args=(-1,))
    high = brentq(off, share + 1e-9, 1 - 1e-9, args=(1,))
    assert wilson(successes, trials) == pytest.approx((low, high), abs=1e-9)


def test_none_and_all_touch_the_ends() -> None:
    low, high = wilson(0, 7)
    assert low == 0 and 0 < high < 1
    assert wilson(7, 7) == pytest.approx((1 - high, 1))


@pytest.mark.parametrize(("successes", "trials"), [(-1, 3), (4, 3), (0, 0)])
def test_no_such_share(successes: int, trials: int) -> None:
    with pytest.raises(ValueError, match="is no share"):
        wilson(successes, trials)
