"""What is let in, and what ends it: the pool by jobs that wait for events, and the service before it."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from functools import wraps
from threading import Event
from typing import Any

import pytest
from starlette.requests import Request
from starlette.testclient import TestClient

import solver.ahead
import solver.deals
import solver.review
from api.app import create_app
from api.observe import QUEUE_WAIT
from api.problems import ProblemError
from api.settings import Settings
from api.work import Work
from patterns.stopping import StoppedError, Stopper
from solver.advice import Advice, advise
from solver.situation import Question
from tests.api.asking import BODY, LOCAL, RACK, driven, record

Problem = Callable[..., dict[str, Any]]


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


def awaited(test: Callable[[], Coroutine[Any, Any, None]]) -> Callable[[], None]:
    """Run a test in a loop of its own, for a minute at most."""

    @wraps(test)
    def run() -> None:
        asyncio.run(asyncio.wait_for(test(), 60))

    return run


@awaited
async def test_a_client_that_leaves_the_queue_never_has_its_job_begun() -> None:
    async with working(queue=1) as work:
        first, second, client = Job(), Job(), Client()
        running = asyncio.create_task(work.run(Client().request, first))
        await begun(first)
        waiting = asyncio.create_task(work.run(client.request, second))
        await asyncio.sleep(0)
        client.leave()
        with pytest.raises(StoppedError):
            await waiting
        assert len(work.admitted) == 1
        first.go.set()
        assert await running == "done"
        assert not second.begun.is_set()


@awaited
async def test_a_wait_that_is_too_long_is_given_up() -> None:
    async with working(queue=1, longest_wait=0.01) as work:
        first, second, late = Job(), Job(), Client().request
        running = asyncio.create_task(work.run(Client().request, first))
        await begun(first)
        with pytest.raises(ProblemError, match="try again"):
            await work.run(late, second)
        assert 0.01 <= late.scope[QUEUE_WAIT] < 30
        first.go.set()
        assert await running == "done"  # it runs longer than it may wait
        assert not second.begun.is_set()


class SlowSolver:
    """Stands before the real solver until let go."""

    def __init__(self) -> None:
        self.begun = Event()
        self.go = Event()

    def __call__(self, question: Question) -> Advice:
        self.begun.set()
        assert self.go.wait(30)
        return advise(question)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> SlowSolver:
    solver = SlowSolver()
    monkeypatch.setattr("api.answers.advice.advise", solver)
    return solver


def test_a_full_server_says_so_and_finishes_what_runs(slow: SlowSolver, problem: Problem) -> None:
    app = create_app(Settings(threads=1, queue=0))
    with TestClient(app, LOCAL) as client, ThreadPoolExecutor(1) as other:
        first = other.submit(client.post, "/v1/advice", json=BODY)
        assert slow.begun.wait(30)
        for refused in (client.post("/v1/advice", json=BODY), client.get("/readyz"), client.get("/v1/cards")):
            problem(refused, "busy")
            assert int(refused.headers["retry-after"]) >= 1
        assert client.get("/livez").status_code == 200
        slow.go.set()
        assert first.result(30).status_code == 200
        assert client.post("/v1/advice", json=BODY).content == first.result().content


def test_pdfs_hold_no_thread_that_solves(
    monkeypatch: pytest.MonkeyPatch, example: dict[str, Any], problem: Problem
) -> None:
    """One is drawn and one waits for its turn; the only thread answers meanwhile."""
    begun, go = Event(), Event()

    def drawing(page: bytes) -> bytes:
        begun.set()
        assert go.wait(30)
        return page

    monkeypatch.setattr("api.sheets.printing.pdf", drawing)
    asked = {"sheet": example, "format": "pdf", "part": "key"}
    app = create_app(Settings(threads=1, queue=1))
    with TestClient(app, LOCAL) as client, ThreadPoolExecutor(2) as others:
        printed = [others.submit(client.post, "/v1/sheets/pages", json=asked) for _ in range(2)]
        assert begun.wait(30)
        assert client.post("/v1/advice", json=BODY).status_code == 200
        while len(client.app.state.apart.admitted) < 2:  # type: ignore[attr-defined]
            assert client.get("/readyz").status_code == 200
        problem(client.post("/v1/sheets/pages", json=asked), "busy")
        go.set()
        assert [each.result(30).status_code for each in printed] == [200, 200]


class Paused:
    """Calls a step of long work; the second call says that work has begun, and waits."""

    def __init__(self, step: Callable[..., Any]) -> None:
        self.calls = 0
        self.begun = Event()
        self.go = Event()
        self._step = step

    def __call__(self, *args: Any, **members: Any) -> Any:
        self.calls += 1
        if self.calls == 2:
            self.begun.set()
            assert self.go.wait(30)
        return self._step(*args, **members)


@pytest.mark.parametrize(
    ("path", "body", "module", "step"),
    [
        ("/v1/reviews", {"records": [record()] * 20}, solver.review, "advise"),
        ("/v1/deals", {"seed": 1, "card": "small", "count": 50}, solver.deals, "advise"),
        ("/v1/votes", {"rack": RACK, "card": "small", "samples": 100}, solver.ahead, "incoming"),
    ],
)
def test_a_client_that_leaves_stops_long_work(
    monkeypatch: pytest.MonkeyPatch, path: str, body: object, module: object, step: str
) -> None:
    paused = Paused(getattr(module, step))
    monkeypatch.setattr(module, step, paused)
    app = create_app(Settings(threads=1))

    messages = iter([{"type": "http.request", "body": json.dumps(body).encode()}])

    async def receive() -> dict[str, Any]:
        if message := next(messages, None):
            return message
        assert await asyncio.to_thread(paused.begun.wait, 30)
        return {"type": "http.disconnect"}

    async def leave() -> list[int]:
        async with app.router.lifespan_context(app):
            sent = await driven(app, path, receive)
            assert len(app.state.work.admitted) == 1
            paused.go.set()
            while app.state.work.admitted:
                await asyncio.sleep(0.001)
        return sent

    assert asyncio.run(asyncio.wait_for(leave(), 60)) == [503]
    assert paused.calls == 2
