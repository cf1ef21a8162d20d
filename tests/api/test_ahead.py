"""The vote and plans over the wire, against the solver asked directly."""

import random
from typing import Any

import pytest

from patterns.rack import parse_rack, parse_tiles
from solver.ahead import Verdict, vote
from solver.arrivals import Arrivals
from solver.limits import Choice, Limits
from solver.plan import MAX_ROUNDS, plan
from solver.rounds import Round
from solver.situation import Question
from tests.api.asking import (
    FIT,
    RACK,
    SMALL,
    TOKENS,
    Ask,
    Faults,
    all_seen_but,
    arriving,
    members,
    numbers_only,
    pointers,
    sent,
)

VOTE: dict[str, Any] = {"rack": RACK, "card": "small", "samples": 2, "seed": 5}
PLAN: dict[str, Any] = {"rack": RACK, "card": "small", "round": "first_right"}


def test_the_vote_is_the_solvers(post: Ask) -> None:
    families, name = SMALL.families[:2], SMALL.hands[0].name
    limits = {"only": {"families": families}, "weights": {name: 2.5}}
    arrivals = {"charleston": 9, "draws": 20, "claims": 10}
    body = post(
        "/v1/votes", **{**VOTE, "samples": 3}, seen="9b white", courtesy=1, arrivals=arrivals, limits=limits
    ).json()
    question = Question(
        SMALL,
        parse_rack(RACK),
        Round.SECOND_LEFT,
        seen=parse_tiles("9b white"),
        arrivals=Arrivals.of(0, 20, 10),
        limits=Limits.of(only=Choice(families=tuple(families)), weights=((name, 2.5),)),
    )
    direct = vote(question, courtesy=1, samples=3, seed=5)
    assert body["verdict"] == direct.verdict.value in {verdict.value for verdict in Verdict}
    assert (body["stop"], body["go_on"]) == (sent(direct.stop.value), sent(direct.go_on.value))
    assert (body["difference"], body["error"]) == (sent(direct.difference), sent(direct.error))
    assert body["some_hand"] is None  # nothing was measured with arrivals of one's own
    assert body["difference"] == pytest.approx(body["go_on"] - body["stop"], abs=2e-12)
    assert body["samples"] == direct.samples == 3
    assert body["error"] > 0
    # Those that hold once the exchanges are over.
    assert body["assumptions"]["arrivals"] == arriving(Arrivals.of(0, 20, 10))
    assert body["assumptions"]["limits"] == [
        f"only hands of the families {families[0]!r}, {families[1]!r} count",
        f"{name!r} weighs 2.5",
    ]
    assert body["assumptions"]["unseen"] == {"naturals": 129, "jokers": 7}
    assert ("going on" in body["words"]["difference"]) is (body["difference"] > 0)


def test_a_vote_says_the_chance_of_some_hand_where_it_was_measured(post: Ask) -> None:
    body = post("/v1/votes", **VOTE).json()
    question = Question(SMALL, parse_rack(RACK), Round.SECOND_LEFT, fit=FIT)
    direct = vote(question, courtesy=2, samples=2, seed=5)
    chances = {
        "stop": direct.stop.chance,
        "go_on": direct.go_on.chance,
        "low": direct.low,
        "high": direct.high,
    }
    assert body["some_hand"] == {name: sent(chance) for name, chance in chances.items()}
    for way in ("stop", "go_on"):
        assert f"{100 * chances[way]:.1f} % to complete some hand" in body["words"][way]


def test_a_vote_says_no_limit_that_did_not_hold(post: Ask) -> None:
    plain = post("/v1/votes", **VOTE)
    limited = post("/v1/votes", **VOTE, limits={"stay": "F", "no_pairs": True})
    assert plain.json()["assumptions"]["limits"] == []
    assert limited.content == plain.content


