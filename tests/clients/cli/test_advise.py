"""One rack from options to its answer (``advise``, ``vote``, ``plan``), and many racks line by line."""

import json
import signal
import subprocess
from typing import Any

import pytest
from click.testing import Result

from tests.clients.conftest import Ask, Run
from tests.clients.laps import OTHER
from tests.clients.typist import Clock, Typist

SMALL = ("--card", "small", "--round", "first-right")
WHOLE = b"interrupted: the answers printed so far are whole\n"


def answers(result: Result) -> list[dict[str, Any]]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def lines_of(command: str, *options: str) -> "subprocess.Popen[bytes]":
    """The command in a process of its own, waiting for lines."""
    return subprocess.Popen(
        [command, "advise", "-", *options],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def names_of(ask: Ask) -> list[str]:
    """Two families of the small card, and the hands of the first."""
    card: Any = json.loads(ask("/v1/cards/small"))
    family, other = card["families"][:2]
    return [family, other, *(hand["name"] for hand in card["hands"] if hand["family"] == family)]


def test_every_option_reaches_the_service(run: Run, ask: Ask, rack: str) -> None:
    family, other, *hands = names_of(ask)
    body = {
        "rack": rack,
        "round": "courtesy",
        "card": "small",
        "give": 2,
        "arrivals": {"charleston": 2, "draws": 9, "claims": 7},
        "seen": "9d N",
        "limits": {
            "stay": "F J",
            "go": "1d",
            "only": {"families": [family, other], "hands": [hands[0]], "traits": ["big-groups"]},
            "without": {"families": [other], "hands": [hands[1]], "traits": ["narrow"]},
            "weights": {hands[0]: 2.5},
            "no_pairs": True,
            "no_flowers": True,
            "no_neighbors": True,
            "no_like_numbers": True,
            "keep_hands": {"count": 1, "reach": 0.0001},
            "keep_families": {"count": 1, "reach": 0.0001},
        },
        "alternatives": 1,
        "hands": 3,
        "why": True,
        "gives_away": True,
        "mine": "4c E",
        "objective": "sum",
    }
    # fmt: off
    result = run(
        "advise", *rack.split(), "--round", "courtesy", "--card", "small", "--give", "2",
        "--charleston", "2", "--draws", "9", "--claims", "7", "--seen", "9d N", "--stay", "F J", "--go", "1d",
        "--only-family", family, "--only-family", other, "--only-hand", hands[0],
        "--only-trait", "big-groups",
        "--without-family", other, "--without-hand", hands[1], "--without-trait", "narrow",
        "--weight", f"{hands[0]}=2.5", "--no-pairs", "--no-flowers", "--no-neighbors", "--no-like-numbers",
        "--keep-hands", "1:0.0001", "--keep-families", "1:0.01%",
        "--alternatives", "1", "--hands", "3", "--why", "--gives-away", "--mine", "4c E",
        "--objective", "Sum", "--json",
    )
    # fmt: on
    assert result.exit_code == 0, result.stderr
    assert result.stdout_bytes == ask("/v1/advice", body)


def test_options_of_the_vote_and_of_a_plan_reach_the_service(run: Run, ask: Ask, rack: str) -> None:
    body = {"rack": rack, "card": "small", "courtesy": 1, "samples": 3, "seed": 5, "seen": "9b 9c"}
    options = ("--courtesy", "1", "--samples", "3", "--seed", "5", "--seen", "9b 9c")
    result = run("vote", *rack.split(), "--card", "small", *options, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == ask("/v1/votes", body)
    limits = {"stay": "F", "go": "1d", "without": {"traits": ["narrow"]}, "no_pairs": True}
    body = {"rack": rack, "round": "first_right", "rounds": 2, "card": "small", "limits": limits}
    options = ("--rounds", "2", "--stay", "F", "--go", "1d", "--without-trait", "narrow", "--no-pairs")
    result = run("plan", rack, *SMALL, *options, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == ask("/v1/plans", body)


def test_a_refusal_is_one_line_a_fault(run: Run) -> None:
    result = run("advise", "3x 3y", *SMALL)
    assert (result.exit_code, result.stdout) == (1, "")
    lines = ["rack: column 1: '3x' is not a tile", "rack: column 4: '3y' is not a tile"]
    assert [line for line in result.stderr.splitlines() if "is not a tile" in line] == lines
    as_json = run("advise", "3x 3y", *SMALL, "--json")
    assert (as_json.exit_code, as_json.stderr) == (1, result.stderr)
    problem = json.loads(as_json.stdout)
    assert problem["status"] == 422
    assert len(problem["errors"]) == len(result.stderr.splitlines())


@pytest.mark.parametrize(
    ("arguments", "fault"),
    [
        ((), "Missing argument 'RACK...'"),
        (("F", "--round", "third"), "'third' is none of: first-right"),
        (("F", "--round", "courtesy", "--keep-hands", "3:5"), "'3:5': for 5 percent write 3:5%"),
        (("F", "--round", "courtesy", "--card", "none.toml"), "none.toml: No such file"),
        (("F", "--round", "courtesy", "--draws", "3"), "go together"),
        (("F", "--round", "courtesy", "--charleston", "3", "--claims", "2"), "go together"),
        (("F", "--round", "courtesy", "--then-draws", "3"), "needs --drill"),
        (("F", "--round", "courtesy", "--server", "here"), "--server: not the URL"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...], fault: str) -> None:
    result = run("advise", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert fault in result.stderr


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
    statuses = [answer.get("status", 200) for answer in found]
    assert statuses == [200, 400, 200, 422, 400, 400, 400, 400, 422, 200]
    first, courtesy, full = found[0], found[2], found[9]
    assert (first["round"], len(first["pass"]), len(first["hands"])) == ("first_left", 3, 2)
    assert (courtesy["round"], len(courtesy["pass"]), len(courtesy["hands"])) == ("courtesy", 1, 2)
    assert (full["round"], len(full["hands"])) == ("first_left", 1)
    assert first["assumptions"]["card"]["hands"] < full["assumptions"]["card"]["hands"]
    assert "'3x' is not a tile" in found[8]["errors"][0]["detail"]


def test_a_line_of_a_batch_asks_any_operation_and_gets_its_id_back(run: Run, rack: str) -> None:
    lines = [
        {"id": "a", "body": {"rack": rack}},
        {"rack": rack},
        {"id": 2, "path": "/v1/plans", "body": {"rack": rack, "round": "first_right", "card": "small"}},
        {"id": "c", "path": "/v1/cards/small"},
        {"id": "d", "path": "/v1/nowhere"},
    ]
    result = run("advise", "-", *SMALL, stdin="".join(json.dumps(line) + "\n" for line in lines))
    assert result.exit_code == 4
    first, alone, plan, card, nowhere = answers(result)
    assert first == {"line": 1, "id": "a", "status": 200, "body": alone}
    assert (plan["line"], plan["id"], len(plan["body"]["rounds"])) == (3, 2, 2)
    assert (card["id"], card["body"]["name"]) == ("c", "small")
    assert (nowhere["line"], nowhere["status"], nowhere["id"]) == (5, 404, "d")


def test_each_line_is_answered_as_it_comes_and_an_interruption_keeps_the_answers(
    command: str, rack: str
) -> None:
    process = lines_of(command, *SMALL)
    assert process.stdin is not None
    assert process.stdout is not None
    for _ in range(2):
        process.stdin.write(json.dumps(rack).encode() + b"\n")
        process.stdin.flush()
        # The input is still open: this only returns if the line is answered before the next one comes.
        assert json.loads(process.stdout.readline())["round"] == "first_right"
    process.send_signal(signal.SIGINT)
    rest, said = process.communicate(timeout=60)
    assert (process.returncode, rest, said) == (130, b"", WHOLE)


def test_an_interruption_as_the_input_ends_is_told(run: Run) -> None:
    result = run("advise", "-", stdin=Typist(Clock(), [(0.0, KeyboardInterrupt)]))
    assert (result.exit_code, result.stderr) == (130, WHOLE.decode())


def test_a_reader_that_goes_away_is_no_crash(command: str, rack: str) -> None:
    line = json.dumps(rack).encode() + b"\n"
    process = lines_of(command, *SMALL)
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
