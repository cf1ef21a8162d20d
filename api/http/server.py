"""Running the server, its worker processes and its connections."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import socket
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread
from typing import Any

import uvicorn
from uvicorn.config import STARTUP_FAILURE
from uvicorn.supervisors.multiprocess import Process

from api.http.connection import Connection
from api.http.observe import FOLDER, forget, log_config
from api.settings import PREFIX, FaultySettingsError, Settings

PORT = 8347
# A busy machine may take its time; a worker that says nothing for so many seconds hangs, and is replaced.
_SIGN_OF_LIFE = 30
# Seconds between looks at the workers.
_GLANCE = 0.1
_READY = b"r"
# Connections that wait to be let in. A server takes so many at once before it looks at any, which is why it
# keeps _SPARE descriptors free.
_BACKLOG = 128
_SPARE = 3 * _BACKLOG
_log = logging.getLogger("threepass.server")


def serve(host: str, port: int, workers: int = 1, pages: Path | None = None, quiet: bool = False) -> None:
    """Serve until interrupted, or until SIGTERM: then what runs is finished, and the process exits with 0.

    Cores are shared out among the workers. `pages` is the folder of the web page, unless the environment
    names another. A quiet log has warnings and errors only.

    Raises:
        FaultySettingsError: settings in the environment that cannot be read, or cannot be met.
        SystemExit: SIGTERM (0), or the server cannot start (not 0).
    """
    # Worker processes read their settings themselves, from the environment they inherit.
    if pages is not None:
        os.environ.setdefault(f"{PREFIX}PAGES", str(pages))
    settings = Settings.from_environment()
    if workers > 1:
        if not hasattr(socket, "send_fds"):
            raise FaultySettingsError("this system cannot share connections among several workers")
        os.environ.setdefault(f"{PREFIX}THREADS", str(max(1, settings.threads // workers)))
    config = uvicorn.Config(
        "api.http.app:create_app",
        factory=True,
        host=host,
        port=port,
        http=partial(  # type: ignore[arg-type]
            Connection,
            longest_head=settings.longest_sending,
            most=min(settings.connections, _descriptors(settings.connections + _SPARE) - _SPARE),
        ),
        ws="none",
        backlog=_BACKLOG,
        proxy_headers=False,
        workers=workers,
        timeout_graceful_shutdown=round(settings.grace),
        timeout_worker_healthcheck=_SIGN_OF_LIFE,
        server_header=False,
        access_log=False,
        log_config=log_config(settings.log_details, quiet),
    )
    with _sigterm_ends_well(), _shared_metrics(settings.metrics and workers > 1):
        _run(config)


def _descriptors(wanted: int) -> int:
    """Ask for so many descriptors; return how many a process may have, or raise FaultySettingsError."""
    if sys.platform == "win32":
        return wanted
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    if soft <= _SPARE:
        raise FaultySettingsError(f"the server needs more than {_SPARE} descriptors (ulimit -n)")
    return soft


def _run(config: uvicorn.Config) -> None:
    if config.workers > 1:
        _Workers(config).run()
        return
    server = uvicorn.Server(config)
    with suppress(KeyboardInterrupt):
        server.run()
    if not server.started:
        sys.exit(STARTUP_FAILURE)


class _Handed(uvicorn.Server):
    """A server that is handed its connections instead of listening."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, and say so to who hands them over."""
        await super().startup([])
        (self._way,) = sockets or [socket.socket()]
        self._taken: set[asyncio.Task[Any]] = set()
        asyncio.get_running_loop().add_reader(self._way, self._take)
        self._way.send(_READY)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Take no more."""
        asyncio.get_running_loop().remove_reader(self._way)
        await super().shutdown(sockets)

    def _take(self) -> None:
        loop = asyncio.get_running_loop()
        _, descriptors, _, _ = socket.recv_fds(self._way, 1, 1)
        if not descriptors:
            # Who handed them over is gone.
            loop.remove_reader(self._way)
            self.should_exit = True
        for descriptor in descriptors:
            connection = socket.socket(fileno=descriptor)
            task = loop.create_task(loop.connect_accepted_socket(self._protocol, connection))
            self._taken.add(task)
            task.add_done_callback(self._taken.discard)

    def _protocol(self) -> asyncio.Protocol:
        made: Callable[..., asyncio.Protocol] = self.config.http_protocol_class
        return made(config=self.config, server_state=self.server_state, app_state=self.lifespan.state)


class _Worker(Process):
    """A worker process, and the way by which it is handed connections."""

    def __init__(self, config: uvicorn.Config) -> None:
        self._way, self._their_end = socket.socketpair()
        super().__init__(config, [self._their_end])
        self._ready = False

    def __getstate__(self) -> dict[str, object]:
        """Return what the process needs of this."""
        return {name: value for name, value in vars(self).items() if name != "_way"}

    @property
    def server(self) -> uvicorn.Server:
        """The server that runs in the process."""
        self._server = self._server or _Handed(self.config)
        return self._server

    def start(self) -> None:
        """Start the process."""
        super().start()
        self._their_end.close()
        # With that end open here too, nobody would see that a worker died while asked for a sign of life.
        self.child_conn.close()

    def take(self, connection: socket.socket) -> bool:
        """Hand over a connection, if it is ready for one."""
        try:
            self._ready = self._ready or self._way.recv(1, socket.MSG_DONTWAIT) == _READY
            flags = socket.MSG_DONTWAIT
            return self._ready and bool(socket.send_fds(self._way, [b"1"], [connection.fileno()], flags))
        except OSError:
            return False


class _Workers:
    """Worker processes that are handed connections in turn, so that each has its share of them.

    Were they to listen themselves, one that is awake might take all that come at the same time.
    """

    def __init__(self, config: uvicorn.Config) -> None:
        self._config = config
        self._signals: list[int] = []
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda got, _: self._signals.append(got))
        self._listener = config.bind_socket()
        self._workers = [_Worker(config) for _ in range(config.workers)]

    def run(self) -> None:
        """Run until told to end; SystemExit if a worker could not start."""
        for worker in self._workers:
            worker.start()
        self._listener.listen(_BACKLOG)
        Thread(target=self._hand_over, daemon=True).start()
        while not self._signals and self._all_live():
            time.sleep(_GLANCE)
        # Nobody connects any more who would wait for none of them.
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        for worker in self._workers:
            worker.terminate()
        for worker in self._workers:
            worker.join()
        if any(worker.exitcode == STARTUP_FAILURE for worker in self._workers):
            sys.exit(STARTUP_FAILURE)

    def _all_live(self) -> bool:
        """Replace workers that died or hang; say whether they can start."""
        for place, worker in enumerate(self._workers):
            if worker.is_alive(_SIGN_OF_LIFE) or self._signals:
                continue
            worker.kill()
            worker.join()
            if worker.exitcode == STARTUP_FAILURE:
                return False
            _log.warning("worker %d died", worker.pid)
            forget(worker.pid)
            self._workers[place] = another = _Worker(self._config)
            another.start()
        return True

    def _hand_over(self) -> None:
        turn = 0
        while self._listener.fileno() >= 0:
            try:
                connection, _ = self._listener.accept()
            except OSError:  # closed, or no descriptor is left
                time.sleep(_GLANCE)
                continue
            turn = (turn + 1) % len(self._workers)
            with connection:
                while not any(each.take(connection) for each in self._workers[turn:] + self._workers[:turn]):
                    if self._listener.fileno() < 0:
                        break
                    time.sleep(_GLANCE)


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
