"""``threepass vote`` and ``threepass plan``, from their options to the service."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Ask = Callable[..., bytes]


def families_of(ask: Ask) -> tuple[str, str, str]:
    """Two families of the small card, and a hand of the first."""
    card: Any = json.loads(ask("/v1/cards/small"))
    family, other = card["families"][:2]
    return family, other, next(hand["name"] for hand in card["hands"] if hand["family"] == family)


def test_every_option_of_the_vote_reaches_the_service(run: Run, ask: Ask, rack: str) -> None:
    family, other, hand = families_of(ask)
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
    }
    # fmt: off
    result = run(
        "vote", *rack.split(), "--card", "small", "--seen", "9b 9c", "--courtesy", "1", "--samples", "3",
        "--seed", "5", "--draws", "9", "--claims", "7", "--only-family", family, "--only-family", other,
        "--only-trait", "big-groups", "--without-family", other, "--weight", f"{hand}=2.5", "--json",
    )
    # fmt: on
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == ask("/v1/votes", body)


def test_every_option_of_a_plan_reaches_the_service(run: Run, ask: Ask, rack: str) -> None:
    body = {
        "rack": rack,
        "round": "first_right",
        "rounds": 2,
        "card": "small",
        "give": 3,
        "seen": "9b",
        "arrivals": {"charleston": 6, "draws": 9, "claims": 7},
        "limits": {"stay": "F", "go": "1d", "without": {"traits": ["narrow"]}, "no_pairs": True},
    }
    # fmt: off
    result = run(
        "plan", *rack.split(), "--round", "first-right", "--rounds", "2", "--card", "small", "--give", "3",
        "--seen", "9b", "--charleston", "6", "--draws", "9", "--claims", "7", "--stay", "F", "--go", "1d",
        "--without-trait", "narrow", "--no-pairs", "--json",
    )
    # fmt: on
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout_bytes == ask("/v1/plans", body)


@pytest.mark.parametrize("half", [("--draws", "3"), ("--claims", "3")])
def test_draws_and_claims_of_a_vote_go_together(run: Run, rack: str, half: tuple[str, ...]) -> None:
    result = run("vote", rack, *half)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--draws and --claims go together" in result.stderr


def test_what_the_service_refuses(run: Run, rack: str) -> None:
    for more in ((), ("--json",)):
        result = run("vote", rack, "--card", "small", "--courtesy", "4", "--samples", "1", *more)
        assert result.exit_code == 1
        assert {line.partition(":")[0] for line in result.stderr.splitlines()} == {"courtesy", "samples"}
        assert bool(result.stdout) == bool(more)
    long = run("plan", rack, "--round", "first-right", "--card", "small", "--rounds", "4")
    assert (long.exit_code, long.stdout) == (1, "")
    assert long.stderr.startswith("rounds: ")
    clash = run("plan", rack, "--round", "first-right", "--card", "small", "--stay", "F F", "--go", "F")
    assert clash.exit_code == 1
    assert "limits, stay: " in clash.stderr


def test_a_plan_needs_its_round(run: Run, rack: str) -> None:
    result = run("plan", rack)
    assert (result.exit_code, result.stdout) == (2, "")
    assert "Missing option '--round'" in result.stderr


@pytest.mark.parametrize("arguments", [("vote",), ("plan", "--round", "first-right")])
def test_a_server_and_none(
    run: Run, server: str, nowhere: str, rack: str, arguments: tuple[str, ...]
) -> None:
    asked = (*arguments, rack, "--card", "small")
    assert run(*asked, "--server", server).stdout == run(*asked).stdout != ""
    gone = run(*asked, "--server", nowhere)
    assert (gone.exit_code, gone.stdout) == (3, "")
