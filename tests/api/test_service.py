"""The service in process: the same bytes as over HTTP, every fault in words, and errors told apart."""

import json
import logging
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ortools.sat.python import cp_model_helper as cp_sat
from starlette.testclient import TestClient

from api.problems import Reply, items_of
from api.reading import NotJsonError, parse_json
from api.service import Service, clock, in_order, read_tiles, round_words, tile_words
from api.settings import Settings
from patterns.faults import MOST_FAULTS, Fault
from solver.model import MismatchError, run_solver
from tests.api.asking import BODY, JSON, RACK, record

ROOT = Path(__file__).parents[2]
SERVICE = Service(Settings(threads=1))


def answer(path: str, body: object = None, method: str | None = None) -> Reply:
    method = method or ("GET" if body is None else "POST")
    return SERVICE.answer(method, path, b"" if body is None else json.dumps(body).encode())


def kind_of(reply: Reply) -> str:
    assert reply.media_type == "application/problem+json"
    return str(json.loads(reply.body)["type"]).removeprefix("urn:threepass:problem:")


CLASH = {"go": "F", "stay": "F F"}
ASKED: list[tuple[str, dict[str, Any] | None]] = [
    ("/v1/advice", BODY),
    ("/v1/advice", {**BODY, "limits": {"stay": "F F"}}),
    ("/v1/plans", BODY),
    ("/v1/votes", {"rack": RACK, "card": "small", "samples": 4}),
    ("/v1/reviews", {"records": [record()]}),
    ("/v1/deals", {"seed": 3, "card": "small"}),
    ("/v1/sheets", {"seed": 3, "card": "small"}),
    ("/v1/cards/check", {"card": "small"}),
    ("/v1/cards", None),
    ("/v1/cards/small", None),
    ("/v1/limits", None),
    ("/livez", None),
    ("/openapi.json", None),
]


@pytest.mark.parametrize(("path", "body"), ASKED)
def test_it_is_what_http_answers(client: TestClient, path: str, body: dict[str, Any] | None) -> None:
    reply = answer(path, body)
    method = "GET" if body is None else "POST"
    served = client.request(method, path, content=None if body is None else json.dumps(body), headers=JSON)
    assert (reply.status, reply.body) == (200, served.content) == (served.status_code, reply.body)
    assert reply.ok and served.headers["content-type"] == reply.media_type


@pytest.mark.parametrize(
    ("method", "path", "body", "kind"),
    [
        ("POST", "/v1/advice", b"{", "not-json"),
        ("POST", "/v1/advice", b"{}", "invalid"),
        ("POST", "/v1/advice", json.dumps({**BODY, "limits": CLASH}).encode(), "limits-clash"),
        ("GET", "/v1/cards/nope?full", b"", "not-found"),
        ("GET", "/v1/cards/%2e%2e%2fsmall", b"", "not-found"),
        ("GET", "/v1/nothing", b"", "not-found"),
        ("DELETE", "/v1/advice", b"", "wrong-method"),
    ],
)
def test_what_a_client_does_wrong_is_a_problem(
    client: TestClient, method: str, path: str, body: bytes, kind: str
) -> None:
    reply = SERVICE.answer(method, path, body)
    assert (kind_of(reply), reply.ok) == (kind, False)
    served = client.request(method, path, content=body, headers=JSON)
    told = {**served.json(), "request_id": None}
    assert told == {**json.loads(reply.body), "request_id": None}
    assert served.status_code == reply.status


def test_it_is_light_to_import_and_starts_no_loop_and_no_thread() -> None:
    code = (
        "import sys, threading, api.service as s;"
        "print(sorted({'ortools', 'numpy', 'starlette', 'pydantic'} & set(sys.modules)));"
        "s.Service().answer('GET', '/v1/cards/small');"
        "print(threading.active_count(), 'asyncio' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded, state = done.stdout.splitlines()
    assert loaded == "[]"
    assert state == "1 False"


def test_what_clients_need_besides() -> None:
    assert read_tiles("455c N  soap") == (["4c", "5c", "5c", "N", "white"], [])
    tokens, faults = read_tiles("4c 3x")
    assert (tokens, len(faults)) == ([], 1) and faults[0].startswith("column 4:")
    assert in_order(["J", "4c", "2b"]) == ["2b", "4c", "J"]
    assert (tile_words("4c"), round_words("first_right")) == ("4 crak", "First right")
    assert [clock(seconds) for seconds in (119, 59.97, 0, 3600)] == ["1:59.0", "1:00.0", "0:00.0", "60:00.0"]
    for call in (tile_words, round_words, lambda word: in_order([word])):
        with pytest.raises(ValueError, match="zebra"):
            call("zebra")


def test_a_hundred_faults_are_listed_and_the_rest_counted() -> None:
    faults = [Fault("a", (index,), "b") for index in range(MOST_FAULTS + 5)]
    items = items_of(faults)
    assert [item.pointer for item in items[:-1]] == [f"#/{index}" for index in range(MOST_FAULTS)]
    assert items[-1].detail == "and 5 more faults"
    assert len(items_of(faults[:MOST_FAULTS])) == MOST_FAULTS
    (item,) = items_of([Fault("a", (), "a lone \ud800 in it")])
    assert item.detail == "a lone ? in it"


@pytest.mark.parametrize(
    ("body", "detail"),
    [
        (b"", "line 1, column 1 (byte 0): expecting value"),
        ('{"ä": 1,\n x'.encode(), "line 2, column 2 (byte 11)"),
        (b'{"rack": "\xff"}', "not UTF-8 at byte 10"),
        ('{"a": 1}'.encode("utf-16"), "not UTF-8 at byte 0"),
        (b'{"weight": NaN}', "NaN is not a number of JSON"),
        (b'{"a":' * 100_000, "nested too deeply"),
        (b"9" * 5000, "a number has too many digits"),
    ],
)
def test_what_is_not_json_is_said_with_its_place(body: bytes, detail: str) -> None:
    with pytest.raises(NotJsonError) as caught:
        parse_json(body)
    found = json.loads(SERVICE.answer("POST", "/v1/advice", body).body)
    assert (found["errors"], found["detail"]) == ([], str(caught.value))
    assert detail in found["detail"]


def test_a_byte_order_mark_is_overlooked() -> None:
    assert parse_json(b'\xef\xbb\xbf{"a": 1.5}') == {"a": 1.5}


@pytest.mark.parametrize("error", [MismatchError("secret"), MemoryError("secret")])
def test_what_nobody_foresaw_is_logged_and_not_told(
    error: Exception, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr("api.answers.advice.advise", fail)
    with caplog.at_level(logging.ERROR):
        reply = answer("/v1/advice", BODY)
    assert kind_of(reply) == "internal"
    assert b"secret" not in reply.body and b"Error" not in reply.body
    (logged,) = caplog.records
    assert logged.getMessage() == f"request {json.loads(reply.body)['request_id']} failed"
    assert logged.exc_info is not None and logged.exc_info[1] is error


def refusing(solver: cp_sat.SolveWrapper, model: cp_sat.CpModelProto) -> cp_sat.CpSolverResponse:
    model.variables.add().domain.extend((5, 1))
    return run_solver(solver, model)


@pytest.mark.parametrize(("path", "body"), [ASKED[1], ASKED[4]])
def test_a_solver_that_fails(monkeypatch: pytest.MonkeyPatch, path: str, body: dict[str, Any]) -> None:
    with monkeypatch.context() as patched:
        patched.setattr("solver.model.run_solver", refusing)
        assert kind_of(answer(path, body)) == "internal"
    assert answer(path, body).ok
