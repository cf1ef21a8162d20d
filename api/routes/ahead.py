"""The vote on the second Charleston, and plans over several rounds."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.ahead import check_incoming, plan_answer, rounds_to_plan, vote_answer
from api.convert.question import question_of
from api.declare import WITH_A_BODY, answers, takes
from api.operation import answer_body
from api.problems import Kind
from api.routes import examples
from api.services import Services
from api.wire.ahead import PlanAnswer, PlanRequest, VoteAnswer, VoteRequest
from solver.ahead import vote
from solver.model import Stopper
from solver.plan import plan
from solver.rounds import PASS_SIZE, SECOND_CHARLESTON

router = APIRouter(tags=["ahead"])


@router.post(
    "/v1/votes",
    name="votes",
    summary="Stop after the first Charleston, or go on?",
    responses=answers(VoteAnswer, *WITH_A_BODY, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(VoteRequest, examples.VOTES)
async def votes(request: Request) -> Response:
    """Compare both by sampled incoming tiles, the same for both, with the best pass each time."""
    return await answer_body(request, _vote)


def _vote(services: Services, stopper: Stopper, written: object) -> VoteAnswer:
    asked = question_of(written, services.cards, services.settings.max_effort, VoteRequest)
    question, body = asked.question, asked.body
    check_incoming(question, PASS_SIZE * len(SECOND_CHARLESTON) + body.courtesy)
    result = vote(question, courtesy=body.courtesy, samples=body.samples, seed=body.seed, stopper=stopper)
    return vote_answer(result, question, asked.card_name)


@router.post(
    "/v1/plans",
    name="plans",
    summary="What goes now, and what goes next",
    responses=answers(PlanAnswer, *WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(PlanRequest, examples.PLANS)
async def plans(request: Request) -> Response:
    """Order one's own tiles over the next rounds, in case nothing better comes."""
    return await answer_body(request, _plan)


def _plan(services: Services, stopper: Stopper, written: object) -> PlanAnswer:
    asked = question_of(written, services.cards, services.settings.max_effort, PlanRequest)
    return plan_answer(plan(asked.question, rounds_to_plan(asked), stopper))
