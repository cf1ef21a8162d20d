"""Answering an operation from the thread pool."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response

from api.body import parse_json, read_body
from api.services import Services
from api.wire.base import Answer
from solver.model import Stopper


def json_response(body: Answer) -> Response:
    """Return a body as it is written on the wire: members in the order they are declared."""
    return Response(body.model_dump_json(by_alias=True), media_type="application/json")


async def answer(request: Request, job: Callable[[Services, Stopper], Answer]) -> Response:
    """Answer a request without a body from the thread pool."""
    services = Services.of(request)
    return await services.work.run(request, lambda stopper: json_response(job(services, stopper)))


async def answer_body(request: Request, job: Callable[[Services, Stopper, object], Answer]) -> Response:
    """Answer a request with a JSON body from the thread pool, which also parses it."""
    return await respond(
        request, lambda services, stopper, written: json_response(job(services, stopper, written))
    )


async def respond(request: Request, job: Callable[[Services, Stopper, object], Response]) -> Response:
    """Answer as `answer_body`, with a response of any media type."""
    services = Services.of(request)
    settings = services.settings
    written = await read_body(request, settings.body_limit, settings.longest_sending)
    return await services.work.run(request, lambda stopper: job(services, stopper, parse_json(written)))
