"""Averages of the client are those of the service."""

import json
from typing import Any

import pytest

from clients.cli.session import session_of
from clients.cli.transport import Service
from tests.clients.laps import OTHER, lap, short


def reviewed(*records: dict[str, Any]) -> dict[str, Any]:
    with Service(None) as service:
        reply = service.post("/v1/reviews", json.dumps({"records": records}).encode())
    assert reply.status == 200, reply.body
    answer: dict[str, Any] = json.loads(reply.body)
    return answer


def test_they_are_those_of_the_service() -> None:
    other = lap(rack=OTHER)
    other["exchanges"] = [{"round": "first_right", "given": "N N S", "received": "7c 8c 9c"}]
    answer = reviewed(lap(40.1, 35.2, 36.7), lap(41, 43, 43), lap(), other, lap(40, 40, 38))
    session = session_of(answer["reviews"])
    assert (session["laps"], session["timed"], session["time"]) == (5, 3, "1:59.0")
    # Both round to twelve decimals, the client from figures that the service had rounded.
    for name, value in answer["session"].items():
        assert session[name] == (value if isinstance(value, str) else pytest.approx(value, abs=1.5e-12)), name
    assert list(session) == list(answer["session"])


def test_each_pass_counts_the_same_for_the_share_as_good_as_best() -> None:
    reviews = reviewed(short(), lap())["reviews"]
    level = [graded["within_resolution"] for review in reviews for graded in review["passes"]]
    assert len(level) == 4
    assert 0 < sum(level) < 4
    assert session_of(reviews)["within_resolution"] == sum(level) / 4


def test_untimed_laps_have_no_time() -> None:
    session = session_of(reviewed(lap())["reviews"])
    assert (session["laps"], session["timed"], session["seconds"], session["time"]) == (1, 0, None, None)
