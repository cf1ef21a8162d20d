import random
from itertools import combinations_with_replacement

import numpy as np
import pytest

from solver.options import Options
from solver.problem import problem_of
from solver.terms.objective import ORDER_SPAN, ORDER_WEIGHTS, Scale, units_of
from tests.solver.racks import question, random_rack


def test_sums_of_up_to_three_order_weights_all_differ() -> None:
    for size in (1, 2, 3):
        chosen = list(combinations_with_replacement(ORDER_WEIGHTS, size))
        assert len({sum(weights) for weights in chosen}) == len(chosen)


def test_order_weights_rise_and_never_outweigh_one_unit() -> None:
    assert list(ORDER_WEIGHTS) == sorted(set(ORDER_WEIGHTS))
    assert 3 * max(ORDER_WEIGHTS) < ORDER_SPAN
    assert len(ORDER_WEIGHTS) == 14


@pytest.mark.parametrize("units", [0, 1, 7, 123_456_789, 2**39 - 1])
@pytest.mark.parametrize("order", [0, 1, 3 * max(ORDER_WEIGHTS)])
def test_units_are_read_back_from_the_objective(units: int, order: int) -> None:
    assert units_of(float(units * ORDER_SPAN - order)) == units


def test_the_unit_is_a_billionth_of_a_hand_on_the_practice_cards() -> None:
    for name in ("small", "full"):
        problem = problem_of(question(random_rack(random.Random(1)), name))
        scale = Scale.of(problem.options, problem.weights)
        gains = problem.options.reach - problem.options.floor[problem.options.hand]
        assert scale.unit == 1e-9
        assert np.abs(scale.worth * 1e-9 - gains).max() <= 0.5000001e-9


def test_great_weights_make_the_unit_coarser_and_sums_stay_exact_in_a_float() -> None:
    options = Options(
        np.arange(300, dtype=np.int32), np.ones(300, np.uint32), np.full(300, 0.9), np.zeros(300), 300
    )
    scale = Scale.of(options, np.full(300, 1000.0))
    assert scale.unit == pytest.approx(1e-6)
    assert int(scale.worth.sum()) * ORDER_SPAN < 2**53
    assert scale.worth[0] == 900_000_000
