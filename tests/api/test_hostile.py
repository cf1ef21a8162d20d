"""Bodies made to hang or exhaust the server: each is refused by a cap, and the server goes on."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from patterns.card_file import MAX_ALTERNATIVES, MAX_HANDS, MAX_TARGETS

Faults = Callable[[httpx2.Response], list[tuple[str, str]]]
Ask = Callable[..., httpx2.Response]
MANY = "np*1 (n+1)p*1 nq*1 wind1*1 wind2*3 dragon1*3 dragon2*4"  # 8 ranks x 6 suits x 12 winds x 6 dragons


def card(*hands: dict[str, object]) -> dict[str, Any]:
    return {"card": {"name": "a"}, "hand": list(hands)}


def hand(index: int, groups: object = "np*4 (n+2)p*4 flower*6") -> dict[str, object]:
    return {"name": f"h{index}", "family": "b", "groups": groups}


@pytest.fixture(autouse=True)
def still_ready(client: TestClient) -> Iterator[None]:
    yield
    assert client.get("/readyz").status_code == 200


def test_ten_thousand_hands(ask: Ask, faults: Faults) -> None:
    assert faults(ask(card=card(*map(hand, range(10_000))))) == [("#/card/hand", "too-long")]


def test_as_many_hands_as_are_allowed(ask: Ask) -> None:
    body = ask(card=card(*map(hand, range(MAX_HANDS - 20))), alternatives=0, hands=300).json()
    assert body["assumptions"]["card"]["targets"] == (MAX_HANDS - 20) * 21 <= MAX_TARGETS
    assert body["proof"]["status"] == "optimal"


def test_more_targets_than_allowed(ask: Ask, faults: Faults) -> None:
    # 3,456 targets a hand: the second is one too many.
    assert faults(ask(card=card(hand(0, MANY), hand(1, MANY), hand(2, MANY)))) == [
        ("#/card/hand/1", "too-many-targets")
    ]
    assert faults(ask(card=card(*map(hand, range(286))))) == [("#/card/hand/285", "too-many-targets")]


def test_more_alternatives_than_allowed(ask: Ask, faults: Faults) -> None:
    deep = card(hand(0, ["flower*6 5p*4 6p*4"] * (MAX_ALTERNATIVES + 1)))
    assert faults(ask(card=deep)) == [("#/card/hand/0/groups", "too-long")]
    nested = card(hand(0, [["flower*6 5p*4 6p*4"]]))
    assert faults(ask(card=nested)) == [("#/card/hand/0/groups/0", "string-type")]


def test_notation_that_is_too_long(ask: Ask, faults: Faults) -> None:
    assert faults(ask(card=card(hand(0, "5p*1 " * 100)))) == [("#/card/hand/0/groups", "string-too-long")]


@pytest.mark.parametrize(
    "toml",
    [
        "[" * 200_000,
        "a = " + "[" * 200_000,
        "a = " + "{a=" * 100_000,
        "a = " + "9" * 900_000,
        "[[hand]]\n" * 100_000,
        "a = '" + "x" * 900_000,
    ],
)
def test_toml_that_is_deep_or_long(ask: Ask, problem: Callable[..., Any], toml: str) -> None:
    found = problem(ask(card={"toml": toml}), "invalid")
    assert {item["pointer"] for item in found["errors"]} == {"#/card/toml"}


def test_ninety_thousand_members_are_counted_but_not_listed(
    client: TestClient, problem: Callable[..., Any]
) -> None:
    body = json.dumps({f"k{index}": 1 for index in range(60_000)})
    response = client.post("/v1/advice", content=body, headers={"content-type": "application/json"})
    found = problem(response, "invalid")
    assert found["detail"] == "the request has 60002 faults"
    assert len(found["errors"]) == 101


def test_many_names_in_limits(ask: Ask, faults: Faults) -> None:
    names = [f"h{index}" for index in range(400)]
    limits = {"only": {"hands": names}, "weights": dict.fromkeys(names, 1)}
    assert faults(ask(limits=limits)) == [
        ("#/limits/only/hands", "too-long"),
        ("#/limits/weights", "too-long"),
    ]


@pytest.mark.parametrize("depth", [10, 500, 900, 990])
def test_nesting_that_can_just_be_read(client: TestClient, depth: int) -> None:
    nested = "[" * depth + "]" * depth
    headers = {"content-type": "application/json"}
    for member in ("rack", "round", "card", "limits", "effort", "other"):
        body = f'{{"round": "courtesy", "{member}": {nested}}}'
        assert client.post("/v1/advice", content=body, headers=headers).status_code in (400, 422)
        check = client.post("/v1/cards/check", content=f'{{"card": {nested}}}', headers=headers)
        assert check.status_code in (200, 400)


def test_a_card_of_many_choices_that_merge(ask: Ask, faults: Faults) -> None:
    # 9 ranks x 6 suits x 12 winds x 6 dragons an alternative, all of them trying the same targets.
    same = ["np*2 nq*2 nr*2 wind1*2 wind2*2 dragon1*2 dragon2*2"] * MAX_ALTERNATIVES
    assert faults(ask(card=card(*(hand(index, same) for index in range(5))))) == [
        ("#/card/hand/0", "too-many-targets")
    ]


def test_toml_with_a_key_of_many_parts(ask: Ask, faults: Faults) -> None:
    assert faults(ask(card={"toml": "a." * 30_000 + "a = 1"})) == [("#/card/toml", "toml")]
