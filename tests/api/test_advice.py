"""Advice over the wire, against the solver asked directly."""

import json
import random
import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from api import words
from api.answers.cards import checked
from patterns.card_file import shipped_card
from patterns.fit_file import shipped_fit
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.advice import Advice, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.gives import receivers
from solver.limits import Limits
from solver.rounds import Drill, Round
from solver.situation import Objective, Question
from solver.why import sensitivity
from tests.api.asking import (
    HAND,
    RACK,
    SMALL,
    TOKENS,
    Ask,
    Faults,
    arriving,
    card,
    members,
    numbers_only,
    pointers,
    sent,
)
from tests.api.conftest import Problem


def question(round_: Round, **members: Any) -> Question:
    return Question(SMALL, parse_rack(RACK), round_, **members)


def solver_says(advice: Advice) -> dict[str, Any]:
    """Return what the wire should say of advice, but for the hands and what was assumed."""
    gap = advice.behind(advice.runner_ups[0]) if advice.runner_ups else None
    before, cost = advice.hands.before, advice.limits_cost
    return {
        **members(advice, "pass strength expected_hands"),
        "strength_before": sent(before.strength),
        "expected_hands_before": sent(before.expected),
        "some_hand": sent(advice.hands.some_hand),
        "proof": {
            "status": "optimal",
            "bound": sent(advice.strength),
            "gap": 0,
            "resolution": pytest.approx(advice.resolution, rel=0.01),
        },
        "limits_cost": None if cost is None else members(cost, "strength expected_hands share"),
        "hands_in_reach": len(advice.hands),
        "alternatives": [
            members(each, "pass strength expected_hands", gap=sent(advice.behind(each)))
            for each in advice.runner_ups
        ],
        "closeness": {
            "word": sent(advice.closeness),
            "gap": sent(gap),
            "share": None if gap is None else sent(gap / advice.strength),
        },
        "by_number": [
            members(
                each,
                "pass strength expected_hands",
                give=len(each.passed),
                blind=advice.question.blind_beside(each.passed),
                gain=sent(each.strength - advice.by_number[0].strength),
            )
            for each in advice.by_number
        ],
        "families": [members(each, "name before after") for each in advice.families],
        "rack": TOKENS,
        "round": advice.question.round.value,
    }


@pytest.mark.parametrize(
    ("wanted", "asked"),
    [
        ({"card": "full", "alternatives": 3}, {"alternatives": 3}),
        ({"round": "first_left"}, {"round": Round.FIRST_LEFT}),
        ({"round": "courtesy", "objective": "sum"}, {"round": Round.COURTESY, "objective": Objective.SUM}),
        (
            {"limits": {"stay": "8d", "no_flowers": True, "no_pairs": True}},
            {"limits": Limits.of(stay=parse_tiles("8d"), no_flowers=True, no_pairs=True)},
        ),
        ({"drill": {"exchanges_left": 2, "then_draws": 20}}, {"drill": Drill(2, 20)}),
    ],
)
def test_the_answer_is_the_solvers(ask: Ask, wanted: dict[str, Any], asked: dict[str, Any]) -> None:
    body = ask(**wanted).json()
    of = shipped_card(wanted.get("card", "small"))
    fit = checked(shipped_fit(wanted.get("card", "small")), of)
    advice = advise(Question(of, parse_rack(RACK), asked.pop("round", Round.FIRST_RIGHT), fit=fit, **asked))
    says = numbers_only(body)
    for member, value in solver_says(advice).items():
        assert says[member] == value, member
    assert [(hand["name"], hand["alone"]) for hand in body["hands"]] == [
        (each.hand.name, sent(each.alone)) for each in advice.hands[:10]
    ]
    assert [loss["name"] for loss in body["given_up"]] == [loss.hand.name for loss in advice.given_up[:10]]
    assert body["why"] is None


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


