"""Interruptions: what is finished is kept, and the same command goes on from there."""

import json
import os
import signal
import subprocess
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from clients.cli.sheets import folder as folder_module
from clients.cli.transport import Reply, Service

Make = Callable[..., tuple[Result, dict[str, bytes]]]
ASKED = ("--seed", "5", "--count", "6", "--difficulty", "close", "--formats", "json,csv")


@pytest.fixture
def whole(make: Make) -> dict[str, bytes]:
    """The files of a run that nothing disturbed."""
    result, files = make(*ASKED, out="whole")
    assert result.exit_code == 0, result.stderr
    return files


@pytest.fixture
def tasks_asked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The deals asked for from now on."""
    asked: list[int] = []
    post = Service.post

    def noted(service: Service, path: str, body: bytes) -> Reply:
        if path == "/v1/sheets":
            asked.append(json.loads(body)["start"])
        return post(service, path, body)

    monkeypatch.setattr(Service, "post", noted)
    return asked


@pytest.mark.parametrize("most", [0, 1, 4])
def test_an_interruption_keeps_what_is_finished(
    make: Make, whole: dict[str, bytes], most: int, monkeypatch: pytest.MonkeyPatch, stop_after: Any
) -> None:
    with monkeypatch.context():
        stop_after(most)
        result, files = make(*ASKED)
        monkeypatch.undo()
    assert (result.exit_code, result.stdout) == (130, "")
    answers = f"{most} answer{'' if most == 1 else 's'}"
    assert result.stderr.splitlines()[-1] == (
        f"interrupted: {answers} kept in answers.jsonl; the same command goes on from there"
    )
    assert sorted(files) == ["answers.jsonl"] * (most > 0)
    again, files = make(*ASKED)
    assert again.exit_code == 0, again.stderr
    assert again.stderr.startswith(f"going on: {answers} kept from before\n" if most else "")
    assert files == whole


def test_nothing_is_answered_twice(make: Make, whole: dict[str, bytes], tasks_asked: list[int]) -> None:
    result, files = make(*ASKED, out="whole")
    assert result.exit_code == 0
    assert tasks_asked == []
    assert files == whole


def test_a_torn_line_is_answered_anew(
    make: Make, whole: dict[str, bytes], tasks_asked: list[int], tmp_path: Path
) -> None:
    content = whole["answers.jsonl"]
    (tmp_path / "torn").mkdir()
    (tmp_path / "torn" / "answers.jsonl").write_bytes(content[:-200])
    result, files = make(*ASKED, out="torn")
    assert result.exit_code == 0, result.stderr
    assert files == whole
    assert tasks_asked == [content.count(b"\n") - 2]


@pytest.mark.parametrize(
    "change", [("--seed", "6"), ("--count", "7"), ("--no-pairs",), ("--round", "courtesy")]
)
def test_a_folder_of_another_request_is_refused(
    make: Make, whole: dict[str, bytes], change: tuple[str, ...]
) -> None:
    result, files = make(*ASKED, *change, out="whole")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "this folder has the answers of another request: choose another with --out" in result.stderr
    assert files == whole


def test_paper_formats_and_workers_are_no_other_request(make: Make, whole: dict[str, bytes]) -> None:
    result, files = make(*ASKED[:-1], "html", "--paper", "letter", out="whole")
    assert result.exit_code == 0, result.stderr
    assert files["answers.jsonl"] == whole["answers.jsonl"]
    assert b"size: letter;" in files["key.html"]


def test_a_full_disk_says_what_to_do_and_keeps_what_is_finished(
    make: Make, whole: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    append = folder_module.append
    written: list[int] = []

    def full_after_three(path: Path, line: bytes) -> None:
        written.append(len(line))
        if len(written) > 3:
            raise OSError(28, "No space left on device")
        append(path, line)

    monkeypatch.setattr(folder_module, "append", full_after_three)
    result, files = make(*ASKED)
    assert (result.exit_code, result.stdout) == (5, "")
    assert "No space left on device\nmake room or choose another folder" in result.stderr
    assert files["answers.jsonl"].count(b"\n") == 3
    monkeypatch.undo()
    again, files = make(*ASKED)
    assert again.exit_code == 0
    assert files == whole


def test_answers_of_an_older_version_are_not_mixed_in(
    make: Make, tmp_path: Path, whole: dict[str, bytes]
) -> None:
    old = whole["answers.jsonl"].replace(b'"threepass":"', b'"threepass":"old ', 1)
    (tmp_path / "whole" / "answers.jsonl").write_bytes(old)
    result, _ = make(*ASKED, out="whole")
    assert (result.exit_code, result.stdout) == (3, "")
    assert "two versions" in result.stderr


@pytest.mark.parametrize("jobs", ["1", pytest.param("2", marks=pytest.mark.long)])
def test_ctrl_c_in_a_process_of_its_own(command: str, tmp_path: Path, jobs: str) -> None:
    out = tmp_path / "out"
    asked = ["sheet", "--card", "full", "--seed", "1", "--count", "500", "--formats", "json"]
    process = subprocess.Popen(
        [command, *asked, "--out", str(out), "--jobs", jobs],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    answers = out / "answers.jsonl"
    for _ in range(1200):
        if process.poll() is not None or (answers.exists() and answers.read_bytes().count(b"\n") > 3):
            break
        time.sleep(0.05)
    # A terminal sends it to the workers too.
    os.killpg(process.pid, signal.SIGINT)
    try:
        stdout, stderr = process.communicate(timeout=60)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
    assert process.returncode == 130, stderr
    assert stdout == b""
    last = stderr.decode().splitlines()[-1]
    kept = answers.read_bytes().splitlines()[1:]
    assert last == (
        f"interrupted: {len(kept)} answers kept in answers.jsonl; the same command goes on from there"
    )
    assert b"Traceback" not in stderr
    assert all(json.loads(line)["sheet"]["key"] for line in kept)
