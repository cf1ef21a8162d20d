"""Passes chosen by what they leave, all of them valued at once: the advice, and rivals to measure it against.

A simulated table needs thousands of passes and no proof, so the passes are enumerated over the options
that the model is made from; tests hold the choice against the advice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import Tile
from solver.arrivals import Coming
from solver.candidates import hand_gains
from solver.chance import Chance
from solver.forecast import union
from solver.pass_model import PassProblem
from solver.problem import problem_of
from solver.question import Question
from solver.rounds import Round
from solver.table.seat import Seat
from solver.terms.objective import order_of

# Worths closer than this are ties, as in the model.
_TIE = 1e-9


class Objective(Enum):
    """What a pass is worth, from the reach of every hand after it."""

    SUM = "sum of reach"
    SINGLE = "best single hand"
    SOME = "chance of some hand, hands taken to be independent"
    ROOTS = "sum of square roots of reach"
    SQUARES = "sum of squares of reach"

    def worth(self, reach: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (n,) worths from (n, hands) reach."""
        worth: NDArray[np.float64]
        match self:
            case Objective.SUM:
                worth = reach.sum(axis=1)
            case Objective.SINGLE:
                worth = reach.max(axis=1)
            case Objective.SOME:
                worth = union(reach)
            case Objective.ROOTS:
                worth = np.sqrt(reach).sum(axis=1)
            case Objective.SQUARES:
                worth = (reach**2).sum(axis=1)
        return worth


def passes_of(problem: PassProblem) -> tuple[NDArray[np.uint32], NDArray[np.float64]]:
    """Return every pass as a bit set, and the (n, hands) reach that each leaves."""
    masks = problem.bits.passes(problem.give)
    reach = np.tile(problem.options.floor, (len(masks), 1))
    reach[:, np.unique(problem.options.hand)] += hand_gains(problem.options, masks)
    return masks, reach


@dataclass(frozen=True)
class ByWorth:
    """The pass worth most by an objective: by default, the advice.

    Attributes:
        coming: Assumes these arrivals after the exchanges instead of the defaults.
    """

    name: str = "advised"
    objective: Objective = Objective.SUM
    coming: Coming | None = None

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return the best pass."""
        return self.best(self._question(card, seat, round_, count))[1]

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return the number of tiles that is worth most."""
        questions = [self._question(card, seat, Round.COURTESY, count) for count in range(4)]
        return max((self.best(question)[0], count) for count, question in enumerate(questions))[1]

    def best(self, question: Question) -> tuple[float, tuple[Tile, ...]]:
        """Return what the best pass is worth, and the pass; limits do not count."""
        problem = problem_of(question)
        masks, reach = passes_of(problem)
        worth = self.objective.worth(reach)
        ties = masks[worth >= worth.max() - _TIE].tolist()
        order = order_of(problem.bits)
        first = min(ties, key=lambda mask: sum(each for bit, each in enumerate(order) if mask >> bit & 1))
        return float(worth.max()), problem.tiles(first)

    def _question(self, card: Card, seat: Seat, round_: Round, count: int) -> Question:
        question = Question(card, seat.rack, round_, count, seen=seat.seen(), alternatives=0)
        if self.coming is None:
            return question
        return replace(question, arrivals=self.coming.after(question.situation.arrivals.charleston))
