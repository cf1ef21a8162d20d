"""Connections: one on which no request comes in time is closed."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.config import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState


class Connection(H11Protocol):
    """A connection as uvicorn serves it, that waits so long for the head of a request and no longer.

    All that uvicorn limits by itself is silence after an answer. A first head, a head that comes a byte at a
    time, or a body that goes on after its answer could hold a connection for ever.

    Args:
        config: As in uvicorn, like the next three.
        longest_head: Seconds until a head must have come whole, from connecting or from the end of the
            answer before.
    """

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
        *,
        longest_head: float,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._longest_head = longest_head
        self._head_due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Wait for the first head."""
        super().connection_made(transport)
        self._await_head()

    def on_response_complete(self) -> None:
        """Wait for the next head; it may be here already."""
        self._await_head()
        super().on_response_complete()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _await_head(self) -> None:
        self._stop_waiting()
        self._head_due = self.loop.call_later(self._longest_head, self._give_up)

    def _stop_waiting(self) -> None:
        if self._head_due is not None:
            self._head_due.cancel()

    def _give_up(self) -> None:
        if self.cycle is None or self.cycle.response_complete:
            self.timeout_keep_alive_handler()
