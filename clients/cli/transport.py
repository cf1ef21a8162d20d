"""Speaking HTTP: with a server, or with the same API in this process."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from types import TracebackType
from typing import Self

import httpx2

from clients.cli.event_loop import EventLoop
from clients.cli.exits import UnreachableError, UsageFault
from clients.cli.held import held
from clients.cli.lifespan import Lifespan

_IN_PROCESS = "http://in-process"
_CONNECT_SECONDS, _ANSWER_SECONDS = 5.0, 120.0
_TRIES = 4
_LONGEST_WAIT = 10
_BUSY = 503


@dataclass(frozen=True)
class Reply:
    """One answer of the service: its status and its body as it came."""

    status: int
    body: bytes

    @property
    def ok(self) -> bool:
        """Whether the service did what was asked."""
        return 200 <= self.status < 300


class Service:
    """The API at a URL, or, without one, started in this process and stopped again on exit.

    Either way every request goes through the same HTTP client; only the transport differs.

    Args:
        server: Base URL such as ``http://127.0.0.1:8333``, or None for this process.
    """

    def __init__(self, server: str | None) -> None:
        self._base = _base_url(server)
        self._in_process = server is None
        self._loop = EventLoop()
        self._lifespan: Lifespan | None = None
        self._client: httpx2.AsyncClient | None = None

    def __enter__(self) -> Self:
        try:
            self._loop.run(self._open)
        except BaseException:
            self._loop.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            with held():
                self._loop.run(self._close)
                self._loop.close()
        finally:
            # For Ctrl-C before it was held back.
            self._loop.close()

    def get(self, path: str) -> Reply:
        """Ask for a path below the base URL.

        Raises:
            UnreachableError: no answer.
        """
        return self._loop.run(lambda: self._ask("GET", path, None))

    def post(self, path: str, body: bytes) -> Reply:
        """Send a JSON body.

        Raises:
            UnreachableError: no answer.
        """
        return self._loop.run(lambda: self._ask("POST", path, body))

    async def _open(self) -> None:
        limits = httpx2.Timeout(_ANSWER_SECONDS, connect=_CONNECT_SECONDS)
        if not self._in_process:
            self._client = httpx2.AsyncClient(timeout=limits)
            return
        # Loads the solver: half a second that a client of a server does not spend.
        from api.app import create_app

        try:
            self._lifespan = Lifespan(create_app())
            await self._lifespan.start()
        except (RuntimeError, ValueError) as error:  # ValueError: a setting in the environment is faulty
            raise UnreachableError([f"the service cannot start here: {error}"]) from None
        # An error inside the app is answered by the app: it must not surface here as an exception.
        transport = httpx2.ASGITransport(self._lifespan.serve, raise_app_exceptions=False)
        self._client = httpx2.AsyncClient(transport=transport, timeout=limits)

    async def _close(self) -> None:
        if self._client is not None:
            await self._client.aclose()
        if self._lifespan is not None:
            await self._lifespan.stop()

    async def _ask(self, method: str, path: str, body: bytes | None) -> Reply:
        assert self._client is not None
        headers = {"accept": "application/json"}
        if body is not None:
            headers["content-type"] = "application/json"
        for tried in range(1, _TRIES + 1):
            try:
                answer = await self._client.request(method, self._base + path, content=body, headers=headers)
            except httpx2.TransportError as error:
                said = str(error) or type(error).__name__
                raise UnreachableError([f"no answer from {self._base}: {said}"]) from None
            wait = _wait_asked_for(answer)
            if wait is None or tried == _TRIES:
                break
            await asyncio.sleep(wait)
        return Reply(answer.status_code, answer.content)


def _wait_asked_for(answer: httpx2.Response) -> int | None:
    """Return the seconds a busy service asks to wait, or None when trying again is not for us."""
    asked = answer.headers.get("retry-after", "")
    if answer.status_code != _BUSY or not (asked.isascii() and asked.isdigit()):
        return None
    return int(asked) if len(asked) < 6 and int(asked) <= _LONGEST_WAIT else None


def _base_url(server: str | None) -> str:
    if server is None:
        return _IN_PROCESS
    try:
        url = httpx2.URL(server)
    except (httpx2.InvalidURL, ValueError):
        url = httpx2.URL("")
    if url.scheme not in ("http", "https") or not url.host or url.query or url.fragment:
        raise UsageFault([f"--server: not the URL of a server (such as http://127.0.0.1:8333): {server!r}"])
    return server.rstrip("/")
