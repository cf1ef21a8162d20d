import json
import re
from collections.abc import Callable, Iterator

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from api.app import create_app
from clients.cli.render.plan import plan_text
from clients.cli.render.words import all_in_words

Run = Callable[..., Result]


@pytest.fixture(scope="module")
def api() -> Iterator[TestClient]:
    with TestClient(create_app()) as client:
        yield client


def test_every_option_reaches_the_service(run: Run, api: TestClient, rack: str) -> None:
    body = {
        "rack": rack,
        "round": "first_right",
        "rounds": 2,
        "card": "small",
        "give": 3,
        "seen": "9b",
        "arrivals": {"charleston": 6, "draws": 9, "claims": 7},
        "limits": {"stay": "F", "go": "1d", "without": {"traits": ["narrow"]}, "no_pairs": True},
        "effort": 4.5,
    }
    expected = api.post("/v1/plans", json=body)
    assert expected.status_code == 200, expected.text
    # fmt: off
    result = run(
        "plan", *rack.split(), "--round", "first-right", "--rounds", "2", "--card", "small", "--give", "3",
        "--seen", "9b", "--charleston", "6", "--draws", "9", "--claims", "7", "--stay", "F", "--go", "1d",
        "--without-trait", "narrow", "--no-pairs", "--effort", "4.5", "--json",
    )
    # fmt: on
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == expected.content


def test_a_drill(run: Run, api: TestClient, rack: str) -> None:
    drill = {"exchanges_left": 3, "then_draws": 9}
    expected = api.post(
        "/v1/plans", json={"rack": rack, "round": "first_right", "card": "small", "drill": drill}
    )
    asked = ("--round", "first-right", "--card", "small", "--drill", "3", "--then-draws", "9", "--json")
    assert run("plan", rack, *asked).stdout_bytes == expected.content


@pytest.mark.parametrize("rounds", [1, 2, 3])
def test_the_page_says_what_the_json_says(run: Run, rack: str, rounds: int) -> None:
    asked = ("plan", rack, "--round", "first-right", "--rounds", str(rounds), "--card", "small")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert (text.exit_code, text.stderr) == (0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    turn = re.compile(
        r"^  (Now|Next|Then) +(\S.*)\n +(\S.*)\n +([\d.]+) expected hands once they have gone$", re.MULTILINE
    )
    found = turn.findall(text.stdout)
    assert [label for label, *_ in found] == ["Now", "Next", "Then"][:rounds]
    for (_, tiles, words, worth), said in zip(found, answer["rounds"], strict=True):
        assert tiles.split() == said["pass"]
        assert words == all_in_words(said["pass"])
        assert float(worth) == pytest.approx(said["expected_hands"], abs=0.00051)
    total = re.search(r"^  Sum +([\d.]+)$", text.stdout, re.MULTILINE)
    assert total is not None
    assert float(total[1]) == pytest.approx(answer["total"], abs=0.00051)
    assert ("proved best" in text.stdout) == (answer["proof"]["status"] == "optimal")


def test_what_is_not_proved_says_so() -> None:
    proof = {"status": "feasible", "gap": 0.25, "resolution": 1e-5}
    rounds = [{"pass": ["F", "F", "N"], "expected_hands": 0.5}]
    text = re.sub(r"\s+", " ", plan_text({"rounds": rounds, "total": 0.5, "proof": proof}))
    assert "proved best" not in text
    assert (
        "not proved: the work allowed ran out; the best there can be is 0.750, which is 0.2500 more" in text
    )


def test_wrong_usage_and_refusals(run: Run, rack: str) -> None:
    result = run("plan", rack)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "Missing option '--round'" in result.stderr
    result = run("plan", rack, "--round", "first-right", "--card", "small", "--rounds", "4")
    assert (result.exit_code, result.stdout) == (1, "")
    assert result.stderr.startswith("rounds: ")
    clash = run("plan", rack, "--round", "first-right", "--card", "small", "--stay", "F F", "--go", "F")
    assert clash.exit_code == 1
    assert "limits, stay: " in clash.stderr


def test_no_server_there(run: Run, free_port: Callable[[], int], rack: str) -> None:
    url = f"http://127.0.0.1:{free_port()}"
    assert run("plan", rack, "--round", "first-right", "--server", url).exit_code == 3
