"""Connections that idle, end halfway, speak no HTTP, or come all at once, to a real server."""

import asyncio
import json
import socket
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import httpx2
import psutil
import pytest

from tests.benchmarks.serving import HOST, Server, advice_bodies, long_body, serving, until

pytestmark = pytest.mark.long
MOST = 20
SETTINGS = {"threads": 1, "connections": MOST, "metrics": 1}
POST = b"POST %s HTTP/1.1\r\nhost: [::1]\r\ncontent-type: application/json\r\ncontent-length: %d\r\n\r\n%s"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("server") / "log", 1, SETTINGS) as server:
        yield server


def connect(server: Server) -> socket.socket:
    return socket.create_connection((HOST, server.port), timeout=60)


def alive(server: Server) -> int:
    return httpx2.get(f"http://{HOST}:{server.port}/livez", trust_env=False).status_code


def received(server: Server, sent: bytes, and_no_more: bool) -> bytes:
    """Return all that the server sends until it closes."""
    with connect(server) as own:
        own.sendall(sent)
        if and_no_more:
            own.shutdown(socket.SHUT_WR)
        return b"".join(iter(lambda: own.recv(65536), b""))


def test_idle_connections_silence_nobody_and_fill_no_log(server: Server) -> None:
    before = server.log.stat().st_size
    with ExitStack() as held:
        for _ in range(10 * MOST):
            held.enter_context(connect(server))
        assert [alive(server) for _ in range(5)] == [200] * 5
        (process,) = server.workers().values()
        # Those that are being asked beside the idle ones are closed in a moment.
        assert until(lambda: len(process.net_connections(kind="tcp")) <= MOST + 2)
    assert server.log.stat().st_size < before + 10_000


def test_who_is_being_answered_is_not_put_out_for_who_comes(server: Server) -> None:
    body = long_body(4)
    with connect(server) as own, ExitStack() as held:
        own.sendall(POST % (b"/v1/reviews", len(body), body))
        # Until its head is read it waits like any other.
        assert until(lambda: server.in_progress > 0)
        for _ in range(2 * MOST):
            held.enter_context(connect(server))
        assert own.recv(12) == b"HTTP/1.1 200"


@pytest.mark.parametrize("asked", [1, 2])
def test_who_sends_no_more_still_gets_answers(server: Server, asked: int) -> None:
    (body,) = advice_bodies(1, "small")
    answers = received(server, POST % (b"/v1/advice", len(body), body) * asked, and_no_more=True)
    assert answers.count(b"HTTP/1.1 200 ") == asked
    assert json.loads(answers.rpartition(b"\r\n\r\n")[2])["proof"]["status"] == "optimal"


@pytest.mark.parametrize("halfway", [False, True])
def test_who_leaves_has_no_work_done(server: Server, halfway: bool) -> None:
    body = long_body(20)
    with connect(server) as own:
        own.sendall(POST % (b"/v1/reviews", len(body), body))
        assert until(lambda: server.in_progress > 0)
        if halfway:
            own.shutdown(socket.SHUT_WR)
    assert until(lambda: server.in_progress == 0, 5)


@pytest.mark.parametrize(
    ("sent", "status", "word"),
    [
        (b"\x16\x03\x01\x02\x00\x01\x00\r\n\r\n", 400, "not-http"),
        (b"GET /livez HTTP/1.1\r\n\r\n", 400, "not-http"),
        (b"GET /livez HTTP/1.1\r\nx: " + b"a" * 20_000, 431, "long-head"),
        (
            (POST % (b"/v1/advice", 9, b"zz\r\n")).replace(
                b"content-length: 9", b"transfer-encoding: chunked"
            ),
            400,
            "not-http",
        ),
    ],
)
def test_what_is_no_http_is_a_problem_too(server: Server, sent: bytes, status: int, word: str) -> None:
    head, _, body = received(server, sent, and_no_more=False).partition(b"\r\n\r\n")
    first, *lines = head.decode().split("\r\n")
    headers = dict(line.split(": ", 1) for line in lines)
    problem = json.loads(body)
    assert first.split()[1] == str(status) == str(problem["status"])
    assert problem["type"] == f"urn:threepass:problem:{word}" and problem["detail"]
    assert headers["content-type"] == "application/problem+json"
    assert headers["x-request-id"] == problem["request_id"]
    assert alive(server) == 200


def test_what_comes_at_once_is_shared_out(tmp_path: Path) -> None:
    async def shares(server: Server) -> list[int]:
        opened = await asyncio.gather(*(asyncio.open_connection(HOST, server.port) for _ in range(8)))
        ports = [writer.get_extra_info("sockname")[1] for _, writer in opened]
        holders = [await asyncio.to_thread(server.holder, port, lambda: False) for port in ports]
        for _, writer in opened:
            writer.close()
        return list(Counter(holders).values())

    with serving(tmp_path / "log", 2, {"threads": 1}) as server:
        assert asyncio.run(shares(server)) == [4, 4]
        workers = list(server.workers().values())
        server.process.kill()
        assert psutil.wait_procs(workers, timeout=30)[1] == [], "they do not outlive who hands over"


def test_the_log_has_one_line_for_many_alike(server: Server) -> None:
    for _ in range(3):
        received(server, b"GET /livez HTTP/1.1\r\n\r\n", and_no_more=False)
    lines = [json.loads(line) for line in server.log.read_text("ascii").splitlines()]
    (told,) = [line for line in lines if line["level"] != "info"]
    assert told["message"] == "Invalid HTTP request received."
