"""The same model solved by another solver: HiGHS, through scipy.optimize.milp."""

import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from solver.pass_model import PassProblem, Status, best_passes
from solver.problem import problem_of
from solver.stopping import Stopper
from tests.solver.enumeration import mask_of
from tests.solver.racks import question, random_rack


def by_highs(problem: PassProblem) -> tuple[float, int]:
    """Return the best worth, floors included, and the bits of a best pass.

    Columns: a binary a bit, then one an option. The rows say: so many bits; a later copy only with the
    one before; an option and a bit it forbids never both; one option a hand.
    """
    bits, options = problem.bits, problem.options
    passed, chosen = bits.size, len(options.hand)
    rows: list[tuple[dict[int, float], float, float]] = [
        (dict.fromkeys(range(passed), 1.0), problem.give, problem.give)
    ]
    rows += [
        ({bits.bit(kind, copy): 1.0, bits.bit(kind, copy - 1): -1.0}, -1, 0)
        for kind, count in enumerate(bits.counts)
        for copy in range(2, count + 1)
    ]
    rows += [
        ({passed + option: 1.0, bit: 1.0}, 0, 1)
        for option, forbidden in enumerate(options.forbidden.tolist())
        for bit in range(passed)
        if forbidden >> bit & 1
    ]
    for hand in np.unique(options.hand):
        of_hand = np.flatnonzero(options.hand == hand).tolist()
        rows.append((dict.fromkeys((passed + option for option in of_hand), 1.0), 0, 1))
    matrix = lil_array((len(rows), passed + chosen))
    for row, (entries, _, _) in enumerate(rows):
        for column, value in entries.items():
            matrix[row, column] = value
    low, high = np.array([row[1:] for row in rows], float).T
    gains = problem.weights[options.hand] * (options.reach - options.floor[options.hand])
    result = milp(
        np.concatenate([np.zeros(passed), -gains]),
        integrality=np.ones(passed + chosen),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        options={"mip_rel_gap": 0.0},
    )
    assert result.status == 0, result.message
    mask = sum(1 << bit for bit in range(passed) if result.x[bit] > 0.5)
    return float(options.floor @ problem.weights - result.fun), mask


def agree(seed: int, name: str) -> None:
    problem = problem_of(question(random_rack(random.Random(seed)), name))
    ours = next(best_passes(problem, 1, 5.0, Stopper()))
    theirs, mask = by_highs(problem)
    assert ours.status is Status.OPTIMAL
    assert ours.expected == pytest.approx(theirs, abs=1e-6)
    assert mask.bit_count() == mask_of(problem.bits, ours.passed).bit_count() == 3


@pytest.mark.parametrize("seed", range(2000, 2005))
def test_equals_highs(seed: int) -> None:
    agree(seed, "small")


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2000, 2050))
def test_equals_highs_on_many_racks(seed: int) -> None:
    agree(seed, "small" if seed % 5 else "full")
