"""Advice: the one wiring of question, options, model, re-scorer and explanation."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from patterns.tiles import Tile
from solver.arrivals import Coming
from solver.card_tables import CardTables, tables_of
from solver.explain import HandLoss, Standings
from solver.order import greatest_first
from solver.pass_model import NoAnswerError, PassProblem, Solution, Status, best_passes, clash_of
from solver.problem import problem_of
from solver.question import Question
from solver.rescore import Score, keeps, scores
from solver.rounds import PASS_SIZE, RULES
from solver.stopping import Stopper
from solver.terms.limit import Limit

# A hand that lost no more than this is not worth naming among those given up.
_NOTEWORTHY_LOSS = 1e-6
# Of random racks about two in five are closer than the first, one in five further apart than the second
# (150 racks on each practice card).
_CLOSE, _FAIR = 0.005, 0.02


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
class NumberValue:
    """The best pass of one number of own tiles.

    Attributes:
        give: Own tiles given, 0-3; as many come in.
        blind: Incoming tiles passed on unseen, 0-3; always 0 at the courtesy pass.
        gain: Expected hands above those of giving the fewest tiles compared.
    """

    give: int
    blind: int
    passed: tuple[Tile, ...]
    expected: float
    gain: float


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
        by_number: The best pass of each number of tiles compared, ascending; one entry when the number
            was given or the round leaves no choice.
    """

    question: Question
    passed: tuple[Tile, ...]
    expected: float
    expected_before: float
    proof: Proof
    hands: Standings
    given_up: tuple[HandLoss, ...]
    runner_ups: tuple[RunnerUp, ...]
    call: Call | None
    arrivals: Coming
    by_number: tuple[NumberValue, ...]


class ClashError(Exception):
    """No pass keeps all limits; ``clashing`` are limits that contradict one another."""

    def __init__(self, clashing: tuple[Limit, ...]) -> None:
        self.clashing = clashing
        super().__init__("no pass keeps all of: " + "; ".join(limit.says for limit in clashing))


class MismatchError(Exception):
    """The re-scorer does not confirm what the solver found: a defect, never an answer."""


def giving(question: Question, give: int) -> Question:
    """Return a question with the number of tiles named, and the arrivals that number leaves.

    Arrivals that a question states with its number left open are those of giving three: fewer given are
    as many fewer to come in.
    """
    arrivals = question.arrivals
    if arrivals is not None:
        fewer = question.tiles_given - give
        arrivals = arrivals.after(max(0, arrivals.charleston - fewer))
    return replace(question, give=give, arrivals=arrivals)


def advise(question: Question, stopper: Stopper | None = None, *, diagnose: bool = True) -> Advice:
    """Return the best pass, proved and re-scored, with what it keeps and gives up.

    Where the round lets a player give fewer than three (blind or courtesy) and the question leaves the
    number open, every number is solved with the arrivals it leaves, and the best returned; of equals,
    the one that gives more. Numbers at which the limits contradict are left out.

    Args:
        question: The question.
        stopper: Ends the work on request from another thread.
        diagnose: Whether to work out which limits clash when no pass keeps them all.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
        ClashError: the limits contradict, at every number of tiles.
        NoAnswerError: the cap on work was hit before any pass was found.
        StoppedError: a stop was asked for.
        MismatchError: the re-scorer does not confirm the answer.
    """
    stopper = stopper or Stopper()
    answers: list[Advice] = []
    clash: ClashError | None = None
    for give in question.numbers_to_compare:
        try:
            answers.append(_advise_number(giving(question, give), stopper, diagnose))
        except ClashError as error:
            clash = error
    if not answers:
        assert clash is not None
        raise clash
    best = max(answers, key=lambda answer: (answer.expected, len(answer.passed)))
    fewest = answers[0].expected
    by_number = tuple(
        replace(value, gain=answer.expected - fewest) for answer in answers for value in answer.by_number
    )
    return replace(best, question=question, by_number=by_number)


def _advise_number(question: Question, stopper: Stopper, diagnose: bool) -> Advice:
    """Answer a question that names the number of tiles to give."""
    stopper.check()
    problem = problem_of(question)
    found, complete = _find(problem, question, stopper)
    if not found:
        raise ClashError(clash_of(problem, question.effort, stopper) if diagnose else ())
    tables, situation = tables_of(question.card), question.situation
    before, *ranked = scores(situation, tables, problem.weights, [(), *(each.passed for each in found)])
    for solution, result in zip(found, ranked, strict=True):
        _confirm(question, problem, tables, solution, result)
    proved = found[0]
    # Found in order when each was proved; a search cut short may find the better pass later.
    ranked.sort(key=lambda result: -result.expected if proved.status is not Status.OPTIMAL else 0.0)
    best = ranked[0]
    runner_ups = tuple(
        RunnerUp(other.passed, other.expected, max(0.0, best.expected - other.expected))
        for other in ranked[1:]
    )
    gap = 0.0 if proved.status is Status.OPTIMAL else max(0.0, proved.bound - best.expected)
    blind = PASS_SIZE - problem.give if RULES[question.round].blind else 0
    return Advice(
        question,
        best.passed,
        best.expected,
        before.expected,
        Proof(proved.status, best.expected + gap, gap, proved.resolution),
        Standings(situation, tables, before, best, question.arrivals_alone),
        _losses(question, problem, before, best),
        runner_ups,
        _call(best.expected, runner_ups, proved.resolution, only=complete and question.alternatives > 0),
        situation.arrivals,
        (NumberValue(problem.give, blind, best.passed, best.expected, 0.0),),
    )


def _find(problem: PassProblem, question: Question, stopper: Stopper) -> tuple[list[Solution], bool]:
    """Return the best passes found, and whether the cap on work left the search complete."""
    found: list[Solution] = []
    try:
        for solution in best_passes(problem, question.alternatives + 1, question.effort, stopper):
            found.append(solution)  # noqa: PERF402  (those found before the cap are kept)
    except NoAnswerError:
        if not found:
            raise
        return found, False
    return found, True


def _confirm(
    question: Question, problem: PassProblem, tables: CardTables, solution: Solution, result: Score
) -> None:
    if abs(result.expected - solution.expected) > solution.resolution:
        raise MismatchError(f"solver {solution.expected!r}, re-scorer {result.expected!r}")
    if len(result.passed) != problem.give or not keeps(question.situation, tables, problem.limits, result):
        raise MismatchError("the pass breaks a limit")


def _losses(question: Question, problem: PassProblem, before: Score, after: Score) -> tuple[HandLoss, ...]:
    lost = before.reach - after.reach
    order = greatest_first(lost * problem.weights).tolist()
    return tuple(
        HandLoss(question.card.hands[hand], float(before.reach[hand]), float(after.reach[hand]))
        for hand in order
        if lost[hand] > _NOTEWORTHY_LOSS
    )


def _call(best: float, runner_ups: tuple[RunnerUp, ...], resolution: float, *, only: bool) -> Call | None:
    if not runner_ups:
        return Call.ONLY if only else None
    gap = runner_ups[0].gap
    if gap <= resolution:
        return Call.EVEN
    share = gap / best
    return Call.CLOSE if share < _CLOSE else Call.FAIR if share < _FAIR else Call.CLEAR
