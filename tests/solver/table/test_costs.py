from math import comb, exp

import numpy as np
import pytest

from patterns.card import HAND_SIZE
from solver.table.aim import IMPOSSIBLE, MAX_LACK, Costs, costs_for

HORIZONS = [(99, 24), (60, 12), (40, 4), (45, 1), (12, 3), (5, 1), (1, 1), (152, 38), (30, 0)]
_EACH_MISSING = 2.0


def tables_of_costs(costs: Costs) -> list[np.ndarray]:
    return [costs.plain, costs.grouped, costs.hidden]


@pytest.mark.parametrize(("pool", "draws"), HORIZONS)
def test_every_cost_is_finite_and_between_nothing_and_impossible(pool: int, draws: int) -> None:
    for table in tables_of_costs(costs_for(pool, draws)):
        assert table.shape[0] == MAX_LACK == HAND_SIZE + 1
        assert np.isfinite(table).all()
        assert (table >= 0).all() and (table <= IMPOSSIBLE).all()
        assert (table[0] == 0).all()


@pytest.mark.parametrize(("pool", "draws"), HORIZONS)
def test_lacking_more_costs_more_and_more_unseen_never_costs_more(pool: int, draws: int) -> None:
    for table in tables_of_costs(costs_for(pool, draws)):
        assert (np.diff(table, axis=0) >= 0).all()
        possible = table[:, : min(pool, 8) + 1]
        assert (np.diff(possible, axis=1) <= 0).all()


@pytest.mark.parametrize(("pool", "draws"), HORIZONS)
def test_claims_and_jokers_never_make_it_dearer(pool: int, draws: int) -> None:
    costs = costs_for(pool, draws)
    assert (costs.grouped <= costs.hidden).all()
    assert (costs.hidden <= costs.plain).all()


@pytest.mark.parametrize(
    ("lack", "unseen", "pool", "draws"), [(1, 4, 60, 12), (2, 3, 60, 12), (3, 4, 99, 24)]
)
def test_a_pair_costs_minus_the_log_of_its_chance(lack: int, unseen: int, pool: int, draws: int) -> None:
    ways = sum(comb(unseen, hit) * comb(pool - unseen, draws - hit) for hit in range(lack, unseen + 1))
    cost = costs_for(pool, draws).plain[lack, unseen] - _EACH_MISSING * lack
    assert exp(-cost) == pytest.approx(ways / comb(pool, draws), rel=1e-5)


def test_a_pair_without_tiles_left_is_impossible_and_a_group_is_not() -> None:
    costs = costs_for(60, 12)
    assert costs.plain[2, 1] == IMPOSSIBLE
    assert costs.grouped[2, 1] < IMPOSSIBLE / 2


def test_sums_of_costs_are_exact_in_any_order() -> None:
    values = np.concatenate([table.ravel() for table in tables_of_costs(costs_for(99, 24))])
    assert values.sum() == values[::-1].sum() == sum(sorted(values.tolist()))
    assert (values * 2.0**20 == np.round(values * 2.0**20)).all()
