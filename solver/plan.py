"""A plan over several rounds: what goes now, and what goes next if nothing better comes.

After each round the tiles given so far are gone, and what is then within reach counts with the arrivals
still to come: those that each round has by default, or what is left of those of a drill or of those stated.
The plan maximizes the sum over the rounds. It takes the incoming tiles to be of no use, so it is an order in
which to let one's own tiles go.

Exact, by recursion over what may be gone after each round: at most 364 sets of three tiles, 3,003 of six and
2,002 of nine. The best way on from a set is the best of the larger sets that hold it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from patterns.faults import Fault, FaultyInputError
from patterns.stopping import check_stop
from solver.advice import ClashError
from solver.model import clash_of
from solver.passes import PassTable, Valued
from solver.rounds import ORDER, PASS_SIZE
from solver.situation import Question, Situation

MAX_ROUNDS = 3


@dataclass(frozen=True)
class Plan:
    """The rounds in order: no plan has a greater sum of strength. ``resolution`` bounds its rounding."""

    rounds: tuple[Valued, ...]
    total: float
    resolution: float


def _situations(question: Question, rounds: int) -> list[Situation]:
    first = question.situation
    if question.arrivals is None and question.drill is None:
        played = ORDER[ORDER.index(question.round) :]
        later = [replace(question, round=played[index], give=PASS_SIZE) for index in range(1, rounds)]
        return [first, *(each.situation for each in later)]
    # As many tiles come in with each pass as go; the first may be of fewer than three.
    come = [0, *(question.tiles_given + PASS_SIZE * later for later in range(rounds - 1))]
    charleston = first.arrivals.charleston
    return [replace(first, arrivals=first.arrivals.after(max(0, charleston - gone))) for gone in come]


def plan(question: Question, rounds: int) -> Plan:
    """Return the best plan over the next rounds; of equals the first in the order of tiles, round by round.

    The question's limits hold for the present pass, its families, hands and weights for every round. The
    present pass gives its number of tiles, each later one three. Rounds are 1 to 3, as can still be played.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand; a rack with
            too few tiles that may go; fewer tiles unseen than a later round has to come.
        ClashError: the limits contradict one another.
    """
    gone = [question.tiles_given + PASS_SIZE * later for later in range(rounds)]
    if gone[-1] > (naturals := int(question.situation.held.sum())):
        raise FaultyInputError([Fault("range", ("rounds",), f"only {naturals} tiles may go in all")])
    stages: list[PassTable] = []
    for size, situation in zip(gone, _situations(question, rounds), strict=True):
        check_stop()
        stages.append(PassTable.of(question, size=size, situation=situation, worth_only=bool(stages)))
    limits = question.limits.on_pass
    allowed = np.zeros(len(stages[0].masks), bool)
    allowed[list(stages[0].ranked(limits))] = True
    if not allowed.any():
        raise ClashError(clash_of(stages[0], limits))
    unit = max(stage.unit for stage in stages)
    chosen = _best_way(stages, allowed, [stage.in_units(unit).sum(axis=0) for stage in stages])
    planned, before = [], 0
    for stage, index in zip(stages, chosen, strict=True):
        now = int(stage.masks[index])
        goes = stage.bits.tiles(now & ~before)
        planned.append(replace(stage.valued(index), passed=goes))
        before = now
    resolution = rounds * len(stages[0].weights) * unit
    return Plan(tuple(planned), sum(each.strength for each in planned), resolution)


def _best_way(
    stages: list[PassTable], allowed: NDArray[np.bool_], units: list[NDArray[np.int64]]
) -> list[int]:
    """Return the index of what is gone after each stage, for the greatest sum.

    Sets of the first stage may not be allowed, by its limits; units are of one size for all stages.
    """
    size = stages[0].bits.size
    ahead = np.zeros(len(stages[-1].masks), np.int64)
    values = [units[-1]]
    for turn in range(len(stages) - 1, 0, -1):
        earlier, later = stages[turn - 1], stages[turn]
        # What is best to come after every set, written at the set; then every smaller one gets the best of
        # those with one tile more. Sets with a higher copy but not a lower are never read.
        best = np.full(1 << size, -1, np.int64)
        best[later.masks] = units[turn] + ahead
        for bit in range(size):
            halves = best.reshape(-1, 2, 1 << bit)
            np.maximum(halves[:, 0], halves[:, 1], out=halves[:, 0])
        ahead = best[earlier.masks]
        values.insert(0, units[turn - 1] + ahead)
    values[0] = np.where(allowed, values[0], -1)
    chosen: list[int] = []
    for stage, value in zip(stages, values, strict=True):
        held = int(stages[len(chosen) - 1].masks[chosen[-1]]) if chosen else 0
        possible = np.flatnonzero((stage.masks & held) == held)
        best_value = value[possible].max()
        ties = possible[value[possible] == best_value].tolist()
        goes = [stage.bits.tiles(int(stage.masks[index]) & ~held) for index in ties]
        order = [[tile.position for tile in tiles] for tiles in goes]
        chosen.append(ties[order.index(min(order))])
    return chosen
