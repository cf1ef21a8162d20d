"""Running the server, its worker processes and its connections."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import uvicorn
from uvicorn.config import STARTUP_FAILURE
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState
from uvicorn.supervisors import Multiprocess

from api.observe import FOLDER, log_config
from api.settings import PREFIX, FaultySettingsError, Settings

PORT = 8347
# A busy machine may take its time; a worker that says nothing for so many seconds hangs, and is replaced.
_SIGN_OF_LIFE = 30


def serve(host: str, port: int, workers: int = 1, pages: Path | None = None) -> None:
    """Serve until interrupted, or until SIGTERM: then what runs is finished, and the process exits with 0.

    Args:
        host: Address to listen on.
        port: Port to listen on.
        workers: Server processes, 1 or more; the cores are shared out among them.
        pages: Folder of the web page, unless the environment names another.

    Raises:
        FaultySettingsError: settings in the environment that cannot be read, or cannot be met.
        SystemExit: SIGTERM (0), or the server cannot start (not 0).
    """
    # Worker processes read their settings themselves, from the environment they inherit.
    if pages is not None:
        os.environ.setdefault(f"{PREFIX}PAGES", str(pages))
    settings = Settings.from_environment()
    if workers > 1:
        os.environ.setdefault(f"{PREFIX}THREADS", str(max(1, settings.threads // workers)))
    config = uvicorn.Config(
        "api.app:create_app",
        factory=True,
        host=host,
        port=port,
        http=partial(Connection, longest_head=settings.longest_sending),  # type: ignore[arg-type]
        workers=workers,
        timeout_graceful_shutdown=round(settings.grace),
        timeout_worker_healthcheck=_SIGN_OF_LIFE,
        server_header=False,
        access_log=False,
        log_config=log_config(settings.log_details),
    )
    with _sigterm_ends_well(), _shared_metrics(settings.metrics and workers > 1):
        _run(config)


def _run(config: uvicorn.Config) -> None:
    if config.workers > 1:
        _Workers(config, [config.bind_socket()]).run()
        return
    server = uvicorn.Server(config)
    with suppress(KeyboardInterrupt):
        server.run()
    if not server.started:
        sys.exit(STARTUP_FAILURE)


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
        config: uvicorn.Config,
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


class _Workers(Multiprocess):
    """Worker processes that share one listening socket, held by their parent too."""

    def terminate_all(self) -> None:
        """Tell the workers to finish, and let nobody connect who would wait for none of them."""
        for sock in self.sockets:
            sock.close()
        super().terminate_all()

    def run(self) -> None:
        """Run until told to end.

        Raises:
            SystemExit: a worker could not start.
        """
        super().run()
        if any(process.exitcode == STARTUP_FAILURE for process in self.processes):
            sys.exit(STARTUP_FAILURE)


@contextmanager
def _sigterm_ends_well() -> Iterator[None]:
    """Let SIGTERM end the process with 0: uvicorn drains, and then raises the signal that it got again."""
    before = signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@contextmanager
def _shared_metrics(wanted: bool) -> Iterator[None]:
    """Give worker processes a folder in which they add up their numbers."""
    if not wanted or FOLDER in os.environ:
        yield
        return
    try:
        made = TemporaryDirectory(prefix="threepass-")
    except OSError:
        says = "metrics of several workers need a folder for temporary files, such as /tmp or TMPDIR names"
        raise FaultySettingsError(says) from None
    with made as folder:
        os.environ[FOLDER] = folder
        try:
            yield
        finally:
            del os.environ[FOLDER]
