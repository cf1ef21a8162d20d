"""Whether the server lives, and whether it can do its work."""

from __future__ import annotations

from time import perf_counter

from fastapi import APIRouter, Request
from starlette.responses import Response

from api.convert.question import question_of
from api.declare import IN_THE_POOL, answers
from api.operation import answer, json_response
from api.problems import Kind
from api.services import Services
from api.wire.advice import AdviceRequest
from api.wire.health import Alive, Ready
from solver.advice import advise
from solver.model import Stopper

router = APIRouter(tags=["health"])

_QUESTION = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "round": "first_right", "card": "small"}


@router.get(
    "/livez",
    name="alive",
    summary="Alive?",
    responses=answers(Alive, example={"status": "alive"}),
    response_class=Response,
)
async def alive(request: Request) -> Response:
    """Answer as soon as the process can."""
    return json_response(Alive())


@router.get(
    "/readyz",
    name="ready",
    summary="Ready?",
    responses=answers(Ready, *IN_THE_POOL, Kind.NO_ANSWER, example={"status": "ready", "solve_ms": 25}),
    response_class=Response,
)
async def ready(request: Request) -> Response:
    """Solve one small question in the same thread pool as everything else, and tell how long it took."""
    return await answer(request, _solve)


def _solve(services: Services, stopper: Stopper) -> Ready:
    begun = perf_counter()
    advise(
        question_of(_QUESTION, services.cards, services.settings.max_effort, AdviceRequest).question, stopper
    )
    return Ready(solve_ms=round((perf_counter() - begun) * 1000))