def test_what_people_read_says_what_the_numbers_say(ask: Ask) -> None:
    body = ask(round="first_left", limits={"stay": "F F"}, why=True).json()
    said, best = body["words"], body["strength"]
    assert said["strength"] == words.strength_words(body["strength_before"], best)
    assert words.percent(body["some_hand"]) in said["some_hand"]
    assert "within your limits" in said["proof"]
    assert body["closeness"]["words"] == said["closeness"]
    for other in body["alternatives"]:
        assert other["words"]["strength"] == words.strength(other["strength"])
        assert other["words"]["loss"] == words.loss(other["gap"], best)
        assert other["words"]["pass"].startswith(Tile(other["pass"][0]).word)
    for hand in body["hands"]:
        assert hand["words"]["chance"] == words.percent(hand["reach"])
        assert str(hand["tiles_away"]) in hand["words"]["away"]
    for each in body["families"]:
        assert each["words"] == {name: words.percent(each[name]) for name in ("before", "after")}
    for loss in body["given_up"]:
        assert loss["words"]["lost"] == f"-{words.percent(loss['lost'])}"
    (chosen,) = [each for each in body["by_number"] if each["words"]["loss"] == "best"]
    assert chosen["pass"] == body["pass"]
    for cost in body["why"]["costs"]:
        if cost["cost"]:
            assert cost["words"]["loss"] == words.loss(cost["cost"], best)
    assert len(body["assumptions"]["words"]) == 8
    assert all(sentence.endswith(".") for sentence in body["assumptions"]["words"])


def test_assumptions(ask: Ask) -> None:
    first, second = SMALL.hands[:2]
    family = SMALL.families[0]
    body = ask(
        round="courtesy",
        give=1,
        seen="9b white",
        arrivals={"charleston": 1, "draws": 10, "claims": 5},
        limits={
            "stay": ["F", "F"],
            "no_pairs": True,
            "only": {"families": [family], "traits": ["two-suits", "three-suits"]},
            "without": {"hands": [first.name]},
            "weights": {second.name: 2.5},
            "keep_hands": {"count": 1, "reach": 0.000001},
        },
    ).json()
    assumptions = body["assumptions"]
    assert len(body["pass"]) == 1
    assert assumptions["arrivals_alone"] is None
    assert assumptions["arrivals"] == arriving(Arrivals.of(1, 10, 5))
    assert assumptions["card"] == {
        "name": "small",
        "title": SMALL.name,
        "id": SMALL.id,
        "hands": len(SMALL.hands),
        "targets": SMALL.target_count,
    }
    # 152 tiles less 14 in the rack and 2 seen; one of the rack's is a joker, of 8.
    assert assumptions["unseen"] == {"naturals": 129, "jokers": 7}
    limits = Limits.of(stay=parse_tiles("F F"), no_pairs=True)
    assert assumptions["limits"][:2] == [limit.says for limit in limits.on_pass]
    assert assumptions["limits"][3:] == [
        f"only hands of the families {family!r} or the traits two-suits, three-suits count",
        f"no hands of the names {first.name!r} count",
        f"{second.name!r} weighs 2.5",
    ]
    assert set(assumptions["versions"]) == {"threepass", "ortools"}


def test_the_full_card_and_the_rounds_arrivals_by_default(client: TestClient) -> None:
    body = client.post("/v1/advice", json={"rack": RACK, "round": "second_across"}).json()
    assert body["assumptions"]["card"]["name"] == "full"
    assert body["assumptions"]["arrivals"] == arriving(default_arrivals(Round.SECOND_ACROSS, 3))
    assert [len(body[member]) for member in ("pass", "alternatives", "hands")] == [3, 2, 10]
    assert body["assumptions"]["limits"] == []


