"""Problems and their key over HTTP, compared with what the other operations say of the same racks."""

from collections.abc import Callable
from typing import Any

import httpx2
import pytest

from api.wire.sheets import MAX_RACKS
from solver.deals import MAX_BUDGET

RACK = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
OTHER = "1b 1b 2b 3c 3c 4d 7d 9d N S red F J"
FAMILIES = ["ladders", "mirrors", "gardens", "couples", "giants"]
Post = Callable[..., httpx2.Response]
Sheet = Callable[..., dict[str, Any]]
Faults = Callable[[httpx2.Response], list[tuple[str, str]]]


@pytest.fixture
def sheet(post: Post) -> Sheet:
    """Ask for a sheet of the small card."""

    def ask(**members: object) -> dict[str, Any]:
        response = post("/v1/sheets", **{"card": "small", **members})
        assert response.status_code == 200, response.text
        found: dict[str, Any] = response.json()["sheet"]
        return found

    return ask


def agrees(answer: dict[str, Any], advised: dict[str, Any]) -> None:
    """Check an answer of a key against the advice for the same rack."""
    assert answer["pass"] == advised["pass"]
    assert answer["expected_hands"] == advised["expected_hands"]
    assert answer["proved"] is (advised["proof"]["status"] == "optimal")
    assert (answer["call"], answer["gap"]) == (advised["call"]["word"], advised["call"]["gap"])
    assert answer["runner_ups"] == [
        {"pass": other["pass"], "gap": other["gap"]} for other in advised["alternatives"]
    ]
    assert [hand["name"] for hand in answer["hands"]] == [hand["name"] for hand in advised["hands"]][:3]
    assert [hand["reach"] for hand in answer["hands"]] == [hand["reach"] for hand in advised["hands"]][:3]
    assert [loss["name"] for loss in answer["given_up"]] == [loss["name"] for loss in advised["given_up"]][:2]
    assert [each["pass"] for each in answer["by_number"]] == [each["pass"] for each in advised["by_number"]]
    best = next(each for each in advised["by_number"] if each["pass"] == advised["pass"])
    assert answer["blind"] == best["blind"]


@pytest.mark.parametrize("round_", ["first_right", "first_left", "courtesy"])
def test_the_key_of_own_racks_is_the_advice(sheet: Sheet, post: Post, round_: str) -> None:
    found = sheet(racks=[RACK, OTHER.split(), {"rack": RACK, "round": "second_across"}], round=round_)
    assert [problem["number"] for problem in found["problems"]] == [1, 2, 3]
    assert [problem["round"] for problem in found["problems"]] == [round_, round_, "second_across"]
    assert [problem["index"] for problem in found["problems"]] == [None] * 3
    assert (found["seed"], found["difficulty"], found["complete"], found["tried"]) == (None, None, True, 3)
    for problem, answer in zip(found["problems"], found["key"], strict=True):
        asked = {"rack": problem["rack"], "round": problem["round"], "card": "small"}
        agrees(answer, post("/v1/advice", **asked).json())


def test_dealt_racks_are_those_of_the_deals(sheet: Sheet, post: Post) -> None:
    wish = {"seed": 7, "count": 3, "difficulty": "close", "jokers": 1, "card": "small"}
    found, deals = sheet(**wish), post("/v1/deals", **wish, answers=True).json()
    assert [problem["index"] for problem in found["problems"]] == [deal["index"] for deal in deals["deals"]]
    assert [problem["rack"] for problem in found["problems"]] == [deal["rack"] for deal in deals["deals"]]
    assert [answer["pass"] for answer in found["key"]] == [deal["pass"] for deal in deals["deals"]]
    assert [answer["call"] for answer in found["key"]] == [deal["call"] for deal in deals["deals"]]
    assert (found["seed"], found["difficulty"], found["complete"]) == (7, "close", True)
    assert found["tried"] == deals["tried"]


def test_difficulty_is_measured_in_the_round_asked_for(sheet: Sheet, post: Post) -> None:
    found = sheet(seed=3, count=4, difficulty="clear", round="courtesy", budget=60)
    assert found["problems"]
    for problem, answer in zip(found["problems"], found["key"], strict=True):
        assert problem["round"] == "courtesy"
        assert answer["call"] in ("clear", "only pass")
        agrees(answer, post("/v1/advice", rack=problem["rack"], round="courtesy", card="small").json())


def test_limits_arrivals_and_drill_hold_for_every_rack(sheet: Sheet, post: Post) -> None:
    arrivals, limits = {"charleston": 6, "draws": 10, "claims": 8}, {"no_pairs": True}
    more: dict[str, Any] = {"arrivals": arrivals, "limits": limits, "effort": 4.0}
    found = sheet(racks=[RACK], **more)
    agrees(found["key"][0], post("/v1/advice", rack=RACK, round="first_right", card="small", **more).json())
    assert (found["arrivals"], found["limits"]) == (arrivals, ["no two alike may go"])
    drill = {"exchanges_left": 2, "then_draws": 8}
    found = sheet(seed=1, drill=drill)
    (problem,), (answer,) = found["problems"], found["key"]
    asked = {"rack": problem["rack"], "round": "first_right", "card": "small", "drill": drill}
    agrees(answer, post("/v1/advice", **asked).json())
    assert found["drill"] == drill


