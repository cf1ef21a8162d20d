import asyncio
import logging
import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from api.app import create_app
from api.envelope import Envelope
from api.settings import Settings
from solver.advice import MismatchError

BODY = {"rack": "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J", "round": "first_right", "card": "small"}


@pytest.mark.parametrize("path", ["/livez", "/nowhere", "/openapi.json"])
def test_every_answer_has_an_id_of_its_own(client: TestClient, path: str) -> None:
    first, second = (client.get(path).headers["x-request-id"] for _ in range(2))
    assert re.fullmatch("[0-9a-f]{32}", first)
    assert first != second


def test_a_good_id_of_the_client_is_kept(client: TestClient) -> None:
    assert client.get("/livez", headers={"x-request-id": "Lap-7.b_2"}).headers["x-request-id"] == "Lap-7.b_2"


@pytest.mark.parametrize("wanted", [b"", b"a b", b"a\tb", b"x" * 65, "ä".encode(), b"a;b"])
def test_a_bad_id_is_replaced(client: TestClient, wanted: bytes) -> None:
    got = client.get("/livez", headers=[(b"x-request-id", wanted)])
    assert re.fullmatch("[0-9a-f]{32}", got.headers["x-request-id"])


@pytest.mark.parametrize("error", [MismatchError("secret numbers"), RuntimeError("secret path")])
def test_what_nobody_foresaw_is_logged_and_not_told(
    error: Exception,
    problem: Callable[..., dict[str, object]],
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr("api.routes.advice.advise", fail)
    with TestClient(create_app(Settings(threads=1))) as client, caplog.at_level(logging.ERROR):
        response = client.post("/v1/advice", json=BODY, headers={"x-request-id": "lap-1"})
    found = problem(response, "internal")
    assert found["errors"] == []
    assert "secret" not in response.text and "Error" not in response.text
    (record,) = caplog.records
    assert record.getMessage() == "request lap-1 failed"
    assert record.exc_info is not None and record.exc_info[1] is error


def test_a_failure_after_the_answer_began_is_not_hidden() -> None:
    async def broken(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        raise RuntimeError("half way")

    with pytest.raises(RuntimeError, match="half way"):
        TestClient(Envelope(broken)).get("/")


def test_what_is_no_request_passes_through() -> None:
    passed: list[Scope] = []

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        passed.append(scope)

    async def never() -> Message:
        raise AssertionError

    async def nothing(_: Message) -> None:
        raise AssertionError

    scope = {"type": "lifespan"}
    asyncio.run(Envelope(app)(scope, never, nothing))
    assert passed == [{"type": "lifespan"}]
