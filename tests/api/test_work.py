"""The pool, by jobs that wait for events: no clocks but the shortest wait there is."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from threading import Event
from typing import Any

import pytest
from starlette.requests import Request

from api.work import BusyError, Work
from solver.model import StoppedError, Stopper


class Client:
    """The server's view of a client: it stays until it leaves."""

    def __init__(self) -> None:
        self._left = asyncio.Event()

    def leave(self) -> None:
        self._left.set()

    @property
    def request(self) -> Request:
        async def receive() -> dict[str, Any]:
            await self._left.wait()
            return {"type": "http.disconnect"}

        return Request({"type": "http"}, receive)


class Job:
    """Runs until let go; remembers whether it began, and the stopper it was given."""

    def __init__(self) -> None:
        self.begun = Event()
        self.go = Event()
        self.stopper: Stopper | None = None

    def __call__(self, stopper: Stopper) -> str:
        self.stopper = stopper
        self.begun.set()
        assert self.go.wait(30)
        stopper.check()
        return "done"


@asynccontextmanager
async def working(threads: int = 1, queue: int = 0, longest_wait: float = 30) -> AsyncIterator[Work]:
    work = Work(threads, queue, longest_wait)
    try:
        yield work
    finally:
        work.close()


async def begun(job: Job) -> None:
    assert await asyncio.to_thread(job.begun.wait, 30)


async def empty(work: Work) -> None:
    while work.admitted:
        await asyncio.sleep(0.001)


def stopped(job: Job) -> bool:
    try:
        assert job.stopper is not None
        job.stopper.check()
    except StoppedError:
        return True
    return False


def run(test: Callable[[], Any]) -> None:
    asyncio.run(asyncio.wait_for(test(), 60))


def test_a_job_runs_and_its_room_is_free_again() -> None:
    async def test() -> None:
        async with working() as work:
            for _ in range(3):
                assert await work.run(Client().request, lambda _: 7) == 7
                await empty(work)

    run(test)


def test_a_jobs_error_is_raised_and_its_room_is_free_again() -> None:
    def fail(_: Stopper) -> None:
        raise KeyError("mine")

    async def test() -> None:
        async with working() as work:
            for _ in range(3):
                with pytest.raises(KeyError, match="mine"):
                    await work.run(Client().request, fail)
                await empty(work)

    run(test)


def test_when_full_the_next_is_refused_while_those_running_and_waiting_finish() -> None:
    async def test() -> None:
        async with working(threads=2, queue=1) as work:
            jobs = [Job() for _ in range(3)]
            tasks = [asyncio.create_task(work.run(Client().request, job)) for job in jobs]
            await begun(jobs[0])
            await begun(jobs[1])
            assert work.admitted == 3
            with pytest.raises(BusyError):
                await work.run(Client().request, Job())
            for job in jobs:
                job.go.set()
            assert await asyncio.gather(*tasks) == ["done"] * 3
            await empty(work)
            assert await work.run(Client().request, lambda _: "room again") == "room again"

    run(test)


def test_a_client_that_leaves_stops_its_job() -> None:
    async def test() -> None:
        async with working() as work:
            client, job = Client(), Job()
            task = asyncio.create_task(work.run(client.request, job))
            await begun(job)
            client.leave()
            with pytest.raises(StoppedError):
                await task
            assert stopped(job)
            assert work.admitted == 1  # the thread is only free when the job sees that it was stopped
            job.go.set()
            await empty(work)

    run(test)


def test_a_client_that_leaves_the_queue_never_has_its_job_begun() -> None:
    async def test() -> None:
        async with working(queue=1) as work:
            first, second, client = Job(), Job(), Client()
            running = asyncio.create_task(work.run(Client().request, first))
            await begun(first)
            waiting = asyncio.create_task(work.run(client.request, second))
            await asyncio.sleep(0)
            client.leave()
            with pytest.raises(StoppedError):
                await waiting
            assert work.admitted == 1
            first.go.set()
            assert await running == "done"
            assert not second.begun.is_set()

    run(test)


def test_a_wait_that_is_too_long_is_given_up() -> None:
    async def test() -> None:
        async with working(queue=1, longest_wait=0.01) as work:
            first, second = Job(), Job()
            running = asyncio.create_task(work.run(Client().request, first))
            await begun(first)
            with pytest.raises(BusyError):
                await work.run(Client().request, second)
            first.go.set()
            assert await running == "done"  # it runs longer than it may wait
            assert not second.begun.is_set()

    run(test)


def test_a_cancelled_request_stops_its_job() -> None:
    async def test() -> None:
        async with working() as work:
            job = Job()
            task = asyncio.create_task(work.run(Client().request, job))
            await begun(job)
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task
            job.go.set()
            assert stopped(job)

    run(test)


def test_closing_stops_what_runs_and_what_waits_and_work_can_begin_again() -> None:
    async def test() -> None:
        work = Work(1, 1, 30)
        first, second = Job(), Job()
        running = asyncio.create_task(work.run(Client().request, first))
        await begun(first)
        waiting = asyncio.create_task(work.run(Client().request, second))
        await asyncio.sleep(0)
        closing = asyncio.create_task(asyncio.to_thread(work.close))
        while not stopped(first):
            await asyncio.sleep(0.001)
        first.go.set()
        await closing
        for task in (running, waiting):
            with pytest.raises(StoppedError):
                await task
        assert not second.begun.is_set()
        assert await work.run(Client().request, lambda _: 1) == 1
        work.close()

    run(test)
