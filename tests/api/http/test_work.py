"""What is let in, and what ends it."""

import asyncio
import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any

import pytest

import solver.ahead
import solver.coach.review
import solver.deals
from api.http.app import create_app
from api.settings import Settings
from solver.advice import advise
from tests.api.asking import BODY, RACK, driven, opened, record
from tests.api.conftest import Problem


class Paused:
    """Calls a step of work; that call which is awaited says that it has begun, and waits."""

    def __init__(self, step: Callable[..., Any], awaited: int = 1) -> None:
        self.calls = 0
        self.begun, self.go = Event(), Event()
        self._step, self._awaited = step, awaited

    def __call__(self, *args: Any, **members: Any) -> Any:
        self.calls += 1
        if self.calls == self._awaited:
            self.begun.set()
            assert self.go.wait(30)
        return self._step(*args, **members)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Paused:
    solver = Paused(advise)
    monkeypatch.setattr("api.answers.advice.advise", solver)
    return solver


def test_a_full_server_says_so_and_finishes_what_runs(slow: Paused, problem: Problem) -> None:
    with opened(queue=0) as client, ThreadPoolExecutor(1) as other:
        first = other.submit(client.post, "/v1/advice", json=BODY)
        assert slow.begun.wait(30)
        for refused in (client.post("/v1/advice", json=BODY), client.get("/readyz"), client.get("/v1/cards")):
            problem(refused, "busy")
            assert int(refused.headers["retry-after"]) >= 1
        assert client.get("/livez").status_code == 200
        slow.go.set()
        assert first.result(30).status_code == 200
        assert client.post("/v1/advice", json=BODY).content == first.result().content


def test_who_waits_too_long_is_told_to_come_again(slow: Paused, problem: Problem) -> None:
    with opened(queue=1, longest_wait=0.01) as client, ThreadPoolExecutor(1) as other:
        first = other.submit(client.post, "/v1/advice", json=BODY)
        assert slow.begun.wait(30)
        problem(client.post("/v1/advice", json=BODY), "busy")
        slow.go.set()
        # It runs longer than it may wait.
        assert first.result(30).status_code == 200


def test_pdfs_hold_no_thread_that_solves(
    monkeypatch: pytest.MonkeyPatch, example: dict[str, Any], problem: Problem
) -> None:
    """One is drawn and one waits for its turn; the only thread answers meanwhile."""
    drawing = Paused(bytes)
    monkeypatch.setattr("api.sheets.printing.pdf", drawing)
    asked = {"sheet": example, "format": "pdf", "part": "key"}
    with opened(queue=1) as client, ThreadPoolExecutor(2) as others:
        printed = [others.submit(client.post, "/v1/sheets/pages", json=asked) for _ in range(2)]
        assert drawing.begun.wait(30)
        assert client.post("/v1/advice", json=BODY).status_code == 200
        while len(client.app.state.apart.admitted) < 2:  # type: ignore[attr-defined]
            assert client.get("/readyz").status_code == 200
        problem(client.post("/v1/sheets/pages", json=asked), "busy")
        drawing.go.set()
        assert [each.result(30).status_code for each in printed] == [200, 200]


@pytest.mark.parametrize(
    ("path", "body", "module", "step"),
    [
        ("/v1/reviews", {"records": [record()] * 20}, solver.coach.review, "advise"),
        ("/v1/deals", {"seed": 1, "card": "small", "count": 50}, solver.deals, "advise"),
        ("/v1/votes", {"rack": RACK, "card": "small", "samples": 100}, solver.ahead, "incoming"),
    ],
)
def test_a_client_that_leaves_stops_long_work(
    monkeypatch: pytest.MonkeyPatch, path: str, body: object, module: object, step: str
) -> None:
    paused = Paused(getattr(module, step), 2)
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


def test_an_app_that_is_started_again_has_threads_again() -> None:
    client = opened()
    for _ in range(2):
        with client:
            assert client.get("/readyz").status_code == 200
