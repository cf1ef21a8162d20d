import random
from functools import partial
from itertools import combinations

import numpy as np
import pytest

from patterns.tiles import Tile
from solver.candidates import candidates_of, hand_gains, worths
from solver.options import Options
from solver.problem import problem_of
from solver.question import Question
from solver.rounds import Round
from tests.solver.enumeration import enumerate_passes, mask_of
from tests.solver.racks import question, random_rack


def is_not_in(banned: set[int], mask: int) -> bool:
    return mask not in banned


def passes_of(asked: Question) -> list[tuple[Tile, ...]]:
    return enumerate_passes(asked).passes


@pytest.mark.parametrize("give", [0, 1, 2, 3])
@pytest.mark.parametrize("wanted", [1, 3, 6])
def test_no_best_pass_is_ruled_out(give: int, wanted: int) -> None:
    rnd = random.Random(give * 10 + wanted)
    ruled_out = 0
    for _ in range(8):
        asked = question(random_rack(rnd), round=Round.COURTESY, give=give)
        problem = problem_of(asked)
        masks = np.array([mask_of(problem.bits, p) for p in passes_of(asked)], np.uint32)
        banned = set(rnd.sample(masks.tolist(), len(masks) // 3))
        worth = worths(problem.options, problem.weights, masks)
        found = candidates_of(
            problem.options, problem.weights, problem.bits, give, wanted, partial(is_not_in, banned)
        )
        assert not set(found.masks) & banned
        values = worths(problem.options, problem.weights, np.array(found.masks, np.uint32))
        # Summed together with other passes, equal worths may differ in the last digit.
        assert np.all(np.diff(values) <= 1e-14)
        assert all(mask.bit_count() == give for mask in found.masks)
        assert len(set(found.masks)) == len(found.masks)
        allowed = [(w, m) for w, m in zip(worth, masks.tolist(), strict=True) if m not in banned]
        for _, mask in sorted(allowed, reverse=True)[:wanted]:
            assert not mask & found.dead
            assert not any(mask >> a & 1 and mask >> b & 1 for a, b in found.hopeless)
        ruled_out += found.dead.bit_count() + len(found.hopeless)
    assert (ruled_out > 0) == (give > 1)


def test_only_closed_sets_are_passes() -> None:
    """A second copy never goes without the first."""
    asked = question("1111b 2222c 3333d NN")
    problem = problem_of(asked)
    every = {mask_of(problem.bits, p) for p in passes_of(asked)}
    found = candidates_of(problem.options, problem.weights, problem.bits, 3, 4, lambda mask: True)
    assert set(found.masks) <= every


def test_worths_add_up_the_best_option_left_of_each_hand() -> None:
    options = Options(
        hand=np.array([1, 1, 3], np.int32),
        forbidden=np.array([0b001, 0b100, 0b010], np.uint32),
        reach=np.array([0.5, 0.25, 0.75]),
        floor=np.array([0.9, 0.125, 0.0, 0.5]),
        unpruned=3,
    )
    weights = np.array([1.0, 2.0, 1.0, 4.0])
    masks = np.arange(8, dtype=np.uint32)
    expected = []
    for mask in masks.tolist():
        first = 0.375 if not mask & 1 else 0.125 if not mask & 4 else 0.0
        expected.append(2 * first + 4 * (0.25 if not mask & 2 else 0.0))
    assert worths(options, weights, masks).tolist() == expected
    assert hand_gains(options, masks).shape == (8, 2)


def test_no_options_no_gains() -> None:
    nothing = Options(np.zeros(0, np.int32), np.zeros(0, np.uint32), np.zeros(0), np.ones(4), 0)
    masks = np.array([sum(1 << bit for bit in c) for c in combinations(range(4), 2)], np.uint32)
    assert worths(nothing, np.ones(4), masks).tolist() == [0.0] * 6
    assert hand_gains(nothing, masks).shape == (6, 0)
