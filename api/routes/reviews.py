"""How good was a recorded Charleston?"""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.records import records_of
from api.convert.reviews import reviews_answer
from api.declare import WITH_A_BODY, answers, takes
from api.operation import answer_body
from api.problems import ClashInsideError, Kind
from api.routes import examples
from api.services import Services
from api.wire.reviews import ReviewsAnswer, ReviewsRequest
from solver.advice import ClashError
from solver.model import Stopper
from solver.review import Record, Review, review

router = APIRouter(tags=["reviews"])


@router.post(
    "/v1/reviews",
    name="reviews",
    summary="Grades for recorded Charlestons",
    responses=answers(ReviewsAnswer, *WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(ReviewsRequest, examples.REVIEWS)
async def reviews(request: Request) -> Response:
    """Grade each pass against the best at that moment, with what was known then.

    Hindsight stands apart and is no part of the grade. Records that cannot have happened are refused.
    """
    return await answer_body(request, _job)


def _job(services: Services, stopper: Stopper, written: object) -> ReviewsAnswer:
    records, effort = records_of(written, services.cards, services.settings.max_effort)
    return reviews_answer([_review(index, record, effort, stopper) for index, record in enumerate(records)])


def _review(index: int, record: Record, effort: float, stopper: Stopper) -> Review:
    try:
        return review(record, stopper=stopper)
    except ClashError as error:
        raise ClashInsideError(error, "records", index) from None
