"""Clients that send a byte at a time, or stop halfway: they are cut off, while others are answered."""

import asyncio
import json
import signal
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path

import httpx2
import pytest

from tests.benchmarks.serving import HOST, Server, advice_bodies, ask, long_body, serving, until

pytestmark = pytest.mark.long
# One request at a time and none waiting: whoever held a place would leave none.
SMALL = {"threads": 1, "queue": 0, "metrics": 1}
POST = b"POST %s HTTP/1.1\r\nhost: [::1]\r\ncontent-type: application/json\r\ncontent-length: 1000\r\n\r\n"
GUARD = 60.0


@contextmanager
def untroubled(log: Path, longest_sending: int) -> Iterator[Server]:
    """Serve; whatever the clients do, it must be no error of the server's."""
    with serving(log, 1, {**SMALL, "longest_sending": longest_sending}) as server:
        yield server
        assert {json.loads(line)["level"] for line in log.read_text(encoding="ascii").splitlines()} == {
            "info"
        }


@pytest.fixture(scope="module")
def hasty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with untroubled(tmp_path_factory.mktemp("hasty") / "log", 1) as server:
        yield server


@pytest.fixture(scope="module")
def patient(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with untroubled(tmp_path_factory.mktemp("patient") / "log", 60) as server:
        yield server


@asynccontextmanager
async def trickling(port: int, head: bytes, drop: bytes) -> AsyncIterator[asyncio.StreamReader]:
    """Send a head, and then a drop again and again for as long as the server takes it."""
    reader, writer = await asyncio.open_connection(HOST, port)

    async def trickle() -> None:
        while True:
            writer.write(drop)
            await writer.drain()
            await asyncio.sleep(0.05)

    writer.write(head)
    sending = asyncio.create_task(trickle())
    try:
        yield reader
    finally:
        sending.cancel()
        await asyncio.gather(sending, return_exceptions=True)
        writer.close()


async def until_closed(reader: asyncio.StreamReader) -> bytes:
    """Return what the server sends before it closes the connection."""
    received = b""
    try:
        async with asyncio.timeout(GUARD):
            while part := await reader.read(65536):
                received += part
    except ConnectionError:  # it closed while more was on its way
        pass
    return received


def sent_slowly(server: Server, head: bytes, drop: bytes = b" ") -> bytes:
    async def send() -> bytes:
        async with trickling(server.port, head, drop) as reader:
            return await until_closed(reader)

    return asyncio.run(send())


def advised(server: Server) -> int | None:
    (body,) = advice_bodies(1, "small")
    return asyncio.run(ask(server.port, "/v1/advice", body)).status


@pytest.mark.parametrize("drop", [b" ", b""])
def test_a_body_that_is_not_whole_in_time(hasty: Server, drop: bytes) -> None:
    head, _, body = sent_slowly(hasty, POST % b"/v1/advice", drop).partition(b"\r\n\r\n")
    status, *lines = head.lower().split(b"\r\n")
    assert status.split()[1] == b"408"
    assert {b"connection: close", b"content-type: application/problem+json"} < set(lines)
    problem = json.loads(body)
    assert problem["type"] == "urn:threepass:problem:too-slow"
    assert problem["detail"] == "it must be whole after 1 seconds"
    assert advised(hasty) == 200


@pytest.mark.parametrize(
    ("head", "drop"),
    [
        (b"", b""),
        (b"GET /livez HTTP/1.1\r\nhost: [::1]\r\nx-long: ", b"a"),
        (b"GET /livez HTTP/1.1\r\nhost: [::1]\r\n", b"x-many: a\r\n"),
    ],
)
def test_a_head_that_is_not_whole_in_time(hasty: Server, head: bytes, drop: bytes) -> None:
    assert sent_slowly(hasty, head, drop) == b""
    assert advised(hasty) == 200


def test_a_second_head_that_is_not_whole_in_time(hasty: Server) -> None:
    first = b"GET /livez HTTP/1.1\r\nhost: [::1]\r\n\r\n"
    received = sent_slowly(hasty, first + first[:20], b"a")
    assert received.startswith(b"HTTP/1.1 200 ") and received.count(b"HTTP/1.1") == 1


@pytest.mark.parametrize(
    ("head", "status"),
    [(POST % b"/nowhere", b"404"), (POST.replace(b"json", b"toml") % b"/v1/advice", b"415")],
)
def test_a_body_that_goes_on_after_its_answer(hasty: Server, head: bytes, status: bytes) -> None:
    assert sent_slowly(hasty, head).split()[1] == status


def test_an_answer_may_take_longer(hasty: Server) -> None:
    assert asyncio.run(ask(hasty.port, "/v1/reviews", long_body(4))).status == 200


def test_time_begins_anew_with_each_request(hasty: Server) -> None:
    """On a machine that stands still a connection may be too late: then another is tried."""

    async def older_than(seconds: float) -> None:
        made: dict[object, float] = {}
        async with httpx2.AsyncClient(trust_env=False) as client:
            while True:
                response = await client.get(f"http://{HOST}:{hasty.port}/livez")
                own = response.extensions["network_stream"].get_extra_info("client_addr")
                if time.monotonic() > made.setdefault(own, time.monotonic()) + seconds:
                    return
                await asyncio.sleep(0.3)

    asyncio.run(asyncio.wait_for(older_than(1.5), GUARD / 2))


def test_slow_bodies_hold_no_place_and_may_leave(patient: Server) -> None:
    async def hold(count: int) -> None:
        async with trickling(patient.port, POST % b"/v1/advice", b" "):
            if count:
                await hold(count - 1)
                return
            assert await asyncio.to_thread(until, lambda: patient.in_progress == 6)
            assert await asyncio.to_thread(advised, patient) == 200
            assert patient.in_progress == 6

    asyncio.run(hold(5))
    assert until(lambda: patient.in_progress == 0)
    assert advised(patient) == 200


def test_slow_senders_do_not_hold_up_the_end(tmp_path: Path) -> None:
    async def end(server: Server) -> bytes:
        async with (
            trickling(server.port, b"GET /livez HTTP/1.1\r\nx-long: ", b"a"),
            trickling(server.port, POST % b"/v1/advice", b" ") as reader,
        ):
            assert await asyncio.to_thread(until, lambda: server.in_progress == 1)
            server.process.send_signal(signal.SIGTERM)
            return await until_closed(reader)

    with untroubled(tmp_path / "log", 5) as server:
        assert asyncio.run(end(server)).split()[1] == b"408"
        assert server.process.wait(GUARD) == 0
