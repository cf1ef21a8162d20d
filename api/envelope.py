"""What surrounds every request: its id, and the answer when nothing else answers."""

from __future__ import annotations

import re
from uuid import uuid4

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.problems import internal_response

HEADER = "x-request-id"
_GOOD_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


class Envelope:
    """Pure ASGI: gives each request an id (the client's, if it is a good one) and catches what escapes."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one connection."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        wanted = Headers(scope=scope).get(HEADER, "")
        request_id = wanted if _GOOD_ID.fullmatch(wanted) else uuid4().hex
        scope["threepass.request_id"] = request_id
        begun = False

        async def send_with_id(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                MutableHeaders(scope=message)[HEADER] = request_id
            await send(message)

        try:
            await self._app(scope, receive, send_with_id)
        except Exception as error:
            if begun:
                raise
            await internal_response(request_id, error)(scope, receive, send_with_id)