def test_the_same_request_is_the_same_bytes(post: Post) -> None:
    members: dict[str, Any] = {"seed": 3, "count": 2, "card": "small", "difficulty": "close"}
    first = post("/v1/sheets", **members)
    assert first.status_code == 200
    assert post("/v1/sheets", **members).content == first.content


def test_a_problem_can_be_had_again_by_its_index(sheet: Sheet) -> None:
    whole = sheet(seed=7, count=2, difficulty="clear")
    again = sheet(seed=7, start=whole["problems"][1]["index"], budget=1)
    assert again["problems"][0] == {**whole["problems"][1], "number": 1}
    assert again["key"][0] == {**whole["key"][1], "number": 1}


def test_without_a_key(sheet: Sheet) -> None:
    with_key = sheet(racks=[RACK, OTHER])
    assert sheet(racks=[RACK, OTHER], key=False) == {**with_key, "key": []}
    dealt = sheet(seed=7, count=2, difficulty="clear")
    assert sheet(seed=7, count=2, difficulty="clear", key=False) == {**dealt, "key": []}


def test_a_budget_that_ends_gives_what_was_found(sheet: Sheet) -> None:
    found = sheet(seed=7, count=5, jokers=8, budget=MAX_BUDGET)
    assert (found["problems"], found["key"]) == ([], [])
    assert (found["complete"], found["tried"]) == (False, MAX_BUDGET)


def test_the_card_has_its_name_and_its_title(sheet: Sheet) -> None:
    assert sheet(seed=1)["card"] == {"name": "small", "title": "Orchard"}
    toml = '[card]\nname = "Mine"\n[[hand]]\nname = "A"\nfamily = "b"\ngroups = "np*4 (n+2)p*4 flower*6"\n'
    assert sheet(seed=1, card={"toml": toml})["card"] == {"name": "Mine", "title": "Mine"}


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({}, [("#/seed", "missing")]),
        ({"racks": []}, [("#/racks", "too-short")]),
        ({"racks": [RACK] * (MAX_RACKS + 1)}, [("#/racks", "too-long")]),
        (
            {"racks": [RACK, "zebra", "2b", 5, {"rack": RACK, "round": "x"}, {"round": "courtesy"}, None]},
            [
                ("#/racks/1", "unknown-tile"),
                ("#/racks/1", "wrong-count"),
                ("#/racks/2", "wrong-count"),
                ("#/racks/3", "tiles-type"),
                ("#/racks/4/round", "enum"),
                ("#/racks/5/rack", "missing"),
                ("#/racks/6", "tiles-type"),
            ],
        ),
        (
            {"racks": [{"rack": "2b", "hat": 1}]},
            [("#/racks/0/rack", "wrong-count"), ("#/racks/0/hat", "extra-forbidden")],
        ),
        (
            {"racks": [RACK], "seed": 1, "count": 1, "budget": 5, "difficulty": "any"},
            [("#/seed", "no-use"), ("#/count", "no-use"), ("#/difficulty", "no-use"), ("#/budget", "no-use")],
        ),
        ({"racks": [OTHER], "drill": {"exchanges_left": 2}}, [("#/racks/0/rack", "wrong-count")]),
        ({"seed": 1, "drill": {"exchanges_left": 2}, "tiles": 13}, [("#/tiles", "range")]),
        ({"seed": 1, "family": "hats"}, [("#/family", "unknown-name")]),
        ({"seed": 1, "limits": {"stay": "F"}}, [("#/limits/stay", "no-use")]),
        ({"racks": [RACK], "limits": {"go": "E"}}, [("#/limits/go", "no-use")]),
        ({"racks": [RACK], "limits": {"without": {"families": FAMILIES}}}, [("#/limits", "no-hand-left")]),
        (
            {"racks": [RACK, OTHER], "arrivals": {"charleston": 100, "draws": 100, "claims": 0}},
            [("#/arrivals", "range")],
        ),
        ({"seed": 1, "effort": 21}, [("#/effort", "less-than-equal")]),
        ({"seed": 1, "round": "last"}, [("#/round", "enum")]),
        ({"seed": -1, "count": 51}, [("#/seed", "greater-than-equal"), ("#/count", "less-than-equal")]),
    ],
)
def test_faults(post: Post, faults: Faults, members: dict[str, Any], expected: list[tuple[str, str]]) -> None:
    assert sorted(faults(post("/v1/sheets", card="small", **members))) == sorted(expected)


def test_every_rack_that_no_pass_fits_is_named(post: Post, faults: Faults) -> None:
    limits = {"keep_hands": {"count": 20, "reach": 1.0}}
    refused = post("/v1/sheets", card="small", racks=[RACK, OTHER], limits=limits)
    assert faults(refused) == [("#/racks/0", "limits-clash"), ("#/racks/1", "limits-clash")]


def test_arrivals_that_do_not_fit_refuse_a_dealt_sheet(post: Post, faults: Faults) -> None:
    arrivals = {"charleston": 100, "draws": 100, "claims": 0}
    assert faults(post("/v1/sheets", card="small", seed=1, arrivals=arrivals)) == [("#/arrivals", "range")]
