"""The vote and plans, from and to the wire."""

from __future__ import annotations

from api.convert.advice import assumptions, in_order
from api.wire.ahead import (
    PlanAnswer,
    PlannedRoundBody,
    PlanProofBody,
    VoteAnswer,
)
from solver.ahead.vote import Vote
from solver.plan import Plan
from solver.question import Question


def vote_answer(vote: Vote, question: Question, card_name: str) -> VoteAnswer:
    """Return the body of an answer."""
    return VoteAnswer(
        verdict=vote.verdict,
        stop=vote.stop,
        go_on=vote.go_on,
        difference=vote.difference,
        error=vote.error,
        samples=vote.samples,
        assumptions=assumptions(question, question.situation.arrivals, card_name),
    )


def plan_answer(plan: Plan) -> PlanAnswer:
    """Return the body of an answer."""
    return PlanAnswer(
        rounds=[
            PlannedRoundBody(passed=in_order(each.passed), expected_hands=each.expected)
            for each in plan.rounds
        ],
        total=plan.total,
        proof=PlanProofBody(status=plan.status, gap=plan.gap, resolution=plan.resolution),
    )
