"""A client that goes away while its request is being worked on."""

import asyncio
import json
from threading import Event
from typing import Any

from fastapi import FastAPI


async def ask_and_leave(app: FastAPI, path: str, body: object, begun: Event) -> list[int]:
    """Send a body as a server would pass it on, and leave once the work has begun.

    Returns:
        The statuses sent.
    """
    messages = iter([{"type": "http.request", "body": json.dumps(body).encode()}])
    sent: list[int] = []

    async def receive() -> dict[str, Any]:
        if message := next(messages, None):
            return message
        assert await asyncio.to_thread(begun.wait, 30)
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            sent.append(message["status"])

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(b"content-type", b"application/json")],
        "server": ("here", 80),
        "client": ("there", 80),
    }
    await app(scope, receive, send)
    return sent
