import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from api.app import create_app

Run = Callable[..., Result]


@pytest.fixture(scope="module")
def api() -> Iterator[TestClient]:
    with TestClient(create_app()) as client:
        yield client


SMALL = ("--card", "small", "--round", "first-right")


def test_json_is_the_body_of_the_api(run: Run, api: TestClient, rack: str) -> None:
    body = api.post("/v1/advice", json={"rack": rack, "round": "first_right"})
    assert body.status_code == 200
    result = run("advise", rack, "--round", "first-right", "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == body.content


def test_every_option_reaches_the_service(run: Run, api: TestClient, rack: str, card_file: Path) -> None:
    card = api.get("/v1/cards/small").json()
    family, other = card["families"][:2]
    hands = [hand["name"] for hand in card["hands"] if hand["family"] == family]
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
            "no_neighbours": True,
            "keep_hands": {"count": 1, "reach": 0.0001},
            "keep_families": {"count": 1, "reach": 0.0001},
        },
        "alternatives": 1,
        "hands": 3,
        "effort": 4.5,
    }
    expected = api.post("/v1/advice", json=body)
    assert expected.status_code == 200, expected.text
    # fmt: off
    result = run(
        "advise", *rack.split(), "--round", "courtesy", "--card", "small", "--give", "2",
        "--charleston", "2", "--draws", "9", "--claims", "7", "--seen", "9d N", "--stay", "F J", "--go", "1d",
        "--only-family", family, "--only-family", other, "--only-hand", hands[0],
        "--only-trait", "big-groups",
        "--without-family", other, "--without-hand", hands[1], "--without-trait", "narrow",
        "--weight", f"{hands[0]}=2.5", "--no-pairs", "--no-flowers", "--no-neighbours",
        "--keep-hands", "1:0.0001", "--keep-families", "1:0.01%",
        "--alternatives", "1", "--hands", "3", "--effort", "4.5", "--json",
    )
    # fmt: on
    assert result.stdout_bytes == expected.content


def test_a_card_of_ones_own(run: Run, rack: str, card_file: Path) -> None:
    result = run("advise", rack, "--round", "first-right", "--card", str(card_file), "--json")
    assert result.exit_code == 0, result.stderr
    assumed = json.loads(result.stdout)["assumptions"]["card"]
    assert (assumed["title"], assumed["hands"]) == ("Two Of Mine", 2)


@pytest.mark.parametrize(
    ("rack", "options", "lines"),
    [
        ("2b 4b 3x", (), ["rack: column 7: '3x' is not a tile"]),
        ("3x 3y", (), ["rack: column 1: '3x' is not a tile", "rack: column 4: '3y' is not a tile"]),
        (
            "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J",
            ("--give", "2"),
            ["give: 2 tiles: first_right gives exactly 3"],
        ),
    ],
)
def test_a_refusal_is_one_line_a_fault(
    run: Run, rack: str, options: tuple[str, ...], lines: list[str]
) -> None:
    result = run("advise", rack, *SMALL, *options)
    assert (result.exit_code, result.stdout) == (1, "")
    assert [line for line in result.stderr.splitlines() if line in lines] == lines
    as_json = run("advise", rack, *SMALL, *options, "--json")
    assert (as_json.exit_code, as_json.stderr) == (1, result.stderr)
    problem = json.loads(as_json.stdout)
    assert problem["status"] == 422
    assert len(problem["errors"]) == len(result.stderr.splitlines())


@pytest.mark.parametrize("count", [12, 15])
def test_wrong_counts_are_refused(run: Run, rack: str, count: int) -> None:
    tiles = [*rack.split(), "9b"][:count]
    result = run("advise", *tiles, *SMALL)
    assert result.exit_code == 1
    assert result.stderr.startswith("rack: ")
    assert str(count) in result.stderr


def test_clashing_limits_are_named(run: Run, rack: str) -> None:
    result = run("advise", rack, *SMALL, "--stay", "F F", "--go", "F")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith("no pass keeps all of these limits:\n")
    assert "limits, stay: " in result.stderr
    assert "limits, go: " in result.stderr


@pytest.mark.parametrize(
    ("arguments", "fault"),
    [
        ((), "Missing argument 'RACK...'"),
        (("F",), "Missing option '--round'"),
        (("F", "--round", "third"), "'third' is none of: first-right"),
        (("F", "--round", "courtesy", "--give", "two"), "'two' is not a valid integer"),
        (("F", "--round", "courtesy", "--effort", "nan"), "'nan' is not a number"),
        (("F", "--round", "courtesy", "--card", "none.toml"), "none.toml: No such file"),
        (("F", "--round", "courtesy", "--draws", "3"), "go together"),
        (("F", "--round", "courtesy", "--server", "here"), "--server: not the URL"),
        (("F", "--round", "courtesy", "--unknown"), "No such option"),
    ],
)
def test_wrong_usage(run: Run, arguments: tuple[str, ...], fault: str) -> None:
    result = run("advise", *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert fault in result.stderr


def test_a_real_server_gives_the_same_bytes(run: Run, server: str, rack: str) -> None:
    here = run("advise", rack, *SMALL, "--json")
    there = run("advise", rack, *SMALL, "--json", "--server", server)
    assert (here.exit_code, there.exit_code) == (0, 0)
    assert here.stdout_bytes == there.stdout_bytes
    refused: list[Any] = [run("advise", "3x", *SMALL, *more) for more in ((), ("--server", server))]
    assert refused[0].stderr == refused[1].stderr
    assert refused[0].exit_code == refused[1].exit_code == 1


def test_no_server_there(run: Run, free_port: Callable[[], int], rack: str) -> None:
    result = run("advise", rack, *SMALL, "--server", f"http://127.0.0.1:{free_port()}")
    assert (result.exit_code, result.stdout) == (3, "")
    assert result.stderr.startswith("no answer from http://127.0.0.1:")
