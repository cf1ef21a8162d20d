import json
import signal
import subprocess
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

from clients.cli.lines import MAX_LINE, body_of
from clients.cli.transport import Reply, Service

Run = Callable[..., Result]
OTHER = "1b 1b 1b 2b 2b 3b 3b N N S S F J"


def answers(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_one_answer_a_line_in_order_with_the_faulty_in_place(run: Run, rack: str) -> None:
    lines: list[bytes] = [
        json.dumps(rack).encode(),
        b"not json",
        json.dumps({"rack": OTHER, "round": "courtesy", "give": 1}).encode(),
        b"[1, 2]",
        b"",
        b'"\xff"',
        b'{"rack": NaN}',
        b"[" * 100_000,
        json.dumps({"rack": "3x"}).encode(),
        json.dumps({"rack": rack.split(), "card": "full", "hands": 1}).encode(),
    ]
    result = run(
        "advise", "-", "--round", "first-left", "--card", "small", "--hands", "2", stdin=b"\n".join(lines)
    )
    assert result.exit_code == 4
    found = answers(result)
    assert [answer.get("status", 200) for answer in found] == [
        200,
        400,
        200,
        422,
        400,
        400,
        400,
        400,
        422,
        200,
    ]
    first, courtesy, full = found[0], found[2], found[9]
    assert (first["round"], len(first["pass"]), len(first["hands"])) == ("first_left", 3, 2)
    assert (courtesy["round"], len(courtesy["pass"]), len(courtesy["hands"])) == ("courtesy", 1, 2)
    assert (full["round"], len(full["hands"])) == ("first_left", 1)
    assert first["assumptions"]["card"]["hands"] < full["assumptions"]["card"]["hands"]
    assert "'3x' is not a tile" in found[8]["errors"][0]["detail"]


def test_a_line_gets_the_bytes_that_one_rack_alone_gets(run: Run, rack: str) -> None:
    options = ("--round", "first-right", "--card", "small")
    alone = run("advise", rack, *options, "--json")
    lines = run("advise", "-", *options, stdin=json.dumps(rack) + "\n")
    assert (lines.exit_code, lines.stderr) == (0, "")
    assert lines.stdout_bytes == alone.stdout_bytes + b"\n"


def test_no_lines_no_answers(run: Run) -> None:
    result = run("advise", "-", stdin="")
    assert (result.exit_code, result.stdout, result.stderr) == (0, "", "")


def test_a_line_without_end_is_refused_and_the_next_answered(run: Run, rack: str) -> None:
    stdin = b'"' + b"F" * (2 * MAX_LINE + 5) + b'"\n' + json.dumps(rack).encode()
    result = run("advise", "-", "--round", "courtesy", "--card", "small", stdin=stdin)
    assert result.exit_code == 4
    assert [answer.get("status", 200) for answer in answers(result)] == [413, 200]


def test_through_a_real_server(run: Run, server: str, rack: str) -> None:
    stdin = f'{json.dumps(rack)}\nno\n"{OTHER}"\n'
    options = ("--round", "first-right", "--card", "small")
    here = run("advise", "-", *options, stdin=stdin)
    there = run("advise", "-", *options, "--server", server, stdin=stdin)
    assert here.exit_code == there.exit_code == 4
    ours, theirs = answers(here), answers(there)
    assert ours[1].pop("request_id") != theirs[1].pop("request_id")
    assert ours == theirs


def test_a_server_that_is_not_there(run: Run, free_port: Callable[[], int], rack: str) -> None:
    result = run("advise", "-", "--server", f"http://127.0.0.1:{free_port()}", stdin=json.dumps(rack))
    assert (result.exit_code, result.stdout) == (3, "")
    assert "no answer from" in result.stderr


@pytest.mark.parametrize(
    "line", [b"not json", b"[1]", b"3", b"null", b'{"a": Infinity}', b'{"a": 1e999}', b"\xff", b"1" * 5000]
)
def test_what_is_no_rack_and_no_object_is_left_for_the_service(line: bytes) -> None:
    assert body_of(line, {"round": "courtesy"}) == line


def test_bodies_are_compact() -> None:
    assert body_of(b' "F J" ', {"round": "courtesy"}) == b'{"round":"courtesy","rack":"F J"}'


def test_each_line_is_answered_as_it_comes_and_an_interruption_keeps_the_answers(
    command: str, rack: str
) -> None:
    process = subprocess.Popen(
        [command, "advise", "-", "--round", "first-right", "--card", "small"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    for _ in range(2):
        process.stdin.write(json.dumps(rack).encode() + b"\n")
        process.stdin.flush()
        # The input is still open: this only returns if the line is answered before the next one comes.
        assert json.loads(process.stdout.readline())["round"] == "first_right"
    process.send_signal(signal.SIGINT)
    rest, said = process.communicate(timeout=60)
    assert (process.returncode, rest) == (130, b"")
    assert said == b"interrupted: the answers printed so far are whole\n"


def test_an_interruption_keeps_what_is_finished(run: Run, rack: str, monkeypatch: pytest.MonkeyPatch) -> None:
    replies = iter([Reply(200, b'{"a":\n1}')])

    def post(*_: object) -> Reply:
        try:
            return next(replies)
        except StopIteration:
            raise KeyboardInterrupt from None

    monkeypatch.setattr(Service, "post", post)
    result = run("advise", "-", stdin=f'"{rack}"\n' * 3)
    assert (result.exit_code, result.stdout) == (130, '{"a":1}\n')
    assert result.stderr == "interrupted: the answers printed so far are whole\n"


def test_what_is_no_answer_ends_the_lines(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Service, "post", lambda *_: Reply(200, b"<html>"))
    result = run("advise", "-", stdin='"F"\n"J"\n')
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr == "the answer is not one of threepass: is the URL right?\n"


def test_an_interruption_in_the_middle_of_the_work_leaves_whole_lines(command: str, rack: str) -> None:
    process = subprocess.Popen(
        [command, "advise", "-", "--round", "first-right", "--card", "full"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write((json.dumps(rack).encode() + b"\n") * 100)
    process.stdin.flush()
    first = [process.stdout.readline() for _ in range(2)]
    process.send_signal(signal.SIGINT)
    rest, said = process.communicate(timeout=60)
    found = [json.loads(line) for line in [*first, *rest.splitlines()]]
    assert process.returncode == 130
    assert 2 <= len(found) < 100
    assert {len(answer["pass"]) for answer in found} == {3}
    assert rest == b"" or rest.endswith(b"\n")
    assert said == b"interrupted: the answers printed so far are whole\n"


def test_a_reader_that_goes_away_is_no_crash(command: str, rack: str) -> None:
    line = json.dumps(rack).encode() + b"\n"
    process = subprocess.Popen(
        [command, "advise", "-", "--round", "first-right", "--card", "small"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdin.write(line)
    process.stdin.flush()
    process.stdout.readline()
    process.stdout.close()
    process.stdin.write(line)
    process.stdin.close()
    said = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == 1
    assert said == b""
