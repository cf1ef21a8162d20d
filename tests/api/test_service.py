"""The whole service under load, and clients that go away."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from solver.advice import Advice, advise
from solver.model import StoppedError, Stopper
from solver.situation import Question
from tests.api.leaving import ask_and_leave

BODY = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "round": "first_right", "card": "small"}


class SlowSolver:
    """Stands before the real solver until let go."""

    def __init__(self) -> None:
        self.begun = Event()
        self.go = Event()
        self.ended: Exception | None = None
        self.stopper: Stopper | None = None

    def __call__(self, question: Question, stopper: Stopper) -> Advice:
        self.stopper = stopper
        self.begun.set()
        assert self.go.wait(30)
        try:
            return advise(question, stopper)
        except Exception as error:
            self.ended = error
            raise


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> SlowSolver:
    solver = SlowSolver()
    monkeypatch.setattr("api.routes.advice.advise", solver)
    return solver


def test_a_full_server_says_so_and_finishes_what_runs(
    slow: SlowSolver, problem: Callable[..., dict[str, Any]]
) -> None:
    app = create_app(Settings(threads=1, queue=0))
    with TestClient(app) as client, ThreadPoolExecutor(1) as other:
        first = other.submit(client.post, "/v1/advice", json=BODY)
        assert slow.begun.wait(30)
        for refused in (client.post("/v1/advice", json=BODY), client.get("/readyz"), client.get("/v1/cards")):
            problem(refused, "busy")
            assert int(refused.headers["retry-after"]) >= 1
        assert client.get("/livez").status_code == 200
        slow.go.set()
        assert first.result(30).status_code == 200
        assert client.post("/v1/advice", json=BODY).content == first.result().content


async def leave(app: FastAPI, slow: SlowSolver) -> list[int]:
    """Leave when the solve has begun, and let it go on only then."""
    async with app.router.lifespan_context(app):
        sent = await ask_and_leave(app, "/v1/advice", BODY, slow.begun)
        stopper = slow.stopper
        assert stopper is not None
        with pytest.raises(StoppedError):
            stopper.check()
        slow.go.set()
    return sent


def test_a_client_that_leaves_stops_the_solve(slow: SlowSolver) -> None:
    sent = asyncio.run(leave(create_app(Settings(threads=1)), slow))
    assert sent == [503]  # for the log; nobody reads it
    assert isinstance(slow.ended, StoppedError)


def test_a_client_that_leaves_while_sending_is_no_failure() -> None:
    app, sent = create_app(Settings(threads=1)), list[int]()

    async def receive() -> dict[str, Any]:
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message.get("status"))

    scope = {
        "type": "http",
        "method": "POST",
        "path": "/v1/advice",
        "query_string": b"",
        "headers": [(b"content-type", b"application/json")],
    }
    asyncio.run(app(scope, receive, send))
    assert sent[0] == 503


def test_it_answers_without_its_lifespan_too() -> None:
    client = TestClient(create_app(Settings(threads=1)))  # not entered: no lifespan events
    assert client.post("/v1/advice", json=BODY).status_code == 200
    client.app.state.services.work.close()  # type: ignore[attr-defined]


def test_one_application_may_be_started_again() -> None:
    app = create_app(Settings(threads=1))
    for _ in range(2):
        with TestClient(app) as client:
            assert client.get("/readyz").status_code == 200


def test_settings_come_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THREEPASS_BODY_LIMIT", "50")
    with TestClient(create_app()) as client:
        assert client.post("/v1/advice", json=BODY).status_code == 413
