"""A real server, by the parts of the load script: what is answered, lost and finished; never how fast."""

import asyncio
import json
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.benchmarks import load
from tests.benchmarks.serving import Asked, Server, advice_bodies, ask, long_body, serving, until

pytestmark = pytest.mark.long
# No pool is larger than this: three requests at a time are too many for one worker.
SMALL = {"threads": 1, "queue": 1, "metrics": 1, "longest_solve": 120, "grace": 200}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("pair") / "log", 2, SMALL) as server:
        yield server


def test_beyond_capacity_all_are_answered_or_told_to_come_again(server: Server) -> None:
    found = load.overload(server, "full", 60, 2, 1)
    assert set(found["statuses"]) == {"200", "503"}
    assert found["livez_statuses"].keys() == {"200"}


def test_numbers_of_all_workers_are_added(server: Server) -> None:
    before = server.metric("threepass_queue_wait_seconds_count")
    (body,) = advice_bodies(1, "small")
    for _ in range(12):
        assert asyncio.run(ask(server.port, "/v1/advice", body)).status == 200
    assert server.metric("threepass_queue_wait_seconds_count") == before + 12


def test_a_client_that_leaves_frees_its_thread(server: Server) -> None:
    async def leave() -> None:
        asked = [await Asked.send(server.port, "/v1/reviews", long_body(20)) for _ in range(4)]
        await asyncio.sleep(0.5)
        for each in asked:
            each.leave()

    asyncio.run(leave())
    assert until(lambda: server.in_progress == 0)


def test_a_killed_worker_loses_its_own_request_and_is_replaced(server: Server) -> None:
    found = asyncio.run(load.kill_one(server, 4))
    assert found == {
        "workers": 2,
        "lost_on_the_killed": True,
        "others": [200],
        "workers_again": True,
        "later": {"200": 20},
    }
    assert server.in_progress == 0, "what the dead had under way is forgotten"
    # Every line of the log is JSON, and none has a rack.
    text = server.log.read_text(encoding="ascii")
    loggers = {json.loads(line)["logger"] for line in text.splitlines()}
    assert loggers == {"uvicorn.error", "threepass.access", "threepass.server"}
    assert not any(f'"{word}"' in text for word in ("rack", "white", "2b", "J"))


@pytest.mark.parametrize("workers", [1, 2])
def test_sigterm_finishes_what_runs_and_refuses_what_comes(tmp_path: Path, workers: int) -> None:
    with serving(tmp_path / "log", workers, {**SMALL, "queue": 32}) as server:
        assert asyncio.run(load.drain(server, 5)) == {
            "under_way_after_signal": True,
            "running": 200,
            "late": [None] * 5,
            "exit_code": 0,
        }


def test_grace_ends_what_runs_too_long(tmp_path: Path) -> None:
    settings = {"threads": 1, "longest_sending": 0.4, "longest_wait": 0.5, "grace": 1}

    async def end(server: Server) -> int | None:
        asked = await Asked.send(server.port, "/v1/reviews", long_body(20))
        await asyncio.sleep(0.5)
        server.process.send_signal(signal.SIGTERM)
        return (await asked.reply()).status

    with serving(tmp_path / "log", 1, settings) as server:
        assert asyncio.run(end(server)) == 503
        assert server.process.wait(60) == 0
        log = server.log.read_text()
    assert "Traceback" not in log and "CancelledError" not in log


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_a_full_disk_for_the_log_costs_no_answer() -> None:
    (body,) = advice_bodies(1, "small")
    with serving(Path("/dev/full"), 1, {"threads": 1}) as server:
        assert [asyncio.run(ask(server.port, "/v1/advice", body)).status for _ in range(3)] == [200] * 3
        os.kill(server.process.pid, signal.SIGTERM)
        server.process.wait(60)
