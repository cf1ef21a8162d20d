"""The pass model: which tiles to give so that the most rack strength stays.

A set-union knapsack (Goldschmidt, Nehme, Yu 1994, Note: On the set-union knapsack problem, from memory):
each hand has options, worth what it keeps as long as some tiles stay, and all but a few tiles may. CP-SAT
picks the pass under the limits, proves it and names limits that clash; with one worker and a fixed seed the
same question gives the same answer on every run. There are at most 364 passes to choose from, so every search
comes to its end.

The table of all passes says which can be among the best; the others stay out of the model. The model is
written straight as CP-SAT's own message, through the binding that OR-Tools' own classes use (its version is
pinned): those classes cost more than the solve, and a third of a second at import.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model_helper as cp_sat

from patterns.stopping import check_stop, current_stopper
from patterns.tiles import Tile
from solver.limits import AtLeast, Limit
from solver.passes import PassTable

SEED = 20_251
# So many of the best passes, and all that can be put together from the same pairs of tiles, are in the model.
_WIDTH = 3
Asked = TypeVar("Asked")


class MismatchError(Exception):
    """Table and model do not agree to the last unit, or a search has no end: a defect, never an answer."""


def run_solver(
    solver: cp_sat.SolveWrapper, model: cp_sat.CpModelProto, *, to_the_end: bool = True
) -> cp_sat.CpSolverResponse:
    """Run one solve that a stop can reach; MismatchError where it does not end, as with a faulty model."""
    with current_stopper().reaching(solver.stop_search):
        response: cp_sat.CpSolverResponse = solver.solve(model)  # type: ignore[no-untyped-call]
    ended = response.status in (cp_sat.CpSolverStatus.OPTIMAL, cp_sat.CpSolverStatus.INFEASIBLE)
    if not ended and (to_the_end or response.status == cp_sat.CpSolverStatus.MODEL_INVALID):
        raise MismatchError(f"{response.status.name} {cp_sat.CpSatHelper.validate_model(model)}")
    return response


@dataclass(frozen=True, eq=False)
class Options:
    """What hands may still be worth: the best that each is left by some pass, in (n,) options.

    Attributes:
        hand: Index of the hand, ascending.
        forbidden: Passes that touch a bit of this set do not leave the option.
        reach: Reach of the hand then, and ``units`` of the table that it is worth.
        floor: (H,) reach that each hand keeps whatever is passed, and ``floor_units`` that it is worth.
    """

    hand: NDArray[np.intp]
    forbidden: NDArray[np.uint32]
    reach: NDArray[np.float64]
    units: NDArray[np.int64]
    floor: NDArray[np.float64]
    floor_units: NDArray[np.int64]

    @classmethod
    def of(cls, table: PassTable, passes: NDArray[np.intp]) -> Options:
        """Return the options that some passes of a table leave, those above the floor."""
        hand_of, useful_of, reach = table.options(passes)
        best, units = table.reach[:, passes], table.hand_units[:, passes]
        floor = best.min(axis=1)
        starts = np.flatnonzero(np.diff(hand_of, prepend=-1))
        hands, pair = hand_of[starts], np.arange(len(hand_of))[:, None]
        is_best = reach == best[hand_of]
        first = np.minimum.reduceat(np.where(is_best, pair, len(hand_of)), starts, axis=0)
        which, column = np.nonzero(best[hands] > floor[hands][:, None])
        useful = useful_of[first[which, column]]
        forbidden = useful & ~table.masks[passes][column]
        _, at = np.unique(which.astype(np.uint64) << np.uint64(32) | forbidden, return_index=True)
        hand, column = hands[which[at]], column[at]
        return cls(hand, forbidden[at], best[hand, column], units[hand, column], floor, units.min(axis=1))


class Model:
    """CP-SAT's own message, of booleans alone."""

    def __init__(self) -> None:
        self._message = cp_sat.CpModelProto()

    def _booleans(self, count: int) -> range:
        """Make so many booleans; a negated one is written as its complement."""
        variables = self._message.variables
        begin = len(variables)
        for _ in range(count):
            variables.add().domain.extend((0, 1))
        return range(begin, begin + count)

    def _any_of(self, literals: list[int]) -> None:
        self._message.constraints.add().bool_or.literals.extend(literals)

    def _at_most_one(self, literals: list[int]) -> None:
        self._message.constraints.add().at_most_one.literals.extend(literals)

    def _between(self, booleans: Sequence[int], least: int, most: int, when: int | None = None) -> None:
        constraint = self._message.constraints.add()
        if when is not None:
            constraint.enforcement_literal.append(when)
        linear = constraint.linear
        linear.vars.extend(booleans)
        linear.coeffs.extend([1] * len(booleans))
        linear.domain.extend((least, most))


