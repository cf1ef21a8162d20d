from collections import Counter

import numpy as np
import pytest
from ortools.sat.python import cp_model

from patterns.tiles import Suit, numbered
from solver.options import Options
from solver.rack_bits import RackBits
from solver.terms.nested import add_nested
from solver.terms.pass_size import add_pass_size
from solver.terms.variables import Variables

KINDS = tuple(numbered(rank, Suit.BAM) for rank in range(1, 5))
NO_OPTIONS = Options(np.zeros(0, np.int32), np.zeros(0, np.uint32), np.zeros(0), np.zeros(1), unpruned=0)


class Collector(cp_model.CpSolverSolutionCallback):
    """Keep, of every solution, how many copies of each kind are gone after each round."""

    def __init__(self, stages: list[Variables]) -> None:
        super().__init__()
        self.stages = stages
        self.found: list[tuple[tuple[int, ...], ...]] = []

    def on_solution_callback(self) -> None:
        self.found.append(tuple(self._gone(stage) for stage in self.stages))

    def _gone(self, stage: Variables) -> tuple[int, ...]:
        bits = stage.bits
        return tuple(
            sum(self.value(stage.passed[bits.bit(index, copy)]) for copy in range(1, count + 1))
            for index, count in enumerate(bits.counts)
        )


def solutions(counts: tuple[int, ...], sizes: list[int], nested: bool) -> list[tuple[tuple[int, ...], ...]]:
    bits = RackBits(KINDS[: len(counts)], counts)
    model = cp_model.CpModel()
    stages: list[Variables] = []
    for size in sizes:
        stage = Variables.new(bits, NO_OPTIONS, ("family",), model)
        add_pass_size(stage, size)
        if stages and nested:
            add_nested(stages[-1], stage)
        stages.append(stage)
    solver = cp_model.CpSolver()
    solver.parameters.enumerate_all_solutions = True
    collector = Collector(stages)
    assert solver.solve(model, collector) == cp_model.OPTIMAL
    return collector.found


def multisets(counts: tuple[int, ...], size: int) -> list[tuple[int, ...]]:
    every = [()]
    for count in counts:
        every = [(*some, copies) for some in every for copies in range(count + 1)]
    return [some for some in every if sum(some) == size]


@pytest.mark.parametrize(
    ("counts", "sizes"),
    [((1, 1, 1), [1, 2]), ((2, 1, 3), [2, 5]), ((3, 2), [1, 3, 4]), ((2, 2, 1, 1), [2, 4])],
)
def test_exactly_the_nested_sequences(counts: tuple[int, ...], sizes: list[int]) -> None:
    expected = [()]
    for size in sizes:
        expected = [
            (*before, after)
            for before in expected
            for after in multisets(counts, size)
            if not before or all(a <= b for a, b in zip(before[-1], after, strict=True))
        ]
    found = solutions(counts, sizes, nested=True)
    assert Counter(found) == Counter(expected)
    assert len(solutions(counts, sizes, nested=False)) > len(found)