def test_closeness_where_there_is_nothing_to_compare(ask: Ask) -> None:
    unasked, only = ask(alternatives=0).json(), ask(round="courtesy", give=0).json()
    nothing = ask(arrivals={"charleston": 0, "draws": 0, "claims": 0}).json()
    assert numbers_only(unasked["closeness"]) == {"word": None, "gap": None, "share": None}
    assert unasked["closeness"]["words"] == "not weighed: no runner-up was asked for"
    assert (only["pass"], only["alternatives"]) == ([], [])
    assert only["closeness"]["word"] == "only pass"
    assert (nothing["expected_hands"], nothing["hands"], nothing["hands_in_reach"]) == (0, [], 0)
    assert numbers_only(nothing["closeness"]) == {"word": "toss-up", "gap": 0, "share": None}


def test_the_same_question_in_any_order_and_any_form_gives_the_same_bytes(ask: Ask) -> None:
    limits = {"stay": ["F", "8d"], "go": ["E"], "no_pairs": True}
    asked: dict[str, Any] = {"card": "full", "why": True, "round": "first_left"}
    first = ask(**asked, limits=limits, seen=["1b", "N"])
    assert first.status_code == 200
    shuffler = random.Random(11)
    for _ in range(4):
        shuffled = shuffler.sample(TOKENS, len(TOKENS))
        written: Any = shuffler.choice([shuffled, " ".join(shuffled), ",".join(shuffled).upper()])
        again = ask(**asked, rack=written, limits={**limits, "stay": ["8d", "F"]}, seen=["N", "1b"])
        assert again.content == first.content
        assert again.headers["x-request-id"] != first.headers["x-request-id"]


def test_numbers_have_twelve_decimals_at_most_but_for_the_resolution(ask: Ask) -> None:
    text = re.sub(r'"resolution":[^,}]+', "", ask(hands=300).text)
    found = [float(written) for written in re.findall(r"[:\[,](-?\d+\.[-\de]+)", text)]
    assert len(found) > 50
    assert all(number == round(number, 12) for number in found)


def test_clashing_limits_are_named(ask: Ask, problem: Problem) -> None:
    found = problem(ask(limits={"stay": "F F", "go": "F", "no_pairs": True}), "limits-clash")
    assert [f"{item['pointer']} {item['type']}" for item in found["errors"]] == pointers(
        "limits/stay limit, limits/go limit"
    )
    (alone,) = problem(ask(limits={"keep_hands": {"count": 20, "reach": 1}}), "limits-clash")["errors"]
    assert alone["pointer"] == "#/limits/keep_hands"


def test_a_card_of_ones_own_written_out_and_in_toml_gives_the_same(ask: Ask) -> None:
    toml = '[card]\nname = "Mine"\n[[hand]]\n' + "\n".join(f"{k} = {json.dumps(v)}" for k, v in HAND.items())
    written = ask(card=card())
    assert written.status_code == 200
    assert written.json()["assumptions"]["card"] == {
        "name": "Mine",
        "title": "Mine",
        "id": "90c87dbf803d0af0",
        "hands": 1,
        "targets": 24,
    }
    assert ask(card={"toml": toml}).content == written.content


def test_why_is_the_solvers(ask: Ask) -> None:
    body = ask(why=True, limits={"stay": "J 8d", "no_flowers": True}).json()
    limits = Limits.of(stay=parse_tiles("8d J"), no_flowers=True)
    asked = question(Round.FIRST_RIGHT, limits=limits)
    advice = advise(asked)
    told = numbers_only(body["why"])
    assert told["costs"] == [
        {"tile": tile.value, **dict.fromkeys(("pass", "strength", "expected_hands", "cost"))}
        if best is None
        else members(best, "pass strength expected_hands", tile=tile.value, cost=sent(advice.behind(best)))
        for tile, best in advice.with_each.items()
    ]
    assert told["sensitivity"] == [
        members(each, "share pass same regret", arrivals=arriving(each.arrivals))
        for each in sensitivity(asked, advice.passed)
    ]
    by_tile = {cost["tile"]: cost for cost in told["costs"]}
    assert by_tile.keys() == set(TOKENS) - {"J"}
    # What must stay can go in no pass.
    for held in ("8d", "F"):
        assert by_tile[held] == dict.fromkeys(by_tile[held]) | {"tile": held}
    for tile in body["pass"]:
        assert (by_tile[tile]["cost"], by_tile[tile]["pass"]) == (0, body["pass"])


