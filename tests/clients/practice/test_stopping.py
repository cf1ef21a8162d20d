"""A lap that ends early, or whose log or review cannot be had, is not lost."""

import errno
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from clients.cli.exits import NOT_WRITTEN, UnreachableError
from clients.cli.practice import log_writing, session
from clients.cli.transport import Service
from tests.clients.practice.typist import Step, logged

Play = Callable[..., Result]
Steps = Callable[..., list[Step]]


@pytest.mark.parametrize("typed", ["q\n", "p\n"])
def test_q_stops_the_lap_and_the_next_can_begin(play: Play, steps_of: Steps, log: Path, typed: str) -> None:
    played = steps_of([10.0, 20.0, 5.0])
    stop: list[Step] = [(7.0, "q\n")] if typed == "q\n" else [(7.0, "p\n"), (99.0, "q\n")]
    after = [*stop, *steps_of([1.0, 1.0, 1.0], 1)]
    result = play([*played[:3], *after], "--laps", "2")
    assert result.exit_code == 0
    assert "stopped after 2 passes" in result.stderr
    first, second = logged(log)
    assert (first["finished"], first["result"]) == (False, None)
    assert [exchange["seconds"] for exchange in first["record"]["exchanges"]] == [10.0, 20.0]
    assert (second["finished"], second["deal"]) == (True, 1)
    assert "Average over 1 lap\n" in result.stdout, "the lap that was stopped counts in no average"


def test_q_before_the_clock_starts_ends_without_a_lap(play: Play, log: Path) -> None:
    result = play([(5.0, "q\n")], "--laps", "3")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "first right" not in result.stdout, "the rack is not shown before the clock runs"
    assert not log.exists()


@pytest.mark.parametrize(("key", "code"), [(KeyboardInterrupt, 130), ("", 0)])
def test_the_lap_under_way_is_logged_when_the_session_ends(
    play: Play, steps_of: Steps, log: Path, key: Any, code: int, api: TestClient
) -> None:
    result = play([*steps_of([10.0, 20.0, 5.0])[:2], (4.0, key)], "--laps", "2")
    assert result.exit_code == code
    assert "stopped after 1 pass:" in result.stderr
    (entry,) = logged(log)
    assert (entry["finished"], entry["result"]) == (False, None)
    (exchange,) = entry["record"]["exchanges"]
    assert exchange["seconds"] == 10.0
    # A part of a lap can be reviewed by itself.
    assert api.post("/v1/reviews", json={"records": [entry["record"]]}).status_code == 200


def test_ctrl_c_in_a_pause_and_before_any_pass(play: Play, log: Path) -> None:
    result = play([(0.0, "\n"), (1.0, "p\n"), (1.0, KeyboardInterrupt)])
    assert result.exit_code == 130
    assert logged(log)[0]["record"]["exchanges"] == []
    log.unlink()
    assert play([(0.0, KeyboardInterrupt)]).exit_code == 130
    assert not log.exists()


