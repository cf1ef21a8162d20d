"""Many requests in one: each line answered at its place, in order, as it is known, and fair to others."""

import asyncio
import json
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from starlette.requests import Request
from starlette.testclient import TestClient

from api.http.work import Batch, Work
from api.problems import ProblemError
from api.service import Service
from api.settings import Settings
from patterns.stopping import Stopper
from tests.api.asking import BODY, Ask, opened
from tests.api.conftest import Problem
from tests.benchmarks.serving import HOST, Server, advice_bodies, ask, serving, until

PATH = "/v1/batches"
NDJSON = {"content-type": "application/x-ndjson"}
HEAD = (
    b"POST /v1/batches HTTP/1.1\r\nhost: localhost\r\n"
    b"content-type: application/x-ndjson\r\ntransfer-encoding: chunked\r\n\r\n"
)
LINES: list[tuple[bytes, int, Any]] = [
    (json.dumps({"id": "a", "body": BODY}).encode(), 200, "a"),
    (b'{"id": 7, "path": "/v1/cards/small"}', 200, 7),
    (b"zebra", 400, None),
    (b"", 400, None),
    (b'{"id": "b", "body": {"rack": "zebra"}}', 422, "b"),
    (b'{"id": "c", "id": "d"}', 422, None),
    (b'{"id": "e", "path": "/v1/nowhere"}', 404, "e"),
    (b'{"id": "f", "path": "/v1/advice"}', 405, "f"),
    (b'{"id": "g", "path": "/v1/batches", "body": {}}', 422, "g"),
    (b'{"id": "h", "path": "/v1/sheets/pages", "body": {}}', 422, "h"),
    (b'{"id": "i", "more": 1, "body": []}', 422, None),
    (json.dumps({"body": {**BODY, "round": "courtesy"}}).encode(), 200, None),
]


def test_every_line_is_answered_at_its_place_as_by_itself(client: TestClient, post: Ask) -> None:
    sent = b"\n".join(line for line, _, _ in LINES)
    response = client.post(PATH, content=sent, headers=NDJSON)
    assert (response.status_code, response.headers["content-type"]) == (200, "application/x-ndjson")
    answers = [json.loads(line) for line in response.text.splitlines()]
    assert [each["line"] for each in answers] == list(range(1, len(LINES) + 1))
    told = [(each["status"], each["id"]) for each in answers]
    assert told == [(status, name) for _, status, name in LINES]
    assert answers[0]["body"] == post("/v1/advice", **BODY).json()
    assert answers[4]["body"]["errors"] == post("/v1/advice", rack="zebra").json()["errors"]
    assert {each["body"]["request_id"] for each in answers if each["status"] >= 400} == {
        response.headers["x-request-id"]
    }


def test_in_process_the_answers_are_the_same_bytes(client: TestClient) -> None:
    sent = b"\n".join(line for line, status, _ in LINES if status == 200) + b"\n"
    with Service(Settings()) as service:
        for each in (sent, b""):
            over_http = client.post(PATH, content=each, headers=NDJSON).content
            assert service.answer("POST", PATH, each).body == over_http


def test_a_line_that_is_too_long_is_refused_at_its_place() -> None:
    with opened(body_limit=200) as client:
        lines = [b'{"path": "/livez"}', b"x" * 100_000, b'{"path": "/livez"}']
        response = client.post(PATH, content=iter([b"\n".join(lines[:2]), b"x\n" + lines[2]]), headers=NDJSON)
    assert [json.loads(line)["status"] for line in response.text.splitlines()] == [200, 413, 200]


def test_a_body_of_another_type_is_refused(client: TestClient, problem: Problem) -> None:
    problem(client.post(PATH, json=BODY), "wrong-media-type")


class Driven:
    """A batch without a server: its body by parts, how many lines were begun, and what was sent."""

    def __init__(self, *parts: bytes, takes: bool = True, **settings: Any) -> None:
        self._parts, self._takes = list(parts), takes
        self.settings = Settings(threads=2, **settings)
        self.work = Work(2, 8, 1.0)
        self.begun = 0
        self.sent = b""
        self.scope: dict[str, Any] = {"type": "http", "method": "POST", "headers": []}

    async def _receive(self) -> dict[str, Any]:
        if not self._parts:
            await asyncio.sleep(3600)
        part = self._parts.pop(0)
        return {"type": "http.request", "body": part, "more_body": part != b""}

    async def _send(self, message: Any) -> None:
        if not self._takes:
            await asyncio.sleep(3600)
        self.sent += message.get("body", b"")

    def _answer(self, number: int, line: bytes, _request_id: str, stopper: Stopper) -> bytes:
        self.begun += 1
        stopper.check()
        return b"%d %s\n" % (number, line)

    def run(self) -> bytes:
        request = Request(self.scope, self._receive)
        batch = Batch(request, "id", self.work, self.settings, self._answer)
        try:
            asyncio.run(asyncio.wait_for(batch.run(self._send), 60))
        finally:
            self.work.close()
        return self.sent


def test_lines_may_come_in_any_parts() -> None:
    assert Driven(b"a\nb", b"c", b"\n\nd", b"").run() == b"1 a\n2 bc\n3 \n4 d\n"
    assert Driven(b"a\n", b"").run() == b"1 a\n"