class PassModel(Model):
    """A model of some passes of a table, by their indexes; limits constrain it by its public methods."""

    def __init__(self, table: PassTable, passes: NDArray[np.intp], limits: Iterable[Limit] = ()) -> None:
        super().__init__()
        self._table, self._bits = table, table.bits
        self.kinds, self.families = table.bits.kinds, table.tables.card.family_of_hand
        self.options = Options.of(table, passes)
        self._worth = self.options.units - self.options.floor_units[self.options.hand]
        self._passed = self._booleans(self._bits.size)
        self._chosen = self._booleans(len(self.options.hand))
        self._add_passes(passes)
        self._add_options()
        for limit in limits:
            limit.add(self)

    def at_least(self, count: int, tiles: Iterable[Tile]) -> None:
        """Let at least so many tiles of some kinds go, all copies counted."""
        self._between(self._bits_of(tiles), count, self._bits.size)

    def at_most(self, count: int, tiles: Iterable[Tile]) -> None:
        """Let at most so many tiles of some kinds go, all copies counted."""
        self._between(self._bits_of(tiles), 0, count)

    def leave(self, copies: int, tile: Tile) -> None:
        """Let at least so many copies stay; jokers always do."""
        if tile is not Tile.JOKER:
            self.at_most(len(self._bits_of([tile])) - copies, [tile])

    def not_both(self, first: Tile, second: Tile) -> None:
        """Let at most one of two kinds go."""
        self._any_of([~self._bits.first_bit[self.kinds.index(tile)] for tile in (first, second)])

    def keep(self, wanted: AtLeast, owners: Sequence[Hashable]) -> None:
        """Leave enough reach to hands of so many different owners; ``owners`` has one a hand."""
        options = self.options
        safe = {owners[hand] for hand in np.flatnonzero(options.floor >= wanted.enough).tolist()}
        enough: dict[Hashable, list[int]] = defaultdict(list)
        for index in np.flatnonzero(options.reach >= wanted.enough).tolist():
            owner = owners[int(options.hand[index])]
            if owner not in safe:
                enough[owner].append(self._chosen[index])
        kept = self._booleans(len(enough))
        for counts, chosen in zip(kept, enough.values(), strict=True):
            self._any_of([*chosen, ~counts])
        if wanted.count > len(safe):
            self._between(kept, wanted.count - len(safe), max(wanted.count, len(owners)))

    def maximize(self) -> None:
        """Ask for the pass that is worth most."""
        objective = self._message.objective
        objective.vars.extend(self._chosen)
        objective.coeffs.extend((-self._worth).tolist())

    def exclude(self, mask: int) -> None:
        """Rule out one pass: all have equally many bits, so one of its bits must be missing."""
        self._any_of([~bit for bit in self._passed if mask >> bit & 1])

    def solve(self) -> tuple[int, int] | None:
        """Return the best pass as a bit set, or any where nothing is asked for; None when none keeps limits.

        Beside it stands what it is worth in units, by the options chosen.
        """
        response = run_solver(solver_of(), self._message)
        if response.status == cp_sat.CpSolverStatus.INFEASIBLE:
            return None
        values = np.array(response.solution, np.int64)
        mask = sum(1 << bit for bit in self._passed if values[bit])
        return mask, int(self.options.floor_units.sum() + values[self._chosen] @ self._worth)

    def _add_passes(self, passes: NDArray[np.intp]) -> None:
        """Let exactly so many tiles go, the lower copies first, no two together that no pass has."""
        masks = self._table.masks[passes]
        for bit in self._passed[1:]:
            if self._bits.kind_of[bit] == self._bits.kind_of[bit - 1]:
                self._any_of([~bit, bit - 1])
        size = int(masks[0]).bit_count()
        self._between(list(self._passed), size, size)
        used = self._bits.used(masks)
        together = used.T @ used
        alive = np.flatnonzero(together.diagonal()).tolist()
        for bit in set(self._passed) - set(alive):
            self._any_of([~bit])
        for first, second in combinations(alive, 2):
            if not together[first, second]:
                self._any_of([~first, ~second])

    def _add_options(self) -> None:
        """Count a hand at one option at most, and only at one that the pass leaves."""
        of_hand: dict[int, list[tuple[int, int]]] = defaultdict(list)
        each = zip(self.options.hand.tolist(), self.options.forbidden.tolist(), self._chosen, strict=True)
        for hand, forbidden, chosen in each:
            of_hand[hand].append((forbidden, chosen))
        for options in of_hand.values():
            check_stop()
            self._at_most_one([chosen for _, chosen in options])
            for bit in self._passed:
                if clashing := [chosen for forbidden, chosen in options if forbidden >> bit & 1]:
                    self._at_most_one([bit, *clashing])

    def _bits_of(self, tiles: Iterable[Tile]) -> list[int]:
        """Return the bits of the tiles of some kinds that may go; jokers have none."""
        kinds = set(tiles)
        return [bit for bit in self._passed if self.kinds[self._bits.kind_of[bit]] in kinds]