def reviewing(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Let every review fail, and nothing else."""
    post = Service.post

    def fail(self: Service, path: str, body: bytes) -> Any:
        if path == "/v1/reviews":
            raise error
        return post(self, path, body)

    monkeypatch.setattr(Service, "post", fail)


@pytest.mark.parametrize(
    ("error", "code"), [(UnreachableError(["no answer from there"]), 3), (KeyboardInterrupt(), 130)]
)
def test_a_lap_without_its_review_is_logged(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int
) -> None:
    reviewing(monkeypatch, error)
    result = play(steps_of([10.0, 20.0, 5.0]))
    assert result.exit_code == code
    (entry,) = logged(log)
    assert (entry["finished"], entry["result"], len(entry["record"]["exchanges"])) == (True, None, 3)


def test_another_servers_review_is_no_review(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session, "fetch_review", lambda *_: {"reviews": [{}]})
    result = play(steps_of([1.0]), "--rounds", "1")
    assert result.exit_code == 3
    assert "not one of threepass" in result.stderr
    assert logged(log)[0]["result"] is None


def test_a_review_of_another_shape_is_not_shown(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    figures = {"given_up": 0.0, "tiles_away": 4, "seconds": 1.0, "pace": "advanced"}
    answer = {"reviews": [figures], "session": {"within_resolution": 1.0}}
    monkeypatch.setattr(session, "fetch_review", lambda *_: answer)
    result = play(steps_of([1.0]), "--rounds", "1")
    assert (result.exit_code, result.stderr) == (3, "the answer is not one of threepass: is the URL right?\n")
    assert logged(log)[0]["result"] == {**figures, "share_within_resolution": 1.0}


def test_a_terminal_that_is_gone_ends_the_session(play: Play, log: Path) -> None:
    assert play([(0.0, "\n"), (1.0, OSError)]).exit_code == 0
    assert logged(log)[0]["finished"] is False


def full_disk(*_: object) -> int:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def lines_to_keep(stderr: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in stderr.splitlines() if line.startswith('{"threepass_log"')]


def test_a_full_disk_loses_nothing(
    play: Play, steps_of: Steps, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_writing.os, "fsync", full_disk)
    result = play([*steps_of([10.0], 0), *steps_of([20.0], 1)], "--rounds", "1", "--laps", "2")
    assert result.exit_code == NOT_WRITTEN == 5
    assert result.stderr.count("No space left on device") == 2
    entries = lines_to_keep(result.stderr)
    assert [entry["deal"] for entry in entries] == [0, 1]
    assert [entry["result"]["seconds"] for entry in entries] == [10.0, 20.0]
    assert "Average over 2 laps" in result.stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_a_device_that_is_full(play: Play, steps_of: Steps) -> None:
    result = play(steps_of([10.0]), "--rounds", "1", where=Path("/dev/full"))
    assert result.exit_code == NOT_WRITTEN
    assert len(lines_to_keep(result.stderr)) == 1


def test_a_log_that_cannot_be_opened(play: Play, tmp_path: Path) -> None:
    result = play([(0.0, "\n"), (1.0, KeyboardInterrupt)], where=tmp_path)
    assert result.exit_code == NOT_WRITTEN, "what must be kept by hand outweighs the interruption"
    (entry,) = lines_to_keep(result.stderr)
    assert entry["finished"] is False


def test_no_server_there(play: Play, log: Path, free_port: Callable[[], int]) -> None:
    result = play([], "--server", f"http://127.0.0.1:{free_port()}")
    assert (result.exit_code, result.stdout) == (3, "")
    assert not log.exists()


@pytest.mark.parametrize(
    "deals",
    [
        {},
        {"deals": [{}], "tried": 1},
        {"deals": [{"index": 0, "rack": ["4b"] * 14, "heap": ["4c"] * 8}], "tried": 1},
        {"deals": [{"index": 0, "rack": ["4b"] * 13, "heap": ["4c"] * 9}], "tried": 1},
        {"deals": [{"index": 0, "rack": ["4b"] * 14, "heap": ["J"] * 9}], "tried": 1},
        {"deals": [{"index": 0, "rack": ["xx"] * 14, "heap": ["4c"] * 9}], "tried": 1},
        {"deals": [{"index": 0, "rack": [4] * 14, "heap": [[]] * 9}], "tried": 1},
    ],
)
def test_another_servers_deal_is_no_deal(play: Play, monkeypatch: pytest.MonkeyPatch, deals: Any) -> None:
    monkeypatch.setattr("clients.cli.practice.service_calls.answer_of", lambda _: deals)
    result = play([(0.0, "\n")])
    assert result.exit_code == 3
    assert result.stderr == "the answer is not one of threepass: is the URL right?\n"


def test_no_deal_of_that_kind(play: Play, monkeypatch: pytest.MonkeyPatch) -> None:
    none = {"deals": [], "complete": False, "tried": 400, "seed": 11}
    monkeypatch.setattr("clients.cli.practice.service_calls.answer_of", lambda _: none)
    result = play([(0.0, "\n")], "--difficulty", "clear")
    assert result.exit_code == 1
    assert result.stderr == "no clear deal among 400 tried: another seed or start may have one\n"
