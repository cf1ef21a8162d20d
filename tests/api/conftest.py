import json
from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from api.operations import examples
from api.problems import WORDS
from tests.api.asking import BODY, JSON, Ask, Faults, opened

STATUS = {
    "not-http": 400,
    "not-json": 400,
    "not-found": 404,
    "wrong-method": 405,
    "too-slow": 408,
    "too-large": 413,
    "wrong-media-type": 415,
    "long-head": 431,
    "other-host": 421,
    "invalid": 422,
    "too-dear": 422,
    "limits-clash": 422,
    "internal": 500,
    "not-installed": 501,
    "busy": 503,
    "out-of-time": 503,
}

Problem = Callable[[httpx2.Response, str], dict[str, Any]]


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    with opened(threads=2) as client:
        yield client


@pytest.fixture
def post(client: TestClient) -> Ask:
    def send(path: str, **body: object) -> httpx2.Response:
        # Dumped here, since the client refuses lone surrogates, which JSON can carry as escapes.
        return client.post(path, content=json.dumps(body), headers=JSON)

    return send


@pytest.fixture
def ask(post: Ask) -> Ask:
    """Ask for advice on the small card, with members replaced or added."""
    return lambda **members: post("/v1/advice", **{**BODY, **members})


@pytest.fixture
def problem() -> Problem:
    """Check that an answer is a problem of one sort, and return its body."""

    def read(response: httpx2.Response, word: str) -> dict[str, Any]:
        assert response.headers["content-type"] == "application/problem+json"
        body: dict[str, Any] = response.json()
        assert list(body) == ["type", "title", "status", "detail", "request_id", "errors"]
        assert body["type"] == f"urn:threepass:problem:{word}"
        assert body["status"] == response.status_code == STATUS[word]
        assert body["request_id"] == response.headers["x-request-id"]
        assert body["title"] and body["detail"]
        assert all(list(item) == ["pointer", "detail", "type"] for item in body["errors"])
        assert {item["type"] for item in body["errors"]} <= set(WORDS)
        return body

    return read


@pytest.fixture
def faults(problem: Problem) -> Faults:
    """Check that an answer refuses a request as invalid, and return pointer and type of each fault."""

    def read(response: httpx2.Response) -> list[str]:
        return [f"{item['pointer']} {item['type']}" for item in problem(response, "invalid")["errors"]]

    return read


@pytest.fixture
def graded(post: Ask) -> Callable[..., dict[str, Any]]:
    def ask(*records: dict[str, Any]) -> dict[str, Any]:
        response = post("/v1/reviews", records=list(records))
        assert response.status_code == 200, response.text
        body: dict[str, Any] = response.json()
        return body

    return ask


@pytest.fixture
def example() -> dict[str, Any]:
    """A sheet of one problem, as it goes over the wire."""
    sheet: dict[str, Any] = deepcopy(examples()["sheet_pages"]["key_as_table"]["sheet"])
    return sheet
