import json
from collections.abc import Callable, Iterator
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.settings import Settings

JSON = {"content-type": "application/json"}
RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
STATUS = {
    "not-json": 400,
    "not-found": 404,
    "wrong-method": 405,
    "too-slow": 408,
    "too-large": 413,
    "wrong-media-type": 415,
    "invalid": 422,
    "limits-clash": 422,
    "internal": 500,
    "not-installed": 501,
    "busy": 503,
    "no-answer": 503,
}

Ask = Callable[..., httpx2.Response]
Problem = Callable[[httpx2.Response, str], dict[str, Any]]


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=2))) as client:
        yield client


@pytest.fixture
def ask(client: TestClient) -> Ask:
    """Ask for advice on a small card, with members replaced or added."""

    def post(**members: object) -> httpx2.Response:
        body = {"rack": RACK, "round": "first_right", "card": "small", **members}
        # Dumped here, since the client refuses lone surrogates, which JSON can carry as escapes.
        return client.post("/v1/advice", content=json.dumps(body), headers=JSON)

    return post


@pytest.fixture
def post(client: TestClient) -> Ask:
    """Send any body to an operation."""

    def send(path: str, **body: object) -> httpx2.Response:
        return client.post(path, content=json.dumps(body), headers=JSON)

    return send


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
        return body

    return read


@pytest.fixture
def faults(problem: Problem) -> Callable[[httpx2.Response], list[tuple[str, str]]]:
    """Check that an answer refuses a request as invalid, and return its (pointer, type) pairs."""

    def read(response: httpx2.Response) -> list[tuple[str, str]]:
        return [(item["pointer"], item["type"]) for item in problem(response, "invalid")["errors"]]

    return read


@pytest.fixture
def graded(post: Ask) -> Callable[..., dict[str, Any]]:
    """Have records graded."""

    def ask(*records: dict[str, Any], **members: object) -> dict[str, Any]:
        response = post("/v1/reviews", records=list(records), **members)
        assert response.status_code == 200, response.text
        body: dict[str, Any] = response.json()
        return body

    return ask
