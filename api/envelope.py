"""What surrounds every request: its id, the answer when nothing else answers, and what is told of it."""

from __future__ import annotations

import re
from contextlib import nullcontext
from time import perf_counter
from uuid import uuid4

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.metrics import Metrics
from api.problems import internal_response
from api.served import Served

HEADER = "x-request-id"
_GOOD_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


class Envelope:
    """Pure ASGI: gives each request an id (the client's, if it is a good one) and catches what escapes.

    Args:
        app: What serves the request.
        metrics: Counts what was served; the access log is written in any case.
    """

    def __init__(self, app: ASGIApp, metrics: Metrics | None = None) -> None:
        self._app = app
        self._metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        wanted = Headers(scope=scope).get(HEADER, "")
        request_id = wanted if _GOOD_ID.fullmatch(wanted) else uuid4().hex
        scope["threepass.request_id"] = request_id
        status: int | None = None
        begun = perf_counter()

        async def send_with_id(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)[HEADER] = request_id
            await send(message)

        try:
            with nullcontext() if self._metrics is None else self._metrics.in_progress():
                await self._app(scope, receive, send_with_id)
        except Exception as error:
            if status is not None:
                raise
            await internal_response(request_id, error)(scope, receive, send_with_id)
        finally:
            self._tell(Served.of(scope, request_id, status, perf_counter() - begun))

    def _tell(self, served: Served) -> None:
        served.log()
        if self._metrics is not None:
            self._metrics.count(served)
