"""Against scikit-learn: its Brier score, with the example of its manual, and its calibration curve.

The example of `brier_score_loss` prints 0.0375 for these four outcomes.
"""

import numpy as np
import pytest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

from solver.table.fit import brier, reliability


def test_the_example_of_the_manual() -> None:
    happened, predicted = np.array([False, True, True, False]), np.array([0.1, 0.9, 0.8, 0.3])
    assert brier(predicted, happened) == pytest.approx(0.0375, abs=1e-15)
    assert brier_score_loss(happened, predicted) == pytest.approx(0.0375, abs=1e-15)


@pytest.mark.parametrize("seed", range(5))
def test_scores_and_curves_agree(seed: int) -> None:
    rng = np.random.default_rng(seed)
    predicted = rng.beta(1.5, 4, 1_000)
    happened = rng.uniform(size=1_000) < predicted**1.2
    found = reliability(predicted, happened)
    assert found.brier == pytest.approx(brier_score_loss(happened, predicted), abs=1e-14)
    realized, means = calibration_curve(happened, predicted, n_bins=10, strategy="quantile")
    assert [each.realized for each in found.tenths] == pytest.approx(realized.tolist(), abs=1e-12)
    assert [each.predicted for each in found.tenths] == pytest.approx(means.tolist(), abs=1e-12)
