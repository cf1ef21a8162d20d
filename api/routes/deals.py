"""Reproducible racks to practise on."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.deals import deals_answer, wish_of
from api.declare import WITH_A_BODY, answers, takes
from api.operation import answer_body
from api.problems import Kind
from api.routes import examples
from api.services import Services
from api.wire.deals import DealsAnswer, DealsRequest
from solver.deals import find_deals
from solver.model import Stopper

router = APIRouter(tags=["deals"])


@router.post(
    "/v1/deals",
    name="deals",
    summary="Racks from a seed, by measured difficulty",
    responses=answers(DealsAnswer, *WITH_A_BODY, Kind.NO_ANSWER),
    response_class=Response,
)
@takes(DealsRequest, examples.DEALS)
async def deals(request: Request) -> Response:
    """Deal, measure, and return the deals that fit; the same seed gives the same deals everywhere.

    When the budget ends before enough were found, `complete` is false and those found are returned.
    """
    return await answer_body(request, _job)


def _job(services: Services, stopper: Stopper, written: object) -> DealsAnswer:
    wish, body = wish_of(written, services.cards, services.settings.max_effort)
    found, tried = find_deals(wish, stopper)
    return deals_answer(found, tried, body)