def test_what_a_pass_gives_away_is_told_when_asked_and_only_of_a_table(ask: Ask) -> None:
    assert ask().json()["gives_away"] is None
    body = ask(gives_away=True, round="first_across").json()
    told, passed = body["gives_away"], parse_tiles(" ".join(body["pass"]))
    assert told["gain"] == sent(receivers(SMALL).gain(passed, Objective.STRENGTH))
    assert told["usual"] == sent(receivers(SMALL).usual[Objective.STRENGTH])
    said = f"across from you about {100 * told['gain']:.0f} % stronger"
    assert said in told["words"] and f", {100 * told['usual']:.0f} %" in told["words"]
    drill = {"exchanges_left": 2, "then_draws": 8}
    assert ask(gives_away=True, drill=drill).json()["gives_away"] is None


def test_what_each_tile_is_worth_to_keep_is_what_passing_it_costs(ask: Ask) -> None:
    body = ask(why=True, limits={"stay": "8d"}).json()
    costs = {cost["tile"]: cost["cost"] for cost in body["why"]["costs"]}
    assert {each["tile"]: each["loss"] for each in body["keep"]} == costs
    for each in body["keep"]:
        goes, loss = each["tile"] in body["pass"], each["loss"]
        said = "stays" if loss is None else "goes" if goes else words.percent(loss / body["strength"])
        assert each["words"] == {"worth": said}
    assert [each["words"]["worth"] for each in body["keep"] if each["tile"] == "8d"] == ["stays"]
    assert ask(round="courtesy", give=0).json()["keep"] == []


@pytest.mark.parametrize("mine", ["E 1d W", "2b 1d W", ["4c", "5c", "5c"]])
def test_a_pass_of_ones_own(ask: Ask, mine: Any) -> None:
    limits = {"no_pairs": True}
    body = ask(card="full", mine=mine, limits=limits).json()
    passed = parse_tiles(mine)
    asked = Question(
        shipped_card("full"),
        parse_rack(RACK),
        Round.FIRST_RIGHT,
        limits=Limits.of(no_pairs=True),
        mine=passed,
    )
    own, told = advise(asked).mine, body["mine"]
    assert own is not None
    hands = {
        part: [
            members(each.hand, "name family", reach_best=sent(each.before), reach=sent(each.after))
            for each in getattr(own, part)
        ]
        for part in ("keeps", "loses")
    }
    assert numbers_only(told) == members(
        own, "pass strength expected_hands gap share rank of", **hands, within_limits=len(set(passed)) == 3
    )
    assert f"Place {own.rank} of {own.of} " in told["words"]["rank"]
    assert (told["words"]["limits"] is None) is told["within_limits"]
    without = ask(card="full", limits=limits).json()
    assert {**body, "mine": None} == without


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        (
            {"drill": {"exchanges_left": 0, "then_draws": 61}, "why": 1},
            pointers(
                "drill/exchanges_left greater-than-equal, drill/then_draws less-than-equal, why bool-type"
            ),
        ),
        (
            {"drill": {"exchanges_left": 13}, "give": 1, "rack": "zebra"},
            pointers("drill/exchanges_left less-than-equal, give give, rack unknown-tile, rack wrong-count"),
        ),
        ({"mine": "E W", "round": "courtesy", "give": 3}, ["#/mine wrong-count"]),
        ({"mine": "J 9b W W"}, ["#/mine wrong-count", "#/mine joker", "#/mine not-held", "#/mine not-held"]),
        ({"mine": "zebra", "give": 1}, ["#/mine unknown-tile", "#/give give"]),
    ],
)
def test_faults(ask: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]) -> None:
    assert sorted(faults(ask(**wrong))) == sorted(expected)