@pytest.mark.parametrize(("path", "question"), [("/v1/votes", VOTE), ("/v1/plans", PLAN)])
def test_the_same_in_any_order_is_the_same_bytes(post: Ask, path: str, question: dict[str, Any]) -> None:
    first = post(path, **question, seen=["1b", "N"])
    assert first.status_code == 200
    shuffled = random.Random(3).sample(TOKENS, len(TOKENS))
    for rack in (RACK, shuffled, ",".join(shuffled).upper()):
        again = post(path, **{**question, "rack": rack}, seen=["N", "1b"])
        assert again.content == first.content


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        (
            {"samples": 101, "courtesy": 4, "seed": 2**63},
            ["#/courtesy less-than-equal", "#/samples less-than-equal", "#/seed less-than-equal"],
        ),
        ({"round": "courtesy", "seen": "lion"}, ["#/round extra-forbidden", "#/seen unknown-tile"]),
        # With fourteen of one's own and these seen, too few come in.
        (
            {"seen": all_seen_but(10), "arrivals": {"charleston": 0, "draws": 0, "claims": 0}},
            ["#/seen range"],
        ),
        ({"arrivals": {"charleston": 0, "draws": 66, "claims": 62}}, ["#/arrivals range"]),
    ],
)
def test_faulty_votes(post: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]) -> None:
    assert faults(post("/v1/votes", **{**VOTE, **wrong})) == expected


def test_the_plan_is_the_solvers(post: Ask) -> None:
    body = post("/v1/plans", **PLAN, seen="9b", limits={"stay": "8d", "no_pairs": True}).json()
    limits = Limits.of(stay=parse_tiles("8d"), no_pairs=True)
    seen = parse_tiles("9b")
    direct = plan(Question(SMALL, parse_rack(RACK), Round.FIRST_RIGHT, seen=seen, limits=limits), 2)
    assert numbers_only(body) == {
        "rounds": [
            members(each, "pass strength expected_hands", round=round_)
            for round_, each in zip(("first_right", "first_across"), direct.rounds, strict=True)
        ],
        "total": sent(direct.total),
        "proof": {"status": "optimal", "gap": 0, "resolution": pytest.approx(direct.resolution, rel=0.01)},
    }
    assert body["total"] == pytest.approx(sum(each["strength"] for each in body["rounds"]))
    gone = [tile for each in body["rounds"] for tile in each["pass"]]
    assert len(gone) == 6 and all(gone.count(tile) <= TOKENS.count(tile) for tile in gone)
    assert "8d" not in body["rounds"][0]["pass"]


@pytest.mark.parametrize(
    ("round_", "noted"), [("first_right", False), ("first_across", True), ("second_left", False)]
)
def test_a_plan_says_when_it_assumes_a_second_charleston(post: Ask, round_: str, noted: bool) -> None:
    body = post("/v1/plans", **{**PLAN, "round": round_}, rounds=3).json()
    assert (body["words"]["note"] is not None) is noted


def test_no_more_rounds_are_planned_than_can_be_played(post: Ask, faults: Faults) -> None:
    last: dict[str, Any] = {**PLAN, "round": "courtesy"}
    assert len(post("/v1/plans", **last).json()["rounds"]) == 1
    assert faults(post("/v1/plans", **last, rounds=2)) == ["#/rounds range"]
    drill = {"exchanges_left": 1}
    assert len(post("/v1/plans", **PLAN, drill=drill).json()["rounds"]) == 1
    assert faults(post("/v1/plans", **PLAN, drill=drill, rounds=3)) == ["#/rounds range"]


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        (
            {"rounds": MAX_ROUNDS + 1, "round": "third", "give": 4, "drill": {"exchanges_left": 13}},
            pointers(
                "round enum, give less-than-equal, drill/exchanges_left less-than-equal, "
                "rounds less-than-equal"
            ),
        ),
        (
            {"give": 2, "alternatives": 1, "limits": {"stay": "FFF"}},
            ["#/alternatives extra-forbidden", "#/give give", "#/limits/stay not-held"],
        ),
    ],
)
def test_faulty_plans(post: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]) -> None:
    assert faults(post("/v1/plans", **{**PLAN, **wrong})) == expected
