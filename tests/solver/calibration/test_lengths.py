import numpy as np
import pytest
from scipy.optimize import minimize

from solver.table.fit import fit_shares


def outcomes(shares: list[float], seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    start = rng.uniform(0.0, 0.5, 3_000)
    chances = np.stack([start, np.sqrt(start), start / 3], axis=1)
    return chances, rng.uniform(size=len(start)) < chances @ shares


def test_no_other_shares_make_the_outcomes_likelier() -> None:
    """Against a general optimiser over the same likelihood."""
    chances, happened = outcomes([0.5, 0.2, 0.3], 1)

    def unlikely(free: np.ndarray) -> float:
        shares = np.append(free, 1 - free.sum())
        chance = chances @ shares
        return float(-np.log(np.clip(np.where(happened, chance, 1 - chance), 1e-12, None)).sum())

    found = fit_shares(chances, happened, tolerance=1e-12)
    best = minimize(
        unlikely,
        [1 / 3, 1 / 3],
        bounds=[(0, 1), (0, 1)],
        constraints={"type": "ineq", "fun": lambda free: 1 - free.sum()},
        method="SLSQP",
    )
    assert unlikely(found[:2]) <= best.fun + 1e-4
    assert found.sum() == pytest.approx(1) and (found >= 0).all()


def test_one_length_that_explains_all_gets_all() -> None:
    chances, happened = outcomes([0.0, 1.0, 0.0], 2)
    assert fit_shares(chances, happened)[1] > 0.9
