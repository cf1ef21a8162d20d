"""The pass model: which tiles to give so that the most expected hands stay within reach.

A set-union knapsack (Goldschmidt, Nehme, Yu 1994, Note: On the set-union knapsack problem, from memory):
options ask for tiles to stay, and all but ``give`` tiles may. One CP-SAT worker, a fixed seed, work
capped in deterministic time: the same question gives the same answer on every run.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from patterns.tiles import Tile
from solver.candidates import Candidates, candidates_of, hand_gains
from solver.options import Options, best_for
from solver.rack_bits import RackBits
from solver.stopping import Stopper
from solver.terms.exclude import exclude_bits, exclude_pairs, exclude_pass
from solver.terms.hand_options import add_hand_options
from solver.terms.limit import Limit, Outcome
from solver.terms.objective import Scale, add_objective, units_of
from solver.terms.pass_size import add_pass_size
from solver.terms.variables import Variables

SEED = 20_251


class Status(Enum):
    """How far the solver got; the value is its word on the wire."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"


@dataclass(frozen=True)
class Solution:
    """One pass.

    Attributes:
        passed: The tiles that go, in the fixed order.
        expected: Weighted expected hands, floors included.
        bound: No pass of those not yet found is worth more.
        resolution: Differences up to this are not told apart.
    """

    passed: tuple[Tile, ...]
    status: Status
    expected: float
    bound: float
    resolution: float


@dataclass(frozen=True, eq=False)
class PassProblem:
    """Everything the model is made from.

    Attributes:
        bits: Encoding of the rack.
        options: Options of the hands.
        weights: (H,) weights of the hands.
        families: Family of each hand.
        give: Tiles that go, 0-3.
        limits: Terms that limit the pass.
    """

    bits: RackBits
    options: Options
    weights: NDArray[np.float64]
    families: tuple[str, ...]
    give: int
    limits: tuple[Limit, ...]

    def tiles(self, mask: int) -> tuple[Tile, ...]:
        """Return the tiles of a bit set, in the fixed order."""
        bits = self.bits
        return tuple(
            tile
            for index, tile in enumerate(bits.kinds)
            for _ in range((mask & bits.up_to(index, bits.counts[index])).bit_count())
        )

    def allowed(self, mask: int) -> bool:
        """Return whether a pass keeps every limit, without the model."""
        if not self.limits:
            return True
        reach = self.options.floor.copy()
        reach[np.unique(self.options.hand)] += hand_gains(self.options, np.array([mask], np.uint32))[0]
        held = Counter(dict(zip(self.bits.kinds, self.bits.counts, strict=True)))
        outcome = Outcome(Counter(self.tiles(mask)), held, reach, self.families)
        return all(limit.holds(outcome) for limit in self.limits)

    def variables(self, limits: tuple[Limit, ...]) -> Variables:
        """Return a model with some of the limits and no objective."""
        variables = Variables.new(self.bits, self.options, self.families)
        add_pass_size(variables, self.give)
        add_hand_options(variables)
        for limit in limits:
            limit.add(variables)
        return variables


def new_solver(effort: float) -> cp_model.CpSolver:
    """Return a solver with the settings that were measured to be best (see DEVELOPERS.md)."""
    solver = cp_model.CpSolver()
    # Its handler would leave the process with the default one, so that a later Ctrl-C kills it.
    solver.parameters.catch_sigint_signal = False
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    solver.parameters.linearization_level = 2
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_presolve = False
    solver.parameters.cut_level = 0
    return solver


