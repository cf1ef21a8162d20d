"""The threads that solve: how much is let in, how long it may wait, what ends it early.

A request is one job; a batch is one a line, read as they come and answered in order as they are known.
"""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import partial
from threading import Lock
from time import monotonic, perf_counter
from typing import Any, TypeVar

from starlette.requests import ClientDisconnect, Request
from starlette.types import Send

from api.answers.batches import MAX_LINES, written_line
from api.http.connection import CLOSING, GONE
from api.http.observe import QUEUE_WAIT
from api.operations import NDJSON
from api.problems import Kind, ProblemError, problem_reply
from api.settings import Settings
from patterns.stopping import End, StoppedError, Stopper

Result = TypeVar("Result")
AnswerLine = Callable[[int, bytes, str, Stopper], bytes]
# Seconds between looks at whether the client is there and the server goes on.
_LOOK = 0.2
# How much of what is too large is still taken and thrown away: a client that is cut off while it sends would
# never see the answer.
DRAINED = 32 * 1024 * 1024
# Answers that may be kept for each thread while an earlier one is still to come.
_AHEAD = 4
# Else a proxy might keep answers back until it has more of them.
_HEADERS = [
    (b"content-type", NDJSON.encode()),
    (b"cache-control", b"no-store"),
    (b"x-accel-buffering", b"no"),
]


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
        self._pool = ThreadPoolExecutor(threads)

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
        """Stop every job and end the threads; whoever starts the application again gets new ones."""
        with self._lock:
            admitted = tuple(self.admitted)
        for stopper in admitted:
            stopper.stop(End.CLOSING)
        self._pool.shutdown(cancel_futures=True)
        self._pool = ThreadPoolExecutor(self._threads)


async def _gone(request: Request) -> None:
    """Return when the client has gone away."""
    while (await request.receive())["type"] != "http.disconnect":
        pass


class Batch:
    """One batch that is being answered.

    It has the threads that no other request wants, and at least one: so it comes behind no more than one
    request that is waiting, and none behind more than one line of it. Nothing more is begun while the client
    does not take the answers, and not more is read than the body of one request may have.
    """

    def __init__(
        self, request: Request, request_id: str, work: Work, settings: Settings, answer: AnswerLine
    ) -> None:
        self._request, self._id = request, request_id
        self._work, self._settings, self._answer = work, settings, answer
        # What was read and not begun, its bytes, and whether all was read, or why no more can be.
        self._lines: deque[bytes] = deque()
        self._unread = 0
        self._over: Exception | bool = False
        self._room = asyncio.Event()
        # How many lines were begun; the answers to come, in order; what ends those that run.
        self._begun = 0
        self._ahead: deque[asyncio.Future[bytes]] = deque()
        self._stoppers: set[Stopper] = set()
        self._started = False
        self._heard = monotonic()
        self._stirred = asyncio.Event()

    async def run(self, send: Send) -> None:
        """Answer all of it; ProblemError or StoppedError, but only before the answer has begun."""
        with self._work.batch():
            reading = asyncio.create_task(self._read())
            try:
                await self._answer_all(send)
            except StoppedError:
                if not self._started:
                    raise
            finally:
                reading.cancel()
                for stopper in self._stoppers:
                    stopper.stop()

    async def _read(self) -> None:
        limit, rest, dropped = self._settings.body_limit, b"", 0
        try:
            async for chunk in self._request.stream():
                *whole, rest = (rest + chunk).split(b"\n")
                self._lines.extend(whole)
                self._unread += sum(map(len, whole)) + len(whole)
                self._heard = monotonic()
                self._stirred.set()
                # Of a line that is too long only as much is kept as shows it.
                dropped += max(0, len(rest) - limit - 1)
                rest = rest[: limit + 1]
                if dropped > DRAINED:
                    raise ProblemError(Kind.TOO_LARGE, f"a line has at most {limit} bytes")
                while self._unread > limit:
                    self._room.clear()
                    await self._room.wait()
            self._lines.extend([rest] if rest else [])
            self._over = True
        except (ClientDisconnect, ProblemError) as error:
            self._over = error
        finally:
            self._stirred.set()

    async def _answer_all(self, send: Send) -> None:
        ending: Exception | bool = False
        while not ending or self._ahead:
            self._stirred.clear()
            if self._request.scope.get(GONE) or isinstance(self._over, ClientDisconnect):
                raise StoppedError(End.GONE)
            if not ending:
                self._begin()
                ending = self._ending()
            while self._ahead and self._ahead[0].done():
                await self._send(send, self._ahead.popleft().result())
            with suppress(TimeoutError):
                async with asyncio.timeout(0 if ending and not self._ahead else _LOOK):
                    await self._stirred.wait()
        if isinstance(ending, Exception):
            if not self._started:
                raise ending
            await self._send(send, written_line(self._begun + 1, None, problem_reply(ending, self._id)))
        await self._send(send, b"", more=False)

    def _ending(self) -> Exception | bool:
        """Return whether no line will be begun any more: true after the last one, else why not."""
        if self._request.scope.get(CLOSING):
            return StoppedError(End.CLOSING)
        if self._lines:
            most = self._begun == MAX_LINES
            return ProblemError(Kind.TOO_LARGE, f"a batch has at most {MAX_LINES:,} lines") if most else False
        seconds = self._settings.longest_sending
        if not self._over and not self._ahead and monotonic() > self._heard + seconds:
            return ProblemError(Kind.TOO_SLOW, f"the next line must come within {seconds:g} seconds")
        return self._over

    def _begin(self) -> None:
        """Begin lines, as many as there may be."""
        own = self._stoppers
        while self._lines and self._begun < MAX_LINES and len(self._ahead) < _AHEAD * self._settings.threads:
            stopper, number, line = Stopper(), self._begun + 1, self._lines[0]
            if len(own) >= self._work.share(len(own)):
                return
            answer = partial(self._answer, number, line, self._id, stopper)
            job = self._work.submit(stopper, answer, of_batch=True)
            self._lines.popleft()
            self._begun = number
            self._unread -= len(line) + 1
            self._room.set()
            own.add(stopper)
            self._ahead.append(asyncio.wrap_future(job))
            self._ahead[-1].add_done_callback(partial(self._done, stopper))

    def _done(self, stopper: Stopper, _answer: object) -> None:
        self._stoppers.discard(stopper)
        self._stirred.set()

    async def _send(self, send: Send, part: bytes, more: bool = True) -> None:
        try:
            async with asyncio.timeout(self._settings.longest_sending):
                if not self._started:
                    self._started = True
                    await send({"type": "http.response.start", "status": 200, "headers": _HEADERS})
                await send({"type": "http.response.body", "body": part, "more_body": more})
        except TimeoutError:  # the client takes none
            raise StoppedError(End.GONE) from None
        self._heard = monotonic()
