from collections.abc import Callable
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.testclient import TestClient

from api.app import create_app
from api.problems import MAX_ITEMS, Kind, items_of, pointer
from api.settings import Settings
from patterns.faults import Fault
from solver.model import NoAnswerError

Problem = Callable[..., dict[str, Any]]
BODY = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "round": "first_right", "card": "small"}


@pytest.mark.parametrize(
    ("place", "written"),
    [
        ((), "#"),
        (("rack", 12), "#/rack/12"),
        (("limits", "weights", "a/b~c d"), "#/limits/weights/a~1b~0c%20d"),
        (("ä",), "#/%C3%A4"),
        (("\ud800",), "#/?"),
        (("x" * 100,), "#/" + "x" * 60 + "%E2%80%A6"),
    ],
)
def test_pointers(place: tuple[str | int, ...], written: str) -> None:
    assert pointer(place) == written


def test_a_hundred_faults_are_listed_and_the_rest_counted() -> None:
    faults = [Fault("a", (index,), "b") for index in range(MAX_ITEMS + 5)]
    items = items_of(faults)
    assert [item.pointer for item in items[:-1]] == [f"#/{index}" for index in range(MAX_ITEMS)]
    assert items[-1].detail == "and 5 more faults"
    assert len(items_of(faults[:MAX_ITEMS])) == MAX_ITEMS


def test_a_detail_may_quote_anything() -> None:
    (item,) = items_of([Fault("a", (), "a lone \ud800 in it")])
    assert item.detail == "a lone ? in it"


def test_words_are_distinct() -> None:
    assert len({kind.word for kind in Kind}) == len(Kind)


@pytest.mark.parametrize(
    "path", ["/", "/v1", "/v1/advice/", "/v1/cards/", "/docs", "/redoc", "/v1/cards/nope"]
)
def test_not_found(client: TestClient, problem: Problem, path: str) -> None:
    problem(client.get(path), "not-found")


def test_an_unknown_card_names_those_there_are(client: TestClient, problem: Problem) -> None:
    assert problem(client.get("/v1/cards/nope"), "not-found")["detail"].endswith("full, small")


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("GET", "/v1/advice", "POST"),
        ("PUT", "/v1/advice", "POST"),
        ("POST", "/v1/cards", "GET"),
        ("DELETE", "/v1/cards/full", "GET"),
        ("POST", "/livez", "GET"),
        ("OPTIONS", "/readyz", "GET"),
    ],
)
def test_wrong_method(client: TestClient, problem: Problem, method: str, path: str, allowed: str) -> None:
    response = client.request(method, path)
    problem(response, "wrong-method")
    assert response.headers["allow"] == allowed


def test_no_answer_within_the_effort(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise NoAnswerError

    monkeypatch.setattr("api.routes.advice.advise", fail)
    with TestClient(create_app(Settings(threads=1))) as client:
        response = client.post("/v1/advice", json=BODY)
    problem(response, "no-answer")
    assert "retry-after" not in response.headers


@pytest.fixture
def extended() -> FastAPI:
    app = create_app(Settings(threads=1))

    @app.get("/number")
    async def number(n: int) -> int:
        return n

    @app.get("/teapot")
    async def teapot() -> None:
        raise HTTPException(418, "short and stout", {"x-spout": "1"})

    return app


def test_parameters_in_the_address(extended: FastAPI, problem: Problem) -> None:
    with TestClient(extended) as client:
        assert client.get("/number", params={"n": "3"}).json() == 3
        found = problem(client.get("/number", params={"n": "three"}), "invalid")
    (item,) = found["errors"]
    assert (item["pointer"], item["type"]) == ("#/query/n", "int-parsing")
    assert "three" not in item["detail"]


def test_other_errors_of_the_framework(extended: FastAPI) -> None:
    with TestClient(extended) as client:
        response = client.get("/teapot")
    assert (response.status_code, response.headers["x-spout"]) == (418, "1")
    assert response.headers["content-type"] == "application/problem+json"
    body = response.json()
    assert (body["type"], body["status"], body["detail"]) == ("about:blank", 418, "short and stout")
