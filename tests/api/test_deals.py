"""Deals over the wire, against the solver asked directly."""

from collections.abc import Callable
from typing import Any

import pytest

from patterns.tiles import Tile
from solver.coach.compose import Composition, Copies, Near, compose
from solver.deals import DealWish, Difficulty, find_deals
from solver.rounds import Drill
from tests.api.asking import SMALL, Ask, Faults, members, numbers_only, pointers, sent

FAMILIES = list(SMALL.families)
MOST = 2**63 - 1


@pytest.fixture
def deals(post: Ask) -> Callable[..., dict[str, Any]]:
    def ask(**wish: object) -> dict[str, Any]:
        response = post("/v1/deals", **{"seed": 7, "card": "small", **wish})
        assert response.status_code == 200
        body: dict[str, Any] = response.json()
        return body

    return ask


Deals = Callable[..., dict[str, Any]]


def wish(**wished: Any) -> DealWish:
    return DealWish(**{"card": SMALL, "seed": 7, "count": 1, **wished})


@pytest.mark.parametrize(
    ("asked", "same"),
    [
        ({"count": 3}, {"count": 3}),
        ({"count": 2, "difficulty": "clear", "tiles": 13}, {"difficulty": Difficulty.CLEAR, "size": 13}),
        ({"count": 2, "difficulty": "close", "start": 40}, {"difficulty": Difficulty.CLOSE, "start": 40}),
        ({"count": 2, "family": FAMILIES[0], "seed": MOST}, {"family": FAMILIES[0], "seed": MOST}),
        (
            {"count": 2, "jokers": 2, "drill": {"exchanges_left": 3, "then_draws": 9}},
            {"jokers": 2, "drill": Drill(3, 9)},
        ),
    ],
)
def test_the_deals_are_the_solvers(deals: Deals, asked: dict[str, Any], same: dict[str, Any]) -> None:
    body = deals(**asked, heap=True, answers=True)
    direct, tried = find_deals(wish(**{**same, "count": asked["count"]}))
    assert (body["complete"], body["seed"], body["tried"]) == (True, asked.get("seed", 7), tried)
    for told, found in zip(body["deals"], direct, strict=True):
        advice = found.advice
        gap = advice.behind(advice.runner_ups[0])
        assert advice.closeness is not None
        assert told["words"]["closeness"] == advice.closeness.value
        assert numbers_only(told) == {
            **members(found.deal, "index heap", rack=sent(found.deal.rack.tiles)),
            **members(advice, "pass closeness", gap=sent(gap), share=sent(gap / advice.strength)),
            "family": advice.hands[0].hand.family,
        }


def test_heap_and_answer_are_told_only_when_asked_for(deals: Deals) -> None:
    (found,) = deals()["deals"]
    assert (found["heap"], found["pass"]) == (None, None)


def test_a_deals_answer_is_the_advice_for_its_rack(deals: Deals, post: Ask) -> None:
    (found,) = deals(answers=True, limits={"no_pairs": True, "without": {"families": FAMILIES[:1]}})["deals"]
    limits = {"no_pairs": True, "without": {"families": FAMILIES[:1]}}
    advised = post("/v1/advice", rack=found["rack"], round="first_right", card="small", limits=limits).json()
    assert found["pass"] == advised["pass"]
    assert {key: found[key] for key in ("gap", "share")} == {
        key: advised["closeness"][key] for key in ("gap", "share")
    }
    assert found["closeness"] == advised["closeness"]["word"]


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        ({"family": "hats"}, ["#/family unknown-name"]),
        ({"family": ""}, ["#/family string-too-short"]),
        (
            {"limits": {"go": "E", "stay": ["F"], "without": {"hands": ["a"]}}, "family": "b"},
            pointers(
                "limits/stay no-use, limits/go no-use, limits/without/hands/0 unknown-name, "
                "family unknown-name"
            ),
        ),
        ({"limits": {"go": "zebra"}}, ["#/limits/go unknown-tile"]),
        ({"drill": {"exchanges_left": 3}, "tiles": 13}, ["#/tiles range"]),
        (
            {"card": "nope", "limits": {"go": "E"}, "drill": {"exchanges_left": 3}, "tiles": 13},
            ["#/card unknown-card", "#/limits/go no-use", "#/tiles range"],
        ),
        (
            {"count": 51, "budget": 0, "tiles": 15, "jokers": -1, "seed": MOST + 1},
            pointers(
                "seed less-than-equal, count less-than-equal, tiles less-than-equal, "
                "jokers greater-than-equal, budget greater-than-equal"
            ),
        ),
        (
            {"seed": -1, "start": 1.5, "count": True, "difficulty": "hard", "heap": 1},
            pointers(
                "seed greater-than-equal, count int-type, start int-type, difficulty enum, heap bool-type"
            ),
        ),
        (
            {"seed": None, "limits": {"go": "E"}, "card": 5},
            ["#/seed int-type", "#/card card-type", "#/limits/go no-use"],
        ),
        ({"drill": {"exchanges_left": 13}}, ["#/drill/exchanges_left less-than-equal"]),
        ({"limits": {"without": {"families": FAMILIES}}}, ["#/limits no-hand-left"]),
    ],
)
def test_faults(post: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]) -> None:
    assert faults(post("/v1/deals", **{"seed": 1, "card": "small", **wrong})) == expected


