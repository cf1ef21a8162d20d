"""Source: the incomplete beta function of scipy.special, run beside ours.

For a coin the evenly spread bets are a likelihood ratio averaged over all coins that fall heads more often
(Robbins, Annals of Mathematical Statistics 1970, from memory): an incomplete beta integral.
"""

import numpy as np
import pytest
from scipy.special import betainc, betaln

from solver.ahead import log_capital


@pytest.mark.parametrize("flips", [1, 2, 17, 100])
@pytest.mark.parametrize("fair", [0.02, 0.5, 0.9])
def test_coins(flips: int, fair: float) -> None:
    for heads in {0, 1, flips // 2, flips - 1, flips}:
        tails = flips - heads
        above = betaln(heads + 1, tails + 1) + np.log(betainc(tails + 1, heads + 1, 1 - fair))
        theirs = above - heads * np.log(fair) - (tails + 1) * np.log(1 - fair)
        coins = np.repeat([1.0, 0.0], [heads, tails])
        assert log_capital(coins, fair) == pytest.approx(theirs, rel=1e-9, abs=1e-9)