class _Search:
    """Best passes one after another, each found one ruled out by a cut."""

    def __init__(self, problem: PassProblem, wanted: int, effort: float, stopper: Stopper) -> None:
        self._stopper = stopper
        self._effort = effort
        found = candidates_of(
            problem.options, problem.weights, problem.bits, problem.give, wanted, problem.allowed
        )
        self._problem = PassProblem(
            problem.bits,
            best_for(problem.options, found.alive(problem.bits.passes(problem.give))),
            problem.weights,
            problem.families,
            problem.give,
            problem.limits,
        )
        self._variables = self._problem.variables(problem.limits)
        exclude_bits(self._variables, found.dead)
        exclude_pairs(self._variables, found.hopeless)
        self._scale = Scale.of(self._problem.options, problem.weights)
        add_objective(self._variables, self._scale)
        self._floor = float(self._problem.options.floor @ problem.weights)
        self._candidates: Candidates = found
        self._found: list[int] = []

    def _hint(self) -> None:
        """Start from the best pass known; a wrong hint costs time, never the answer."""
        mask = next((mask for mask in self._candidates.masks if mask not in self._found), None)
        self._variables.model.clear_hints()  # type: ignore[no-untyped-call]
        if mask is None:
            return
        options = self._problem.options
        left = np.flatnonzero((options.forbidden & np.uint32(mask)) == 0)
        _, best = np.unique(options.hand[left], return_index=True)
        counted = np.zeros(len(options.hand), np.intp)
        counted[left[best]] = 1
        # Straight into the model's message: one call a variable took longer than all else here.
        hint = self._variables.model.proto.solution_hint
        hint.vars.extend([each.index for each in (*self._variables.passed, *self._variables.chosen)])
        hint.values.extend([*(mask >> bit & 1 for bit in range(self._problem.bits.size)), *counted.tolist()])

    def next(self) -> Solution | None:
        """Return the next best pass, or None when no other pass keeps the limits."""
        self._hint()
        solver = new_solver(max(self._effort, 1e-6))
        status = self._stopper.solve(solver, self._variables.model)
        self._effort -= solver.response_proto.deterministic_time
        if status == cp_model.INFEASIBLE:
            return None
        reached = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        if reached:
            mask = sum(
                1 << bit
                for bit, boolean in enumerate(self._variables.passed)
                if solver.boolean_value(boolean)
            )
        else:
            mask = next((mask for mask in self._candidates.masks if mask not in self._found), -1)
            if mask < 0:
                raise NoAnswerError
        # Short of the optimum the options chosen may fall short of what the pass leaves.
        units = units_of(solver.objective_value) if status == cp_model.OPTIMAL else self._units(mask)
        self._found.append(mask)
        exclude_pass(self._variables, mask)
        # A solver that reached nothing may have no bound either, and says 0: every hand's best is one.
        bound = units_of(solver.best_objective_bound) if reached else self._units(0)
        bound = units if status == cp_model.OPTIMAL else max(units, bound)
        return Solution(
            self._problem.tiles(mask),
            Status.OPTIMAL if status == cp_model.OPTIMAL else Status.FEASIBLE,
            self._floor + units * self._scale.unit,
            self._floor + bound * self._scale.unit,
            self._scale.unit * len(self._problem.weights),
        )

    def _units(self, mask: int) -> int:
        left = (self._problem.options.forbidden & np.uint32(mask)) == 0
        best = np.zeros(len(self._problem.weights), np.int64)
        np.maximum.at(best, self._problem.options.hand[left], self._scale.worth[left])
        return int(best.sum())


class NoAnswerError(Exception):
    """The cap on work was hit before any pass was found."""


def best_passes(problem: PassProblem, wanted: int, effort: float, stopper: Stopper) -> Iterator[Solution]:
    """Yield the best passes in order, at most ``wanted``; none when the limits contradict.

    Args:
        problem: The problem.
        wanted: How many passes, 1 or more.
        effort: Cap on the work of all of them, in deterministic time units.
        stopper: Ends the work on request.

    Raises:
        NoAnswerError: the cap was hit with nothing found.
        StoppedError: a stop was asked for.
    """
    search = _Search(problem, wanted, effort, stopper)
    for _ in range(wanted):
        solution = search.next()
        if solution is None:
            return
        yield solution


def clash_of(problem: PassProblem, effort: float, stopper: Stopper) -> tuple[Limit, ...]:
    """Return limits that contradict one another, none of which is needless for that.

    Drops limits one by one from a model without objective and keeps those without which some pass
    remains; so the set is minimal, though there may be others.

    Raises:
        StoppedError: a stop was asked for.
    """
    clashing = problem.limits
    for limit in problem.limits:
        fewer = tuple(other for other in clashing if other is not limit)
        variables = problem.variables(fewer)
        if stopper.solve(new_solver(effort), variables.model) == cp_model.INFEASIBLE:
            clashing = fewer
    return clashing
