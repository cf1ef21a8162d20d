"""Against scikit-learn: groups of predictions as in its calibration curve."""

import numpy as np
import pytest
from sklearn.calibration import calibration_curve

from solver.table.fitting import tenths


@pytest.mark.parametrize("seed", range(5))
def test_curves_agree(seed: int) -> None:
    rng = np.random.default_rng(seed)
    predicted = rng.beta(1.5, 4, 1_000)
    happened = rng.uniform(size=1_000) < predicted**1.2
    found = tenths(predicted, happened)
    realized, means = calibration_curve(happened, predicted, n_bins=10, strategy="quantile")
    assert [share for _, _, share in found] == pytest.approx(realized.tolist(), abs=1e-12)
    assert [mean for _, mean, _ in found] == pytest.approx(means.tolist(), abs=1e-12)
    assert [count for count, _, _ in found] == [100] * 10
