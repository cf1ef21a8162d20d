"""The thread pool that solves: how much is let in, how long it may wait, what ends it early."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from threading import Lock
from time import perf_counter
from typing import Any, TypeVar

from starlette.requests import Request

from api.http.observe import QUEUE_WAIT
from api.problems import Kind, ProblemError
from patterns.stopping import End, StoppedError, Stopper

Result = TypeVar("Result")


def _busy() -> ProblemError:
    return ProblemError(Kind.BUSY, "too many requests at the moment: try again shortly")


class Work:
    """A pool of threads, one solve each, and the count of what is running or waiting.

    So many jobs may wait beyond those that have a thread, and each so many seconds at most.
    """

    def __init__(self, threads: int, queue: int, longest_wait: float) -> None:
        self._threads = threads
        self._room = threads + queue
        self._longest_wait = longest_wait
        self._lock = Lock()
        # What ends the jobs that are running or waiting.
        self.admitted: set[Stopper] = set()
        self._batches = self._of_batches = 0
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="threepass")

    async def run(self, request: Request, job: Callable[[Stopper], Result]) -> Result:
        """Run a job in the pool for a request whose body is already read; a client that goes away ends it.

        Raises:
            ProblemError: no room, or no thread came free in time.
            StoppedError: the client is gone, or the server is closing.
        """
        stopper = Stopper()
        asked = perf_counter()

        def begin() -> Result:
            request.scope[QUEUE_WAIT] = perf_counter() - asked
            return job(stopper)

        with self._lock:
            if len(self.admitted) - self._of_batches >= self._room:
                raise _busy()
        job_done = self.submit(stopper, begin)
        answer = asyncio.wrap_future(job_done)
        gone = asyncio.ensure_future(_gone(request))
        either: set[asyncio.Future[Any]] = {answer, gone}
        try:
            await asyncio.wait(either, timeout=self._longest_wait, return_when=asyncio.FIRST_COMPLETED)
            if not answer.done() and not gone.done():
                if job_done.cancel():
                    raise _busy()
                await asyncio.wait(either, return_when=asyncio.FIRST_COMPLETED)
            if not answer.done() or answer.cancelled():
                raise StoppedError(End.GONE if gone.done() else End.CLOSING)
            return answer.result()
        finally:
            request.scope.setdefault(QUEUE_WAIT, perf_counter() - asked)
            gone.cancel()
            if not job_done.done():
                stopper.stop()
                answer.cancel()

    @contextmanager
    def batch(self) -> Iterator[None]:
        """Let a batch in while a block runs; ProblemError if there are as many as threads."""
        if self._batches >= self._threads:
            raise _busy()
        self._batches += 1
        try:
            yield
        finally:
            self._batches -= 1

    def share(self, own: int) -> int:
        """Return how many jobs a batch may have running or waiting, of which it has some.

        All threads while nobody else wants any, and one more, so that none is idle; else what others leave.
        """
        others = len(self.admitted) - own
        return self._threads + 1 if others <= 0 else max(1, self._threads - others)

    def submit(self, stopper: Stopper, job: Callable[[], Result], of_batch: bool = False) -> Future[Result]:
        """Put a job into the pool, whether or not there is room; one of a batch takes nobody's place."""
        with self._lock:
            self.admitted.add(stopper)
            self._of_batches += of_batch
        future = self._pool.submit(job)
        future.add_done_callback(lambda _: self._leave(stopper, of_batch))
        return future

    def _leave(self, stopper: Stopper, of_batch: bool) -> None:
        with self._lock:
            self.admitted.discard(stopper)
            self._of_batches -= of_batch

    def close(self) -> None:
        """Stop every job and end the threads."""
        with self._lock:
            admitted = tuple(self.admitted)
        for stopper in admitted:
            stopper.stop(End.CLOSING)
        self._pool.shutdown(cancel_futures=True)


async def _gone(request: Request) -> None:
    """Return when the client has gone away."""
    while (await request.receive())["type"] != "http.disconnect":
        pass
