from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from solver.advice import Advice, MismatchError, advise
from solver.model import Stopper
from solver.situation import Question


def test_alive(client: TestClient) -> None:
    response = client.get("/livez")
    assert (response.status_code, response.json()) == (200, {"status": "alive"})


def test_ready_solves(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    solved: list[Advice] = []

    def watch(question: Question, stopper: Stopper) -> Advice:
        solved.append(advise(question, stopper))
        return solved[-1]

    monkeypatch.setattr("api.routes.health.advise", watch)
    response = client.get("/readyz")
    assert response.status_code == 200
    assert list(response.json()) == ["status", "solve_ms"]
    assert response.json()["status"] == "ready"
    assert len(solved[0].passed) == 3


def test_not_ready_when_the_solver_fails_but_still_alive(
    problem: Callable[..., dict[str, object]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> Advice:
        raise MismatchError("numbers")

    monkeypatch.setattr("api.routes.health.advise", fail)
    with TestClient(create_app(Settings(threads=1))) as client:
        problem(client.get("/readyz"), "internal")
        assert client.get("/livez").status_code == 200
