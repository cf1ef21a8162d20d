"""JSON Lines of many laps, and practice logs."""

import json
import re
import signal
import subprocess
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

from clients.cli.transport import Reply, Service
from tests.clients.laps import impossible, json_lines, lap, logged, short

Run = Callable[..., Result]


def answers(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def titles(result: Result) -> list[str]:
    return re.findall(r"^(Lap \d.*|Refused .*|Average .*)$", result.stdout, re.MULTILINE)


def test_each_line_in_its_place_and_the_averages_last(run: Run) -> None:
    stdin = json_lines(lap(42, 40, 30)) + "\nnot json\n" + json_lines(impossible(), lap(47, 45, 35), [1])
    stdin += json_lines(lap(40, 40, 38))
    text = run("review", "-", stdin=stdin)
    assert text.exit_code == 4
    assert titles(text) == [
        "Lap 1 (line 1)",
        "Refused (line 3)",
        "Refused (line 4)",
        "Lap 2 (line 5)",
        "Refused (line 6)",
        "Lap 3 (line 7)",
        "Average over 3 laps",
    ]
    assert "  Time              1:59.0 a lap\n" in text.stdout
    as_json = run("review", "-", "--json", stdin=stdin)
    assert as_json.exit_code == 4
    *found, last = answers(as_json)
    assert [answer.get("status", 200) for answer in found] == [200, 400, 422, 200, 422, 200]
    assert list(last) == ["session"]
    assert (last["session"]["laps"], last["session"]["time"]) == (3, "1:59.0")


def test_a_line_gets_the_bytes_that_one_record_alone_gets(run: Run) -> None:
    alone = run("review", "-", "--json", stdin=json.dumps(short()))
    lines = run("review", "-", "--json", stdin=json_lines(short(), short()))
    assert (lines.exit_code, lines.stderr) == (0, "")
    assert lines.stdout_bytes.splitlines()[:2] == [alone.stdout_bytes] * 2


def test_a_practice_log(run: Run) -> None:
    log = (
        json_lines(logged(short()), logged(lap(), finished=False), logged(short()))
        + '{"threepass_log": 1, "rec'
    )
    text = run("review", "-", stdin=log)
    assert text.exit_code == 4
    assert titles(text) == ["Lap 1 (line 1)", "Lap 2 (line 3)", "Refused (line 4)", "Average over 2 laps"]
    assert text.stderr == "skipped, as not finished: line 2\n"
    as_json = run("review", "-", "--json", stdin=log)
    assert (as_json.exit_code, as_json.stderr) == (4, text.stderr)
    assert [answer.get("status", 200) for answer in answers(as_json)] == [200, 200, 400, 200]


def test_a_log_of_one_lap(run: Run) -> None:
    result = run("review", "-", stdin=json_lines(logged(short())))
    assert (result.exit_code, titles(result), result.stderr) == (0, ["Lap 1 (line 1)"], "")


@pytest.mark.parametrize("content", ["", json_lines(logged(lap(), finished=False))])
def test_nothing_to_review(run: Run, content: str) -> None:
    text = run("review", "-", stdin=content)
    assert (text.exit_code, text.stdout) == (0, "")
    assert text.stderr.endswith("no laps to review\n")
    as_json = run("review", "-", "--json", stdin=content)
    assert (as_json.exit_code, as_json.stdout) == (0, '{"session":null}\n')


def test_more_laps_than_one_request_takes(run: Run) -> None:
    result = run("review", "-", "--json", stdin=json_lines(*[short()] * 22))
    assert result.exit_code == 0
    *found, last = answers(result)
    assert len(found) == 22
    assert (last["session"]["laps"], last["session"]["seconds"]) == (22, 30.0)


def test_through_a_real_server(run: Run, server: str) -> None:
    stdin = json_lines(short(), impossible(), short())
    here = run("review", "-", stdin=stdin)
    there = run("review", "-", "--server", server, stdin=stdin)
    assert here.exit_code == there.exit_code == 4
    assert here.stdout == there.stdout


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_interruption_keeps_the_laps_that_are_done(
    run: Run, stop_after: Callable[[int], None], more: tuple[str, ...]
) -> None:
    stop_after(2)
    result = run("review", "-", *more, stdin=json_lines(*[short()] * 5))
    assert result.exit_code == 130
    assert result.stderr == "interrupted: the answers printed so far are whole\n"
    if more:
        *found, last = answers(result)
        assert [len(answer["reviews"]) for answer in found] == [1, 1]
        assert last["session"]["laps"] == 2
    else:
        assert titles(result) == ["Lap 1 (line 1)", "Lap 2 (line 2)", "Average over 2 laps"]


def test_an_interruption_of_a_document_keeps_them_too(run: Run, stop_after: Callable[[int], None]) -> None:
    stop_after(1)
    result = run("review", "-", "--json", stdin=json.dumps({"records": [short()] * 21}))
    assert result.exit_code == 130
    answer = json.loads(result.stdout)
    assert (len(answer["reviews"]), answer["session"]["laps"]) == (1, 1)


def test_a_real_interruption(command: str) -> None:
    process = subprocess.Popen(
        [command, "review", "-", "--json"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(json_lines(*[lap(card="full")] * 200).encode())
    process.stdin.close()
    process.stdin = None
    first = process.stdout.readline()
    process.send_signal(signal.SIGINT)
    rest, said = process.communicate(timeout=60)
    *found, last = [json.loads(line) for line in [first, *rest.splitlines()]]
    assert process.returncode == 130
    assert 1 <= len(found) < 200
    assert last["session"]["laps"] == len(found)
    assert said == b"interrupted: the answers printed so far are whole\n"


def test_what_is_no_answer_ends_the_laps(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    bodies = [b"<html>", b"{}", b'{"reviews": []}', b'{"reviews": [{"seconds": 1e999}]}', b'{"reviews": [3]}']
    for body in bodies:
        monkeypatch.setattr(Service, "post", lambda *_, body=body: Reply(200, body))
        result = run("review", "-", stdin=json_lines(short(), short()))
        assert (result.exit_code, result.stdout) == (3, ""), body
        assert result.stderr == "the answer is not one of threepass: is the URL right?\n"
