"""The log: one line of JSON a record, and nothing in it that a client wrote but a good request id."""

import io
import json
import logging
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.app import create_app
from api.log_lines import JsonLines, log_config
from api.settings import Settings

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
SECRET = "zebra-9q"


class Log:
    """What a server's log would have."""

    def __init__(self) -> None:
        self._stream = io.StringIO()
        self.handler = logging.StreamHandler(self._stream)
        self.handler.setFormatter(JsonLines(details=False))

    @property
    def text(self) -> str:
        return self._stream.getvalue()

    @property
    def entries(self) -> list[dict[str, Any]]:
        return [json.loads(line) for line in self.text.splitlines()]


@pytest.fixture
def log() -> Iterator[Log]:
    log, logger = Log(), logging.getLogger("threepass")
    before = logger.level
    logger.addHandler(log.handler)
    logger.setLevel(logging.INFO)
    yield log
    logger.setLevel(before)
    logger.removeHandler(log.handler)


@pytest.fixture
def served(log: Log) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(threads=1))) as client:
        yield client


def test_a_request_that_was_solved(served: TestClient, log: Log) -> None:
    body = {"rack": RACK, "round": "first_right", "card": "small"}
    served.post("/v1/advice?a=b", json=body, headers={"x-request-id": "lap-1"})
    (entry,) = log.entries
    assert entry["milliseconds"] >= entry["queue_wait_ms"] >= 0
    del entry["time"], entry["milliseconds"], entry["queue_wait_ms"]
    assert entry == {
        "level": "info",
        "logger": "threepass.access",
        "message": "served",
        "request_id": "lap-1",
        "method": "POST",
        "route": "/v1/advice",
        "status": 200,
    }


@pytest.mark.parametrize(
    ("method", "path", "told", "route", "status"),
    [
        ("GET", "/livez", "GET", "/livez", 200),
        ("GET", "/openapi.json", "GET", "/openapi.json", 200),
        ("GET", "/v1/cards/small", "GET", "/v1/cards/{name}", 200),
        ("GET", f"/v1/cards/{SECRET}", "GET", "/v1/cards/{name}", 404),
        ("GET", f"/{SECRET}", "GET", None, 404),
        ("PUT", "/v1/advice", "PUT", "/v1/advice", 405),
        ("ZEBRA-9Q", "/livez", "OTHER", "/livez", 405),
    ],
)
def test_the_route_is_told_not_the_path(
    served: TestClient, log: Log, method: str, path: str, told: str, route: str | None, status: int
) -> None:
    served.request(method, path)
    (entry,) = log.entries
    assert (entry["method"], entry["route"], entry["status"]) == (told, route, status)
    assert (entry["queue_wait_ms"] is None) == (route != "/v1/cards/{name}")
    assert SECRET not in log.text.lower()


def test_nothing_that_was_sent_is_repeated(
    served: TestClient, log: Log, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ask(rack: str) -> int:
        body = {"rack": rack, "round": "first_right", "card": "small"}
        headers = {"x-request-id": f"{SECRET} {SECRET}", "user-agent": SECRET}
        return served.post("/v1/advice", params={"rack": rack}, json=body, headers=headers).status_code

    def fail(*_: object) -> None:
        try:
            raise KeyError(RACK)
        except KeyError:
            raise RuntimeError(f"{SECRET}: {RACK}") from None

    assert ask(RACK) == 200
    assert ask(f"{SECRET} {RACK}") == 422
    monkeypatch.setattr("api.routes.advice.advise", fail)
    assert ask(RACK) == 500
    assert [(entry["level"], entry.get("status")) for entry in log.entries] == [
        ("info", 200),
        ("info", 422),
        ("error", None),
        ("info", 500),
    ]
    assert SECRET not in log.text
    assert "4b 4c" not in log.text
    failure, access = log.entries[-2:]
    assert failure["message"] == f"request {access['request_id']} failed"
    assert failure["error"] == "RuntimeError"
    assert "in fail\n" in failure["trace"], "where it was raised is told"


def record(message: str, error: BaseException | None = None) -> logging.LogRecord:
    info = None if error is None else (type(error), error, error.__traceback__)
    return logging.LogRecord("asyncio", logging.ERROR, "", 1, message, None, info)


def caught() -> BaseException:
    try:
        try:
            raise KeyError(SECRET)
        except KeyError as error:
            raise RuntimeError(SECRET) from error
    except RuntimeError as error:
        return error


@pytest.mark.parametrize("details", [False, True])
def test_messages_of_errors_only_if_wanted(details: bool) -> None:
    line = JsonLines(details).format(record(f"Task failed\nfuture: {SECRET}", caught()))
    assert line.isascii() and "\n" not in line
    entry = json.loads(line)
    assert (entry["error"], entry["level"]) == ("RuntimeError", "error")
    assert entry["trace"].index("KeyError") < entry["trace"].index("RuntimeError")
    for part in (entry["message"], entry["trace"]):
        # The source of this test, which a traceback shows, has the name, not what it stands for.
        assert (SECRET in part) == details


def test_what_libraries_log_is_not_filled_in() -> None:
    for name, message in (("weasyprint", "no such font: %s"), ("threepass.api", f"no such font: {SECRET}")):
        told = logging.LogRecord(name, logging.WARNING, "", 1, "no such font: %s", (SECRET,), None)
        assert json.loads(JsonLines(False).format(told))["message"] == message
        assert SECRET in JsonLines(True).format(told)


def test_an_error_in_a_circle_is_told_once() -> None:
    first, second = ValueError(), TypeError()
    first.__context__, second.__context__ = second, first
    assert json.loads(JsonLines(False).format(record("a", first)))["trace"] == "TypeError\n\nValueError\n"


def test_any_message_is_one_line() -> None:
    line = JsonLines(True).format(record('a "b"\n{}\x00\u2028\ud800'))
    assert line.isascii() and len(line.splitlines()) == 1
    assert json.loads(line)["message"] == 'a "b"\n{}\x00\u2028\ud800'


def test_everything_goes_to_one_place() -> None:
    config = log_config(details=True)
    (handler,) = config["handlers"].values()
    assert handler["stream"] == "ext://sys.stderr"
    assert config["root"]["handlers"] == ["stderr"]
    assert all("handlers" not in logger for logger in config["loggers"].values())
    assert config["formatters"]["lines"]["details"] is True
