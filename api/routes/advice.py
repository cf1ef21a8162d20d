"""What should I pass?"""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.advice import advice_answer
from api.convert.ahead import check_incoming
from api.convert.question import question_of
from api.declare import WITH_A_BODY, answers, takes
from api.operation import answer_body
from api.problems import Kind
from api.routes import examples
from api.services import Services
from api.wire.advice import AdviceAnswer, AdviceRequest, LookAheadBody
from solver.advice import Advice, advise
from solver.look_ahead import LookAhead, look_ahead, rounds_ahead
from solver.model import Stopper
from solver.rounds import PASS_SIZE
from solver.why import why

router = APIRouter(tags=["advice"])


@router.post(
    "/v1/advice",
    name="advice",
    summary="The best pass for a rack",
    responses=answers(AdviceAnswer, *WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(AdviceRequest, examples.ADVICE)
async def advice(request: Request) -> Response:
    """Return the pass that keeps the most expected hands within reach, with proof and reasons.

    The same question gives the same bytes, whatever the order of its tiles.
    """
    return await answer_body(request, _job)


def _job(services: Services, stopper: Stopper, written: object) -> AdviceAnswer:
    asked = question_of(written, services.cards, services.settings.max_effort, AdviceRequest)
    if asked.body.look_ahead is not None:
        check_incoming(asked.question, PASS_SIZE * (1 + len(rounds_ahead(asked.question))))
    advice = advise(asked.question, stopper)
    reasons = why(advice.question, advice.passed, stopper) if asked.body.why else None
    return advice_answer(advice, asked, reasons, _look_ahead(advice, asked.body.look_ahead, stopper))


def _look_ahead(advice: Advice, asked: LookAheadBody | None, stopper: Stopper) -> LookAhead | None:
    if asked is None or not advice.passed:
        return None
    passes = [advice.passed, *(other.passed for other in advice.runner_ups)]
    question = advice.question.giving(len(advice.passed))
    return look_ahead(question, passes, asked.samples, asked.seed, stopper)