def solver_of(linearization: int = 2, deterministic_time: float = inf) -> cp_sat.SolveWrapper:
    """Return a solver with the settings that were measured to be best for passes, but for those named."""
    parameters = cp_sat.SatParameters()
    # Its handler would leave the process with the default one, so that a later Ctrl-C kills it.
    parameters.catch_sigint_signal = False
    parameters.num_workers = 1
    parameters.random_seed = SEED
    parameters.linearization_level = linearization
    parameters.max_deterministic_time = deterministic_time
    parameters.cp_model_probing_level = 0
    parameters.symmetry_level = 0
    parameters.cp_model_presolve = False
    parameters.cut_level = 0
    if (left := current_stopper().left) < inf:
        parameters.max_time_in_seconds = max(0.0, left)
    solver = cp_sat.SolveWrapper()
    solver.set_parameters(parameters)
    return solver


def around(table: PassTable, best: Sequence[int]) -> NDArray[np.intp]:
    """Return the passes of a table that the model is to choose from.

    Those are the best that keep the limits (1 or more, in order: what is sought is among them), the best of
    all, and every pass of no other pairs of tiles.
    """
    few = list(dict.fromkeys([*best, *table.order[:_WIDTH].tolist()]))
    used = table.bits.used(table.masks)
    apart = (used[few].T @ used[few] == 0).astype(np.int64)
    # A pass is in when none of its pairs (a bit with itself among them) is apart.
    return np.flatnonzero(np.einsum("pi,ij,pj->p", used, apart, used) == 0)


def clash_of(table: PassTable, limits: tuple[Limit, ...]) -> tuple[Limit, ...]:
    """Return limits that contradict one another where no pass of a table keeps all, none of them needless.

    Drops limits one by one from a model without objective and keeps those without which some pass
    remains; so the set is minimal, though there may be others. A MismatchError if some pass keeps them all.
    """
    every = np.arange(len(table.masks))
    if PassModel(table, every, limits).solve() is not None:
        raise MismatchError("some pass keeps all limits by the model, none by the table")
    return smallest_clash(limits, lambda some: PassModel(table, every, some).solve() is not None)


def smallest_clash(
    asked: Sequence[Asked], possible: Callable[[tuple[Asked, ...]], bool]
) -> tuple[Asked, ...]:
    """Return some of what is asked, all of which is not possible, none of it needless for that."""
    clashing = tuple(asked)
    for each in asked:
        fewer = tuple(other for other in clashing if other is not each)
        if not possible(fewer):
            clashing = fewer
    return clashing
