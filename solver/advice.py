"""Advice: the one wiring of question, options, model, re-scorer and explanation."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from patterns.tiles import Tile
from solver.arrivals import Arrivals
from solver.card_tables import CardTables, tables_of
from solver.explain import HandLoss, HandStanding, standing
from solver.limits import hand_weights
from solver.options import options_of
from solver.pass_model import PassProblem, Solution, Status, best_passes, clash_of
from solver.question import Question
from solver.rack_bits import RackBits
from solver.rescore import Score, keeps, score
from solver.stopping import Stopper
from solver.terms.all_limits import limit_terms
from solver.terms.limit import Limit

# A hand that lost no more than this is not worth naming among those given up.
_NOTEWORTHY_LOSS = 1e-6
_CLOSE, _FAIR = 0.02, 0.10


class Call(Enum):
    """How close the call is, by the runner-up's gap as a share of the best pass's worth."""

    ONLY = "only pass"
    EVEN = "even"
    CLOSE = "close"
    FAIR = "fair"
    CLEAR = "clear"


@dataclass(frozen=True)
class Proof:
    """How sure the best pass is.

    Attributes:
        bound: No pass is worth more expected hands than this.
        gap: ``bound`` less what the pass is worth, 0 when optimal.
        resolution: Differences in expected hands up to this are not told apart.
    """

    status: Status
    bound: float
    gap: float
    resolution: float


@dataclass(frozen=True)
class RunnerUp:
    """Another pass; ``gap`` is how many expected hands less it is worth."""

    passed: tuple[Tile, ...]
    expected: float
    gap: float


@dataclass(frozen=True)
class Advice:
    """The answer to a question.

    Attributes:
        passed: The tiles to give, in the fixed order.
        expected: Weighted expected hands within reach afterwards.
        expected_before: The same for the whole rack.
        hands: Every hand that counts and has any reach left, likeliest first.
        given_up: Hands made less likely, the greatest weighted loss first.
        runner_ups: The next best passes, in order.
        arrivals: The arrivals assumed.
    """

    question: Question
    passed: tuple[Tile, ...]
    expected: float
    expected_before: float
    proof: Proof
    hands: tuple[HandStanding, ...]
    given_up: tuple[HandLoss, ...]
    runner_ups: tuple[RunnerUp, ...]
    call: Call | None
    arrivals: Arrivals


class ClashError(Exception):
    """No pass keeps all limits; ``clashing`` are limits that contradict one another."""

    def __init__(self, clashing: tuple[Limit, ...]) -> None:
        self.clashing = clashing
        super().__init__("no pass keeps all of: " + "; ".join(limit.says for limit in clashing))


class MismatchError(Exception):
    """The re-scorer does not confirm what the solver found: a defect, never an answer."""


def problem_of(question: Question) -> PassProblem:
    """Return the model's problem for a question.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
    """
    tables, situation = tables_of(question.card), question.situation
    weights = hand_weights(question.card, question.limits)
    bits = RackBits.of(situation.held)
    options = options_of(situation, tables, bits, question.tiles_given, weights > 0)
    families = tuple(hand.family for hand in question.card.hands)
    return PassProblem(bits, options, weights, families, question.tiles_given, limit_terms(question.limits))


def advise(question: Question, stopper: Stopper | None = None) -> Advice:
    """Return the best pass, proved and re-scored, with what it keeps and gives up.

    Args:
        question: The question.
        stopper: Ends the work on request from another thread.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
        ClashError: the limits contradict.
        NoAnswerError: the cap on work was hit before any pass was found.
        StoppedError: a stop was asked for.
        MismatchError: the re-scorer does not confirm the answer.
    """
    stopper = stopper or Stopper()
    stopper.check()
    problem = problem_of(question)
    found = list(best_passes(problem, question.alternatives + 1, question.effort, stopper))
    if not found:
        raise ClashError(clash_of(problem, question.effort, stopper))
    tables, situation = tables_of(question.card), question.situation
    scores = [_confirmed(question, problem, tables, solution) for solution in found]
    before = score(situation, tables, problem.weights, ())
    best, proved = scores[0], found[0]
    runner_ups = tuple(
        RunnerUp(other.passed, other.expected, max(0.0, best.expected - other.expected))
        for other in scores[1:]
    )
    gap = max(0.0, proved.bound - proved.expected)
    return Advice(
        question,
        best.passed,
        best.expected,
        before.expected,
        Proof(proved.status, best.expected + gap, gap, proved.resolution),
        _standings(question, tables, before, best),
        _losses(question, problem, before, best),
        runner_ups,
        _call(best.expected, runner_ups, proved.resolution, question.alternatives),
        situation.arrivals,
    )


def _confirmed(question: Question, problem: PassProblem, tables: CardTables, solution: Solution) -> Score:
    result = score(question.situation, tables, problem.weights, solution.passed)
    if abs(result.expected - solution.expected) > solution.resolution:
        raise MismatchError(f"solver {solution.expected!r}, re-scorer {result.expected!r}")
    if len(result.passed) != problem.give or not keeps(question.situation, tables, problem.limits, result):
        raise MismatchError("the pass breaks a limit")
    return result


def _standings(
    question: Question, tables: CardTables, before: Score, after: Score
) -> tuple[HandStanding, ...]:
    order = np.argsort(-after.reach, kind="stable").tolist()
    return tuple(
        standing(question.situation, tables, before, after, hand) for hand in order if after.reach[hand] > 0
    )


def _losses(question: Question, problem: PassProblem, before: Score, after: Score) -> tuple[HandLoss, ...]:
    lost = before.reach - after.reach
    order = np.argsort(-lost * problem.weights, kind="stable").tolist()
    return tuple(
        HandLoss(question.card.hands[hand], float(before.reach[hand]), float(after.reach[hand]))
        for hand in order
        if lost[hand] > _NOTEWORTHY_LOSS
    )


def _call(best: float, runner_ups: tuple[RunnerUp, ...], resolution: float, wanted: int) -> Call | None:
    if not runner_ups:
        return Call.ONLY if wanted else None
    gap = runner_ups[0].gap
    if gap <= resolution:
        return Call.EVEN
    share = gap / best
    return Call.CLOSE if share < _CLOSE else Call.FAIR if share < _FAIR else Call.CLEAR
