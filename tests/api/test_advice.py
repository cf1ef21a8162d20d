"""Advice over the wire, against the solver asked directly."""

import json
import random
from collections.abc import Callable
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from patterns.card_file import shipped_card
from patterns.rack import parse_rack
from solver.advice import advise
from solver.arrivals import LATER_EXCHANGES_ALONE, default_arrivals
from solver.rounds import Round
from solver.situation import Question
from tests.api.arriving import arriving

Ask = Callable[..., httpx2.Response]
RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
TOKENS = ["2b", "4b", "4c", "5c", "5c", "6c", "1d", "5d", "8d", "E", "W", "F", "F", "J"]


def test_the_answer_is_the_solvers(ask: Ask) -> None:
    body = ask(card="full", alternatives=3).json()
    question = Question(shipped_card("full"), parse_rack(RACK), Round.FIRST_RIGHT, alternatives=3)
    advice = advise(question)
    assert list(body) == [
        "pass",
        "expected_hands",
        "expected_hands_before",
        "some_hand",
        "proof",
        "hands",
        "hands_in_reach",
        "given_up",
        "alternatives",
        "call",
        "by_number",
        "why",
        "look_ahead",
        "rack",
        "round",
        "assumptions",
    ]
    assert body["pass"] == [tile.value for tile in advice.passed]
    assert body["expected_hands"] == round(advice.expected, 12)
    assert body["expected_hands_before"] == round(advice.expected_before, 12)
    assert advice.hands.some_hand is not None
    assert body["some_hand"] == round(advice.hands.some_hand, 12)
    assert body["assumptions"]["arrivals_alone"] == {
        "charleston": 3 + LATER_EXCHANGES_ALONE[Round.FIRST_RIGHT],
        "draws": 24,
        "claims": 12,
        "lengths": [{"draws": 24, "claims": 12, "share": 1}],
    }
    assert [hand["alone"] for hand in body["hands"]] == [
        None if each.alone is None else round(each.alone, 12) for each in advice.hands[:10]
    ]
    assert body["proof"] == {
        "status": "optimal",
        "bound": round(advice.proof.bound, 12),
        "gap": round(advice.proof.gap, 12),
        "resolution": round(advice.proof.resolution, 12),
    }
    assert body["hands_in_reach"] == len(advice.hands)
    assert [hand["name"] for hand in body["hands"]] == [s.hand.name for s in advice.hands[:10]]
    assert [loss["name"] for loss in body["given_up"]] == [loss.hand.name for loss in advice.given_up[:10]]
    assert body["alternatives"] == [
        {
            "pass": [tile.value for tile in other.passed],
            "expected_hands": round(other.expected, 12),
            "gap": round(other.gap, 12),
        }
        for other in advice.runner_ups
    ]
    gap = advice.runner_ups[0].gap
    assert advice.closeness is not None
    assert body["call"] == {
        "word": advice.closeness.value,
        "gap": round(gap, 12),
        "share": round(gap / advice.expected, 12),
    }
    assert (body["rack"], body["round"]) == (TOKENS, "first_right")


def test_a_hand_in_the_answer_adds_up(ask: Ask) -> None:
    body = ask(hands=300).json()
    kept = list(TOKENS)
    for tile in body["pass"]:
        kept.remove(tile)
    assert len(body["hands"]) == body["hands_in_reach"] > 10
    for hand in body["hands"]:
        assert len(hand["target"]) == 14
        assert hand["tiles_away"] == len(hand["missing"]) == 14 - len(hand["served_by"])
        assert hand["jokers_used"] == hand["served_by"].count("J")
        assert 0 < hand["reach"] <= hand["reach_before"] <= 1
        left = list(kept)
        for tile in hand["served_by"]:
            left.remove(tile)
    for loss in body["given_up"]:
        assert loss["lost"] == pytest.approx(loss["reach_before"] - loss["reach"], abs=2e-12)
        assert loss["lost"] > 0


def test_assumptions(ask: Ask) -> None:
    body = ask(
        round="courtesy",
        give=1,
        seen="9b white",
        arrivals={"charleston": 1, "draws": 10, "claims": 5},
        limits={
            "stay": ["F", "F"],
            "no_pairs": True,
            "only": {"families": ["giants", "ladders"], "traits": ["two-suits"]},
            "without": {"hands": ["Steep Path"]},
            "weights": {"Picking Steps": 2.5},
            "keep_hands": {"count": 1, "reach": 0.0001},
        },
    ).json()
    assumptions = body["assumptions"]
    assert len(body["pass"]) == 1
    assert list(assumptions) == ["arrivals", "arrivals_alone", "card", "unseen", "limits", "versions"]
    assert assumptions["arrivals_alone"] is None
    assert assumptions["arrivals"] == {
        "charleston": 1,
        "draws": 10,
        "claims": 5,
        "lengths": [{"draws": 10, "claims": 5, "share": 1}],
    }
    assert assumptions["card"] == {"name": "small", "title": "Orchard", "hands": 20, "targets": 285}
    # 152 tiles less 14 in the rack and 2 seen; one of the rack's is a joker, of 8.
    assert assumptions["unseen"] == {"naturals": 129, "jokers": 7}
    assert assumptions["limits"] == [
        "2 of flower must stay",
        "no two alike may go",
        "at least 1 hands with a reach of 0.0001 must be kept",
        "only hands of the families 'giants', 'ladders' or the traits two-suits count",
        "no hands of the names 'Steep Path' count",
        "'Picking Steps' weighs 2.5",
    ]
    assert set(assumptions["versions"]) == {"threepass", "ortools"}