def test_a_seed_is_needed(post: Ask, faults: Faults) -> None:
    assert faults(post("/v1/deals", card="small")) == ["#/seed missing"]


def test_limits_that_no_deal_keeps(post: Ask) -> None:
    limits = {"keep_hands": {"count": 20, "reach": 1}}
    body = post("/v1/deals", seed=1, card="small", limits=limits, budget=5).json()
    assert (body["deals"], body["complete"], body["tried"]) == ([], False, 5)


def test_compositions_are_the_solvers(post: Ask) -> None:
    asked = {"count": 2, "difficulty": "clear", "tiles": 13, "apart": 6, "heap": True}
    near = [{"name": FAMILIES[0], "away": 5}, {"name": FAMILIES[1], "away": 6}]
    wished: dict[str, Any] = {"near": near, "jokers": 1, "flowers": 2, "holds": "5c N 5c"}
    answer = post("/v1/compositions", seed=7, card="small", **asked, **wished).json()
    wishes = (
        *(Near(("near", at), FAMILIES[at], each["away"]) for at, each in enumerate(near)),
        *(Copies(("jokers",), Tile.JOKER, 1, 1), Copies(("flowers",), Tile.FLOWER, 2, 2)),
        *(Copies(("holds",), Tile.C5, 2), Copies(("holds",), Tile.NORTH, 1)),
    )
    deals = wish(count=2, difficulty=Difficulty.CLEAR, size=13, budget=50)
    direct, tried = compose(Composition(deals, wishes, 6))
    assert (answer["tried"], answer["complete"], len(direct)) == (tried, True, 2)
    for told, found in zip(answer["deals"], direct, strict=True):
        assert (told["rack"], told["heap"]) == (sent(found.deal.rack.tiles), sent(found.deal.heap))
        assert (told["closeness"], told["index"]) == ("clear", found.deal.index)


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        (
            {"near": [{"name": "hats", "away": 3}], "holds": "zebra", "tiles": 13, "apart": 14},
            ["#/holds unknown-tile", "#/near/0/name unknown-name", "#/apart range"],
        ),
        (
            {"near": [{"name": "", "away": 15}]},
            ["#/near/0/name string-too-short", "#/near/0/away less-than-equal"],
        ),
        ({"near": [{"name": FAMILIES[0], "away": 6}], "jokers": 9}, ["#/jokers less-than-equal"]),
        (
            {"near": [{"name": FAMILIES[0], "away": 6}], "jokers": 1, "flowers": 2, "holds": "J J NN"},
            ["#/jokers limits-clash", "#/holds limits-clash"],
        ),
    ],
)
def test_faults_of_compositions(
    post: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]
) -> None:
    wanted = {"seed": 1, "card": "small", "difficulty": "clear", **wrong}
    assert faults(post("/v1/compositions", **wanted)) == expected
