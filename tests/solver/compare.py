"""Comparing an answer with the enumeration of all passes."""

from dataclasses import replace
from itertools import combinations

from solver.advice import Advice, ClashError, advise
from solver.limits import Limits
from solver.pass_model import Status
from solver.terms.all_limits import limit_terms
from solver.terms.limit import Limit, Outcome
from tests.solver.enumeration import Enumeration


def check_answer(found: Enumeration, limits: Limits) -> Advice | None:
    """Check the best pass and the runner-ups, or the clash, against all passes; return the answer."""
    asked = replace(found.question, limits=limits, alternatives=3)
    worth = found.worth(limits)
    try:
        answer = advise(asked)
    except ClashError as error:
        assert not worth
        check_clash(found, limits, error.clashing)
        return None
    assert answer.proof.status is Status.OPTIMAL
    assert answer.proof.resolution <= 1e-7 * max(1.0, sum(hand.weight for hand in asked.card.hands))
    best = list(worth.values())
    named = [answer.passed, *(other.passed for other in answer.runner_ups)]
    assert len(named) == len(set(named)) == min(4, len(worth))
    values = [answer.expected, *(other.expected for other in answer.runner_ups)]
    for passed, value, right in zip(named, values, best, strict=False):
        assert abs(value - worth[passed]) <= 1e-11 * max(1.0, value)
        assert abs(value - right) <= answer.proof.resolution
    for other in answer.runner_ups:
        assert abs(other.gap - max(0.0, answer.expected - other.expected)) < 1e-12
    assert answer.proof.bound >= best[0] - answer.proof.resolution
    return answer


def check_clash(found: Enumeration, limits: Limits, clashing: tuple[Limit, ...]) -> None:
    """Check that no pass keeps the clashing limits, and that some pass keeps any fewer of them."""
    assert clashing
    assert set(clashing) <= set(limit_terms(limits))
    outcomes = outcomes_of(found, limits)
    assert not any(all(limit.holds(outcome) for limit in clashing) for outcome in outcomes)
    for fewer in combinations(clashing, len(clashing) - 1):
        assert any(all(limit.holds(outcome) for limit in fewer) for outcome in outcomes)


def outcomes_of(found: Enumeration, limits: Limits) -> list[Outcome]:
    """Return what every pass leaves, as limits see it."""
    return [found.outcome(limits, index) for index in range(len(found.passes))]
