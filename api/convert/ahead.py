"""The vote, plans and look-ahead, from and to the wire."""

from __future__ import annotations

from dataclasses import replace

from api.convert.advice import assumptions, in_order
from api.convert.question import Asked
from api.wire.ahead import (
    PlanAnswer,
    PlannedRoundBody,
    PlanProofBody,
    PlanRequest,
    VoteAnswer,
)
from patterns.faults import Fault, FaultyInputError
from solver.ahead import Vote
from solver.limits import Limits
from solver.model import Status
from solver.plan import Plan
from solver.rounds import ORDER
from solver.situation import Question


def check_incoming(question: Question, wanted: int) -> None:
    """Refuse to sample more incoming tiles than are unseen.

    Args:
        question: The question.
        wanted: Tiles that come in, in one sample.

    Raises:
        FaultyInputError: so many are not unseen.
    """
    naturals = question.situation.outlook.naturals
    if naturals < wanted:
        detail = f"{wanted} tiles come in: only {naturals} that are not jokers are unseen"
        raise FaultyInputError([Fault("range", ("seen",), detail)])


def rounds_to_plan(asked: Asked[PlanRequest]) -> int:
    """Return how many rounds to plan: those asked for, or by default no more than can still be played.

    Raises:
        FaultyInputError: more are asked for than can be played.
    """
    question, rounds = asked.question, asked.body.rounds
    left = len(ORDER) - ORDER.index(question.round)
    if question.drill is not None:
        left = question.drill.exchanges_left
    if rounds > left and "rounds" in asked.body.model_fields_set:
        raise FaultyInputError([Fault("range", ("rounds",), f"only {left} can still be played")])
    return min(rounds, left)


def vote_answer(vote: Vote, question: Question, card_name: str) -> VoteAnswer:
    """Return the body of an answer; its assumptions are those that hold at the end of either way."""
    limits, situation = question.limits, question.situation
    which_hands = Limits.of(only=limits.only, without=limits.without, weights=limits.weights)
    arrivals = situation.arrivals.after(0)
    return VoteAnswer(
        verdict=vote.verdict,
        stop=vote.stop,
        go_on=vote.go_on,
        difference=vote.difference,
        error=vote.error,
        samples=vote.samples,
        assumptions=assumptions(replace(question, limits=which_hands), arrivals, None, card_name),
    )


def plan_answer(plan: Plan) -> PlanAnswer:
    """Return the body of an answer."""
    return PlanAnswer(
        rounds=[
            PlannedRoundBody(passed=in_order(each.passed), expected_hands=each.expected)
            for each in plan.rounds
        ],
        total=plan.total,
        proof=PlanProofBody(status=Status.OPTIMAL, gap=0.0, resolution=plan.resolution),
    )
