"""The log, one line of JSON a record, and metrics: nothing that a client wrote but a good request id."""

import io
import json
import logging
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from api.http.observe import JsonLines, Repeats
from api.service import describe
from tests.api.asking import BODY, RACK, opened
from tests.api.conftest import Problem

Labels = tuple[tuple[str, str], ...]
SECRET = "zebra-9q"


class Log:
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
    with opened() as client:
        yield client


def test_a_request_that_was_solved(served: TestClient, log: Log) -> None:
    served.post("/v1/advice?a=b", json=BODY, headers={"x-request-id": "lap-1"})
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
        ("GET", "/v1/cards/small", "GET", "/v1/cards/{name}", 200),
        ("GET", f"/v1/cards/{SECRET}", "GET", "/v1/cards/{name}", 404),
        ("GET", f"/{SECRET}", "GET", None, 404),
        ("PUT", "/v1/advice", "PUT", None, 405),
        ("ZEBRA-9Q", "/livez", "OTHER", None, 405),
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
    monkeypatch.setattr("api.answers.advice.advise", fail)
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


def test_what_is_said_again_and_again_is_said_once_a_minute() -> None:
    repeats, told = Repeats(), []
    # What every request may cause, errors of two sorts among it; and what each of them gets: a line.
    for second in range(180):
        for level, error in ((logging.ERROR, None), (logging.ERROR, caught()), (logging.INFO, None)):
            made = record("no font for that", error)
            made.created, made.levelno = 1000.0 + second, level
            if repeats.filter(made):
                told.append((level, second, json.loads(JsonLines(False).format(made)).get("left_out")))
    often = [(logging.ERROR, second, left_out) for second, left_out in ((0, None), (60, 59), (120, 59))]
    assert [each for each in told if each[0] == logging.ERROR] == sorted([*often, *often], key=lambda e: e[1])
    assert len(told) == 180 + 6


@pytest.fixture
def counting(monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.delenv("PROMETHEUS_MULTIPROC_DIR", raising=False)
    with opened(metrics=True) as client:
        yield client


def read(client: TestClient) -> dict[tuple[str, Labels], float]:
    """Return every sample by name and labels, as a reader of the format takes them."""
    response = client.get("/metrics")
    assert response.status_code == 200
    assert response.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(response.text)
        for sample in family.samples
    }


def requests(method: str, route: str, status: int) -> tuple[str, Labels]:
    return ("threepass_requests_total", (("method", method), ("route", route), ("status", str(status))))


def test_what_is_counted(counting: TestClient) -> None:
    assert counting.post("/v1/advice", json=BODY).status_code == 200
    assert counting.post("/v1/advice", json={}).status_code == 422
    assert counting.get("/livez").status_code == 200
    found = read(counting)
    assert found[requests("POST", "/v1/advice", 200)] == 1
    assert found[requests("POST", "/v1/advice", 422)] == 1
    assert found[requests("GET", "/livez", 200)] == 1
    assert found["threepass_request_seconds_count", (("route", "/v1/advice"),)] == 2
    assert found["threepass_request_seconds_sum", (("route", "/v1/advice"),)] > 0
    assert found["threepass_queue_wait_seconds_count", ()] == 2, "asking whether it lives waits for no thread"
    assert found["threepass_requests_in_progress", ()] == 1, "this one"
    assert read(counting)[requests("GET", "/metrics", 200)] == 1


def test_labels_are_templates_and_never_what_a_client_wrote(counting: TestClient) -> None:
    for path in ("/v1/cards/small", "/v1/cards/zebra", "/zebra", "/v1/advice/zebra", "/livez?zebra"):
        counting.get(path)
    counting.request("ZEBRA", "/livez")
    templates = {*describe()["paths"], "/metrics", "/openapi.json"}
    for name, labels in read(counting):
        assert "zebra" not in f"{name}{labels}".lower()
        assert dict(labels).get("route", "none") in {*templates, "none"}
    assert read(counting)[requests("GET", "/v1/cards/{name}", 404)] == 1
    assert read(counting)[requests("OTHER", "none", 405)] == 1


def test_a_request_that_fails_is_counted_and_not_left_under_way(
    counting: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("api.answers.advice.advise", fail)
    assert counting.post("/v1/advice", json=BODY).status_code == 500
    found = read(counting)
    assert found[requests("POST", "/v1/advice", 500)] == 1
    assert found["threepass_requests_in_progress", ()] == 1


def test_switched_off_there_is_no_such_address(client: TestClient, problem: Problem) -> None:
    problem(client.get("/metrics"), "not-found")


def test_switched_on_but_not_installed(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "prometheus_client", None)
    with opened(metrics=True) as client:
        response = client.get("/metrics")
        assert client.get("/livez").status_code == 200
    assert "threepass[metrics]" in problem(response, "not-installed")["detail"]
