"""The lifespan of an ASGI app that runs in this process: start it, stop it, share its state."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]


class Lifespan:
    """Drives the lifespan protocol of ASGI from one task, as a server does.

    The task outlives single calls into the event loop, so that whatever the app opened at its start is
    closed by the task that opened it.
    """

    def __init__(self, app: App) -> None:
        self._app = app
        self._state: dict[str, Any] = {}
        self._to_app: asyncio.Queue[Message] = asyncio.Queue()
        self._from_app: asyncio.Queue[Message] = asyncio.Queue()
        self._task: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Start the app.

        Raises:
            RuntimeError: the app reported that it could not start.
        """
        scope: Message = {"type": "lifespan", "asgi": {"version": "3.0"}, "state": self._state}
        self._task = asyncio.create_task(self._run(scope))
        await self._tell("startup")

    async def stop(self) -> None:
        """Stop the app and wait until it has closed what it opened.

        Raises:
            RuntimeError: the app reported that it could not stop in order.
        """
        if self._task is not None and not self._task.done():
            await self._tell("shutdown")
            await self._task

    async def serve(self, scope: Message, receive: Receive, send: Send) -> None:
        """Pass a request to the app together with the state that it made at its start."""
        await self._app({**scope, "state": dict(self._state)}, receive, send)

    async def _run(self, scope: Message) -> None:
        try:
            await self._app(scope, self._to_app.get, self._from_app.put)
        except Exception as error:
            await self._from_app.put({"type": "lifespan.ended", "message": repr(error)})

    async def _tell(self, what: str) -> None:
        await self._to_app.put({"type": f"lifespan.{what}"})
        answer = await self._from_app.get()
        if answer["type"] != f"lifespan.{what}.complete":
            raise RuntimeError(f"the service did not finish its {what}: {answer.get('message', '')}")