@pytest.mark.parametrize("line", [b"line\n", b"\n"])
def test_nothing_is_begun_for_who_takes_no_answers_and_little_is_read(line: bytes) -> None:
    driven = Driven(*[line * 500] * 50, takes=False, longest_sending=0.5, body_limit=1000)
    assert driven.run() == b""
    assert driven.begun < 20
    assert len(driven._parts) > 40, "the rest was never read"


@pytest.mark.parametrize(
    ("parts", "settings", "word"),
    [
        ((b"a\n",), {"longest_sending": 0.3}, "too-slow"),
        ((b"a\n", b"b" * 2000), {"body_limit": 100}, "too-large"),
        ((b"a\nb\n", b""), {}, "too-large"),
    ],
)
def test_what_breaks_a_batch_off_is_its_last_line(
    monkeypatch: pytest.MonkeyPatch, parts: tuple[bytes, ...], settings: dict[str, Any], word: str
) -> None:
    monkeypatch.setattr("api.http.work.MAX_LINES", 1)
    monkeypatch.setattr("api.http.work.DRAINED", 1000)
    first, last = Driven(*parts, **settings).run().splitlines()
    told = json.loads(last)
    assert first == b"1 a"
    assert (told["line"], told["id"], told["body"]["type"]) == (2, None, f"urn:threepass:problem:{word}")


def test_before_the_first_line_it_is_a_problem_of_its_own() -> None:
    with pytest.raises(ProblemError):
        Driven(longest_sending=0.1).run()


def test_no_more_batches_at_once_than_threads() -> None:
    work = Work(1, 0, 1.0)
    with work.batch(), pytest.raises(ProblemError), work.batch():
        pass
    with work.batch():
        pass


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("server") / "log", 1, {"threads": 1, "queue": 0}) as server:
        yield server


def chunk(*lines: bytes) -> bytes:
    text = b"".join(b'{"body": %s}\n' % line for line in lines)
    return b"%x\r\n%s\r\n" % (len(text), text)


def answers_in(received: bytes) -> list[dict[str, Any]]:
    parts = received.partition(b"\r\n\r\n")[2].split(b"\n")
    return [json.loads(part[: part.rindex(b"}") + 1]) for part in parts if part.startswith(b"{")]


def read_until(own: socket.socket, enough: Callable[[bytes], bool]) -> bytes:
    received = b""
    while not enough(received):
        part = own.recv(65536)
        assert part, received
        received += part
    return received


def test_an_answer_comes_before_the_next_line_is_sent(server: Server) -> None:
    first, second = advice_bodies(2, "small")
    with socket.create_connection((HOST, server.port), timeout=60) as own:
        own.sendall(HEAD + chunk(first))
        received = read_until(own, lambda got: bool(answers_in(got)))
        own.sendall(chunk(second) + b"0\r\n\r\n")
        received += read_until(own, lambda got: got.endswith(b"0\r\n\r\n"))
    assert [(each["line"], each["status"]) for each in answers_in(received)] == [(1, 200), (2, 200)]


def test_a_single_request_is_answered_while_a_batch_goes_on(server: Server) -> None:
    bodies = advice_bodies(60, "full")
    with socket.create_connection((HOST, server.port), timeout=60) as own:
        own.sendall(HEAD + chunk(*bodies) + b"0\r\n\r\n")
        received = read_until(own, lambda got: bool(answers_in(got)))
        assert [asyncio.run(ask(server.port, "/v1/advice", body)).status for body in bodies[:3]] == [200] * 3
        own.setblocking(False)
        with suppress(BlockingIOError):
            received += own.recv(1 << 24)
        assert not received.endswith(b"0\r\n\r\n")
        own.setblocking(True)
        received += read_until(own, lambda got: got.endswith(b"0\r\n\r\n"))
    assert received.count(b'"status": 200') == 60


def test_a_batch_ends_when_its_client_leaves(server: Server) -> None:
    with socket.create_connection((HOST, server.port), timeout=60) as own:
        own.sendall(HEAD + chunk(*advice_bodies(2000, "full")))
        read_until(own, lambda got: bool(answers_in(got)))
    # The only place for a batch is free again: another one is let in.
    assert until(lambda: asyncio.run(ask(server.port, PATH, b"")).status != 503, 10)


def test_a_closing_server_ends_a_batch_and_says_so(tmp_path: Path) -> None:
    with serving(tmp_path / "log", 1, {"threads": 1}) as server:
        with socket.create_connection((HOST, server.port), timeout=60) as own:
            own.sendall(HEAD + chunk(*advice_bodies(2000, "full")))
            received = read_until(own, lambda got: bool(answers_in(got)))
            server.process.send_signal(signal.SIGTERM)
            received += read_until(own, lambda got: got.endswith(b"0\r\n\r\n"))
        assert server.process.wait(60) == 0
    told = [json.loads(line) for line in received.split(b"\n") if line.startswith(b'{"line"')]
    assert {each["status"] for each in told[:-1]} == {200}
    assert (told[-1]["line"], told[-1]["status"]) == (len(told), 503)
    assert {json.loads(line)["level"] for line in server.log.read_text("ascii").splitlines()} == {"info"}