def test_the_full_card_and_the_rounds_arrivals_by_default(client: TestClient) -> None:
    body = client.post("/v1/advice", json={"rack": RACK, "round": "second_across"}).json()
    assert body["assumptions"]["card"]["name"] == "full"
    assert body["assumptions"]["arrivals"] == arriving(default_arrivals(Round.SECOND_ACROSS, 3))
    assert len(body["pass"]) == 3
    assert len(body["alternatives"]) == 2
    assert len(body["hands"]) == 10
    assert body["assumptions"]["limits"] == []


def test_no_alternatives_no_call(ask: Ask) -> None:
    body = ask(alternatives=0).json()
    assert body["alternatives"] == []
    assert body["call"] == {"word": None, "gap": None, "share": None}


def test_an_only_pass(ask: Ask) -> None:
    body = ask(round="courtesy", give=0).json()
    assert (body["pass"], body["alternatives"]) == ([], [])
    assert body["call"] == {"word": "only pass", "gap": None, "share": None}


def test_nothing_to_come_is_worth_nothing(ask: Ask) -> None:
    body = ask(arrivals={"charleston": 0, "draws": 0, "claims": 0}).json()
    assert (body["expected_hands"], body["hands"], body["hands_in_reach"]) == (0, [], 0)
    assert body["call"] == {"word": "even", "gap": 0, "share": None}


@pytest.mark.parametrize("rack", ["JJJJJJJJ FFFFF", "JJJJJJJJ FFFFFF", "JJJJJ FFFFFFFF"])
def test_only_jokers_and_flowers(ask: Ask, rack: str) -> None:
    assert ask(rack=rack).json()["pass"] == ["F", "F", "F"]


def test_the_same_rack_in_any_order_and_any_form_gives_the_same_bytes(ask: Ask) -> None:
    limits = {"stay": ["F", "8d"], "go": ["E"], "no_pairs": True}
    first = ask(card="full", limits=limits, seen=["1b", "N"])
    assert first.status_code == 200
    shuffler = random.Random(11)
    for _ in range(8):
        shuffled = shuffler.sample(TOKENS, len(TOKENS))
        written: Any = shuffler.choice([shuffled, " ".join(shuffled), ",".join(shuffled).upper()])
        again = ask(card="full", rack=written, limits={**limits, "stay": ["8d", "F"]}, seen=["N", "1b"])
        assert again.content == first.content
        assert again.headers["x-request-id"] != first.headers["x-request-id"]


def test_numbers_have_twelve_decimals_at_most(ask: Ask) -> None:
    def numbers(value: object) -> list[float]:
        if isinstance(value, dict):
            return [n for part in value.values() for n in numbers(part)]
        if isinstance(value, list):
            return [n for part in value for n in numbers(part)]
        return [value] if isinstance(value, float) else []

    found = numbers(ask(hands=300).json())
    assert len(found) > 50
    assert all(n == round(n, 12) for n in found)


def test_effort_that_is_too_little_for_a_proof_is_said(ask: Ask) -> None:
    proof = ask(card="full", effort=1e-9).json()["proof"]
    assert proof["status"] == "feasible"
    assert proof["gap"] > 0


def test_clashing_limits_are_named(ask: Ask, problem: Callable[..., dict[str, Any]]) -> None:
    found = problem(ask(limits={"stay": "F F", "go": "F", "no_pairs": True}), "limits-clash")
    assert found["errors"] == [
        {"pointer": "#/limits/stay", "detail": "2 of flower must stay", "type": "limit"},
        {"pointer": "#/limits/go", "detail": "1 of flower must go", "type": "limit"},
    ]
    (alone,) = problem(ask(limits={"keep_hands": {"count": 20, "reach": 1}}), "limits-clash")["errors"]
    assert alone["pointer"] == "#/limits/keep_hands"


def test_a_card_of_ones_own_written_out_and_in_toml_gives_the_same(ask: Ask) -> None:
    hand = {"name": "Gate", "family": "gates", "groups": "np*4 (n+2)p*4 flower*6"}
    toml = '[card]\nname = "Mine"\n[[hand]]\n' + "\n".join(f"{k} = {json.dumps(v)}" for k, v in hand.items())
    written = ask(card={"card": {"name": "Mine"}, "hand": [hand]})
    assert written.status_code == 200
    assert written.json()["assumptions"]["card"] == {
        "name": "Mine",
        "title": "Mine",
        "hands": 1,
        "targets": 21,
    }
    assert ask(card={"toml": toml}).content == written.content
