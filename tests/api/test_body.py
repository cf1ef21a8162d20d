import asyncio
from collections.abc import Callable, Iterator
from typing import Any

import httpx2
import pytest
from starlette.requests import Request
from starlette.testclient import TestClient

from api.app import create_app
from api.body import BodyTooLargeError, BodyTooSlowError, NotJsonError, parse_json, read_body
from api.settings import Settings

JSON = {"content-type": "application/json"}


def post(client: TestClient, content: object, **headers: str) -> httpx2.Response:
    return client.post("/v1/advice", content=content, headers={**JSON, **headers})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("body", "detail"),
    [
        (b"", "line 1, column 1 (byte 0): expecting value"),
        (b'{"a" 1}', "line 1, column 6 (byte 5): expecting ':' delimiter"),
        ('{"ä": 1,\n x'.encode(), "line 2, column 2 (byte 11)"),
        (b'{"rack": "\xff"}', "not UTF-8 at byte 10"),
        ('{"a": 1}'.encode("utf-16"), "not UTF-8 at byte 0"),
        (b'{"effort": NaN}', "NaN is not a number of JSON"),
        (b'{"effort": -Infinity}', "-Infinity is not a number of JSON"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a":' * 100_000, "nested too deeply"),
        (b"9" * 5000, "a number has too many digits"),
    ],
)
def test_what_is_not_json_is_said_with_its_place(
    client: TestClient, problem: Callable[..., dict[str, object]], body: bytes, detail: str
) -> None:
    with pytest.raises(NotJsonError) as caught:
        parse_json(body)
    found = problem(post(client, body), "not-json")
    assert found["errors"] == []
    assert found["detail"] == str(caught.value)
    assert detail in str(caught.value)


def test_a_byte_order_mark_is_overlooked() -> None:
    assert parse_json(b'\xef\xbb\xbf{"a": 1.5}') == {"a": 1.5}


@pytest.mark.parametrize(
    "media_type", ["application/json", "Application/JSON; charset=UTF-8", "application/a+json"]
)
def test_media_types_that_are_json(client: TestClient, media_type: str) -> None:
    assert post(client, b"[]", **{"content-type": media_type}).status_code == 422


@pytest.mark.parametrize(
    "headers",
    [
        {"content-type": "text/plain"},
        {"content-type": "application/x-www-form-urlencoded"},
        {"content-type": "application/jsonx"},
        {"content-type": "application/+json"},
        {"content-type": "text/json"},
        {"content-type": ""},
        {"content-type": "application/json; charset=latin-1"},
        {"content-encoding": "gzip"},
    ],
)
def test_other_media_types_are_refused(
    client: TestClient, problem: Callable[..., dict[str, object]], headers: dict[str, str]
) -> None:
    problem(post(client, b"{}", **headers), "wrong-media-type")


@pytest.fixture(scope="module")
def narrow() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=1, body_limit=100))) as client:
        yield client


def chunks(count: int) -> Iterator[bytes]:
    for _ in range(count):
        yield b" " * 10


def test_the_limit_holds_with_a_length_and_in_chunks(
    narrow: TestClient, problem: Callable[..., dict[str, object]]
) -> None:
    problem(post(narrow, b" " * 100), "not-json")
    problem(post(narrow, chunks(10)), "not-json")
    found = problem(post(narrow, b" " * 101), "too-large")
    assert found["detail"] == "at most 100 bytes are taken"
    problem(post(narrow, chunks(11)), "too-large")


def test_ten_mebibytes(client: TestClient, problem: Callable[..., dict[str, object]]) -> None:
    problem(post(client, b" " * (10 << 20)), "too-large")


def test_a_body_without_end_is_cut_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.body._DRAINED", 1000)
    taken = 0

    async def receive() -> dict[str, Any]:
        nonlocal taken
        taken += 300
        return {"type": "http.request", "body": b" " * 300, "more_body": True}

    request = Request({"type": "http", "headers": [(b"content-type", b"application/json")]}, receive)
    with pytest.raises(BodyTooLargeError):
        asyncio.run(read_body(request, 100, 30))
    assert 1100 < taken <= 1500


def test_a_body_that_trickles_is_given_up() -> None:
    async def receive() -> dict[str, Any]:
        await asyncio.sleep(0.001)
        return {"type": "http.request", "body": b" ", "more_body": True}

    async def read() -> None:
        await read_body(request, 1 << 20, 0.05)

    request = Request({"type": "http", "headers": [(b"content-type", b"application/json")]}, receive)
    with pytest.raises(BodyTooSlowError, match=r"whole after 0\.05 seconds"):
        asyncio.run(asyncio.wait_for(read(), 30))
