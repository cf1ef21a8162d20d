"""A connection to the server: how many there may be, how long one may wait, and what is no HTTP."""

from __future__ import annotations

import asyncio
import sys
from typing import Any
from uuid import uuid4

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import STATUS_PHRASES, H11Protocol
from uvicorn.server import ServerState

from api.problems import Kind, ProblemError, problem_reply

HEADER = "x-request-id"
# True in the scope of a request while it is answered: its client is gone; the server is closing.
GONE, CLOSING = "threepass.gone", "threepass.closing"
_TOO_LONG = 431
# Seconds between looks at whether a client that sends no more still listens.
_LOOK = 0.25


class Connection(H11Protocol):
    """A connection as uvicorn serves it, within limits that uvicorn has not.

    All that uvicorn limits by itself is silence after an answer. A first head, a head that comes a byte at a
    time, or a body that goes on after its answer could hold a connection for ever, and idle ones could take
    every descriptor there is.

    A head must have come whole within so many seconds from connecting, or from the end of the answer before.
    Of more connections than so many the one that has waited longest for a head is closed; the newest, if
    none waits.
    """

    def __init__(
        self,
        config: uvicorn.Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
        *,
        longest_head: float,
        most: int,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._longest_head = longest_head
        self._most = most
        self._head_due: asyncio.TimerHandle | None = None
        self._look_due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Wait for the first head."""
        super().connection_made(transport)
        self._await_head()
        if len(self.connections) > self._most:
            waiting = [each for each in self.connections if isinstance(each, Connection) and each._waits()]
            min(waiting, key=lambda each: each._due())._give_up()

    def on_response_complete(self) -> None:
        """Wait for the next head; it may be here already."""
        self._await_head()
        super().on_response_complete()
        if self._look_due is not None and self.cycle.response_complete:
            self.transport.close()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._stop_waiting()
        if self._look_due is not None:
            self._look_due.cancel()
        if self.scope is not None:
            self.scope[GONE] = True  # type: ignore[literal-required]
        super().connection_lost(exc)

    def shutdown(self) -> None:
        """Tell what is being answered that the server is closing."""
        if self.scope is not None:
            self.scope[CLOSING] = True  # type: ignore[literal-required]
        super().shutdown()

    def eof_received(self) -> bool:  # type: ignore[override]
        """Answer a client that has sent all it has to send, and still listens."""
        # HTTP/1.0 knows no answer before the answer, so that nothing would tell who left from who listens.
        if self._waits() or self.cycle.more_body or self.scope["http_version"] == "1.0":
            return False
        if self._look_due is None:
            self._look()
        return True

    def send_400_response(self, msg: str) -> None:
        """Answer what is no HTTP by a problem, while uvicorn handles h11's error."""
        error = sys.exception()
        too_long = getattr(error, "error_status_hint", None) == _TOO_LONG
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            request_id = uuid4().hex
            kind = Kind.LONG_HEAD if too_long else Kind.NOT_HTTP
            reply = problem_reply(ProblemError(kind, str(error or msg)), request_id)
            headers = [
                ("content-type", reply.media_type),
                ("content-length", str(len(reply.body))),
                ("connection", "close"),
                (HEADER, request_id),
            ]
            reason = STATUS_PHRASES[reply.status]
            begin = h11.Response(status_code=reply.status, headers=headers, reason=reason)
            for event in (begin, h11.Data(reply.body), h11.EndOfMessage()):
                self.transport.write(self.conn.send(event) or b"")
        if self.cycle is not None:
            self.cycle.disconnected = True
        self.transport.close()

    def _await_head(self) -> None:
        self._stop_waiting()
        self._head_due = self.loop.call_later(self._longest_head, self._give_up)

    def _stop_waiting(self) -> None:
        if self._head_due is not None:
            self._head_due.cancel()

    def _waits(self) -> bool:
        answered = self.cycle is None or self.cycle.response_complete
        return answered and not self.transport.is_closing()

    def _due(self) -> float:
        return 0.0 if self._head_due is None else self._head_due.when()

    def _give_up(self) -> None:
        if self._waits():
            self.timeout_keep_alive_handler()

    def _look(self) -> None:
        """Send what means nothing, again and again: it is refused, and the work ends, if nobody listens."""
        if not self.cycle.response_started:
            go_on = h11.InformationalResponse(status_code=100, headers=[], reason=b"Continue")
            self.transport.write(self.conn.send(go_on) or b"")
        self._look_due = self.loop.call_later(_LOOK, self._look)
