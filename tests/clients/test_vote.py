import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from api.app import create_app
from clients.cli.render.vote import vote_text
from tests.clients.arrivals import check_coming

Run = Callable[..., Result]


@pytest.fixture(scope="module")
def api() -> Iterator[TestClient]:
    with TestClient(create_app()) as client:
        yield client


def test_every_option_reaches_the_service(run: Run, api: TestClient, rack: str) -> None:
    card = api.get("/v1/cards/small").json()
    family, other = card["families"][:2]
    hand = next(hand["name"] for hand in card["hands"] if hand["family"] == family)
    body = {
        "rack": rack,
        "card": "small",
        "seen": "9b 9c",
        "courtesy": 1,
        "samples": 3,
        "seed": 5,
        "arrivals": {"charleston": 0, "draws": 9, "claims": 7},
        "limits": {
            "only": {"families": [family, other], "traits": ["big-groups"]},
            "without": {"families": [other]},
            "weights": {hand: 2.5},
        },
        "effort": 4.5,
    }
    expected = api.post("/v1/votes", json=body)
    assert expected.status_code == 200, expected.text
    # fmt: off
    result = run(
        "vote", *rack.split(), "--card", "small", "--seen", "9b 9c", "--courtesy", "1", "--samples", "3",
        "--seed", "5", "--draws", "9", "--claims", "7", "--only-family", family, "--only-family", other,
        "--only-trait", "big-groups", "--without-family", other, "--weight", f"{hand}=2.5", "--effort", "4.5",
        "--json",
    )
    # fmt: on
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == expected.content


def test_the_page_says_what_the_json_says(run: Run, rack: str) -> None:
    asked = ("vote", rack, "--card", "small", "--samples", "8")
    text, answer = run(*asked), json.loads(run(*asked, "--json").stdout)
    assert (text.exit_code, text.stderr) == (0, "")
    assert max(map(len, text.stdout.splitlines())) <= 80
    words = re.sub(r"\s+", " ", text.stdout)
    found = re.search(
        r"Vote (.*) Stop ([\d.]+) expected hands .* Go on ([\d.]+) expected hands "
        r"Difference ([\d.]+) more by (going on|stopping), standard error ([\d.]+) Samples (\d+) samples",
        words,
    )
    assert found is not None, words
    assert found[1].startswith(answer["verdict"])
    assert float(found[2]) == pytest.approx(answer["stop"], abs=0.00051)
    assert float(found[3]) == pytest.approx(answer["go_on"], abs=0.00051)
    assert float(found[4]) == pytest.approx(abs(answer["difference"]), abs=0.000051)
    assert (found[5] == "going on") == (answer["difference"] > 0)
    assert float(found[6]) == pytest.approx(answer["error"], abs=0.000051)
    assert int(found[7]) == answer["samples"]
    arrivals = answer["assumptions"]["arrivals"]
    to_come = re.search(r"To come: (.*?)\. Unseen", words)
    assert to_come is not None
    check_coming(to_come[1], arrivals)


@pytest.mark.parametrize(
    ("changed", "vote", "difference"),
    [
        (
            {"verdict": "stop", "difference": -0.25},
            "stop after the first Charleston",
            "0.2500 more by stopping",
        ),
        ({"verdict": "too close to call", "difference": 0.0}, "too close to call", "none"),
        ({"verdict": "go on", "difference": 0.00001}, "go on to the second", "under 0.0001 more by going on"),
    ],
)
def test_verdicts_in_words(run: Run, rack: str, changed: dict[str, Any], vote: str, difference: str) -> None:
    answer = json.loads(run("vote", rack, "--card", "small", "--samples", "2", "--json").stdout)
    lines = vote_text({**answer, **changed}).splitlines()
    assert lines[0].startswith(f"  Vote              {vote}")
    assert lines[3].startswith(f"  Difference        {difference}, standard error ")


@pytest.mark.parametrize("half", [("--draws", "3"), ("--claims", "3")])
def test_draws_and_claims_go_together(run: Run, rack: str, half: tuple[str, ...]) -> None:
    result = run("vote", rack, *half)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--draws and --claims go together" in result.stderr


def test_what_the_service_refuses(run: Run, rack: str) -> None:
    for more in ((), ("--json",)):
        result = run("vote", rack, "--card", "small", "--courtesy", "4", "--samples", "1", *more)
        assert result.exit_code == 1
        assert {line.partition(":")[0] for line in result.stderr.splitlines()} == {"courtesy", "samples"}
        assert bool(result.stdout) == bool(more)


def test_no_server_there(run: Run, free_port: Callable[[], int], rack: str) -> None:
    result = run("vote", rack, "--server", f"http://127.0.0.1:{free_port()}")
    assert (result.exit_code, result.stdout) == (3, "")
