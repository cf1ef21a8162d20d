"""Why this pass: what each other tile would cost, and whether the answer hangs on the arrivals."""

from __future__ import annotations

from dataclasses import dataclass, replace

from patterns.tiles import Tile
from solver.advice import Advice, giving
from solver.arrivals import Coming
from solver.card_tables import tables_of
from solver.pass_model import PassProblem, best_passes
from solver.problem import problem_of
from solver.question import Question
from solver.rescore import score
from solver.stopping import Stopper
from solver.terms.tiles_go import TilesGo

SHARES = (0.8, 1.2)


@dataclass(frozen=True)
class TileCost:
    """What it costs to give one tile of a kind, the rest of the pass chosen best.

    Attributes:
        passed: The best pass with the tile in it, or None when the limits allow none.
        expected: What that pass is worth.
        cost: How many expected hands less than the best pass; 0 for the tiles in it.
    """

    tile: Tile
    passed: tuple[Tile, ...] | None
    expected: float | None
    cost: float | None


@dataclass(frozen=True)
class Sensitivity:
    """The answer under fewer or more arrivals.

    Attributes:
        share: Draws and claims as a share of those assumed, rounded to whole tiles, as far as the unseen
            tiles allow.
        passed: The best pass then.
        same: Whether that is the same pass, or one worth no more within the resolution.
        regret: Expected hands the advised pass is then behind.
    """

    share: float
    arrivals: Coming
    passed: tuple[Tile, ...]
    same: bool
    regret: float


@dataclass(frozen=True)
class Why:
    """Both, for one piece of advice."""

    costs: tuple[TileCost, ...]
    sensitivity: tuple[Sensitivity, ...]


def why(advice: Advice, stopper: Stopper | None = None) -> Why:
    """Explain a piece of advice.

    Args:
        advice: The advice; its number of tiles is kept.
        stopper: Ends the work on request.

    Raises:
        NoAnswerError: the cap on work was hit with nothing found.
        StoppedError: a stop was asked for.
    """
    stopper = stopper or Stopper()
    question = giving(advice.question, len(advice.passed))
    return Why(_costs(advice, question, stopper), tuple(_sensitivity(advice, question, stopper)))


def _costs(advice: Advice, question: Question, stopper: Stopper) -> tuple[TileCost, ...]:
    if not advice.passed:
        return ()
    problem = problem_of(question)
    tables, situation = tables_of(question.card), question.situation
    costs = []
    for tile in problem.bits.kinds:
        if tile in advice.passed:
            costs.append(TileCost(tile, advice.passed, advice.expected, 0.0))
            continue
        forced = replace(problem, limits=(*problem.limits, TilesGo(tile, 1)))
        best = _best(forced, question, stopper)
        if best is None:
            costs.append(TileCost(tile, None, None, None))
            continue
        expected = score(situation, tables, problem.weights, best).expected
        costs.append(TileCost(tile, best, expected, max(0.0, advice.expected - expected)))
    return tuple(costs)


def _best(problem: PassProblem, question: Question, stopper: Stopper) -> tuple[Tile, ...] | None:
    found = next(best_passes(problem, 1, question.effort, stopper), None)
    return None if found is None else found.passed


def _sensitivity(advice: Advice, question: Question, stopper: Stopper) -> list[Sensitivity]:
    tables = tables_of(question.card)
    results = []
    for share in SHARES:
        room = question.situation.outlook.naturals
        changed = replace(question, arrivals=advice.arrivals.scaled(share, room))
        problem = problem_of(changed)
        best = _best(problem, changed, stopper)
        if best is None:
            continue
        worth = [
            score(changed.situation, tables, problem.weights, passed).expected
            for passed in (best, advice.passed)
        ]
        regret = max(0.0, worth[0] - worth[1])
        same = best == advice.passed or regret <= advice.proof.resolution
        results.append(Sensitivity(share, changed.situation.arrivals, best, same, regret))
    return results
