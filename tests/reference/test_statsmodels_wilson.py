"""Against statsmodels: Wilson's interval. For 3 of 10 it gives (0.1077913, 0.6032219)."""

import pytest
from statsmodels.stats.proportion import proportion_confint

from solver.table.fit import wilson


def test_three_of_ten() -> None:
    assert wilson(3, 10) == pytest.approx((0.1077913, 0.6032219), abs=5e-8)


@pytest.mark.parametrize("trials", [1, 7, 200, 10_000])
def test_every_share(trials: int) -> None:
    for successes in {0, 1, trials // 3, trials - 1, trials}:
        ours = wilson(successes, trials)
        assert ours == pytest.approx(proportion_confint(successes, trials, method="wilson"), abs=1e-12)
