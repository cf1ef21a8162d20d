"""Grades over the wire, against the solver and against the program's own play; faulty records."""

from collections.abc import Callable
from typing import Any

import pytest
from starlette.testclient import TestClient

from api import words
from api.session import mean
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.arrivals import default_arrivals
from solver.coach.review import MAX_EXCHANGES, Exchange, GradedPass, Record, review
from solver.limits import Limits
from solver.rounds import Round
from tests.api.asking import (
    ACROSS,
    COURTESY,
    LEFT,
    RACK,
    RIGHT,
    SMALL,
    Ask,
    Faults,
    members,
    numbers_only,
    pointers,
    record,
    sent,
)
from tests.api.conftest import Problem

Graded = Callable[..., dict[str, Any]]
# Naturals unseen before a first right pass and after it, less those to come by exchanges and 70 draws.
EXCHANGED = default_arrivals(Round.FIRST_RIGHT, 3).charleston
CLAIMS_BEFORE, CLAIMS_AFTER = 131 - EXCHANGED - 70, 128 - EXCHANGED - 70
BAD_TILES = {**RIGHT, "given": ["5c", "zebra", "E"], "received": 5}
PLAYED = [
    Exchange(Round.FIRST_RIGHT, parse_tiles("5c 5c E"), parse_tiles("3b 9c N"), seconds=41.5),
    Exchange(Round.FIRST_ACROSS, parse_tiles("9c N 6c"), parse_tiles("5b S white"), seconds=38),
    Exchange(Round.FIRST_LEFT, parse_tiles("S white"), parse_tiles("5c 2d"), 1, 39.5),
    Exchange(Round.COURTESY, parse_tiles("W"), parse_tiles("F")),
]


def pass_of(graded: GradedPass) -> dict[str, Any]:
    """Return what the wire should say of a pass, but for the sentence."""
    best, exchange = graded.best, graded.exchange
    assert graded.hindsight is not None
    return {
        **members(best.question, "seen", rack=sent(best.question.rack.tiles)),
        **members(exchange, "round blind seconds"),
        **members(graded, "given_up share within_resolution"),
        **members(graded.made, "strength expected_hands"),
        "given": sorted(sent(exchange.given), key=by_position),
        "received": sorted(sent(exchange.came), key=by_position),
        "best": members(best, "pass strength expected_hands blind", give=len(best.passed)),
        "reasons": [
            members(each.hand, "name family", reach_best=sent(each.before), reach_made=sent(each.after))
            for each in graded.made.loses
        ],
        "hindsight": members(graded.hindsight, "pass strength expected_hands made", note="not graded"),
    }


def by_position(token: str) -> int:
    return Tile(token).position


def test_the_grades_are_the_solvers(graded: Graded) -> None:
    name = SMALL.hands[0].name
    limits = {"no_flowers": True, "weights": {name: 2}}
    body = graded(record(RIGHT, ACROSS, LEFT, COURTESY, limits=limits), record(RIGHT, ACROSS, LEFT))
    rack = parse_rack(RACK)
    own = Limits.of(no_flowers=True, weights=((name, 2.0),))
    first = review(Record(SMALL, rack, tuple(PLAYED), limits=own))
    second = review(Record(SMALL, rack, tuple(PLAYED[:3])))
    assert list(body) == ["reviews", "session"]
    for told, direct in zip(body["reviews"], (first, second), strict=True):
        assert numbers_only(told["passes"]) == [pass_of(each) for each in direct.passes]
        assert told["given_up"] == round(direct.given_up, 12) > 0
        assert told["costliest"]["pass_index"] == direct.costliest
        assert told["strength"] == round(direct.hands.after.strength, 12)
        assert told["expected_hands"] == round(direct.hands.after.expected, 12)
        assert [hand["name"] for hand in told["hands"]] == [s.hand.name for s in direct.hands[:5]]
        assert told["tiles_away"] == direct.tiles_away
    untimed, timed = body["reviews"]
    assert (untimed["seconds"], untimed["time"], untimed["pace"]) == (None, None, None)
    assert (timed["seconds"], timed["time"], timed["pace"]) == (119, "1:59.0", None)
    passes = [*first.passes, *second.passes]
    given_up = first.given_up + second.given_up
    assert numbers_only(body["session"]) == {
        "laps": 2,
        "timed": 1,
        "seconds": 119,
        "time": "1:59.0",
        "given_up": round(given_up / 2, 12),
        "share": round(given_up / sum(each.best.strength for each in passes), 12),
        "tiles_away": (first.tiles_away + second.tiles_away) / 2,
        # Of passes, not of laps: there are four and three.
        "within_resolution": round(sum(each.within_resolution for each in passes) / 7, 12),
    }


def test_means_are_exact_and_rounded_once() -> None:
    """Adding 0.1 ten times in floats gives 0.9999999999999999; 182 seconds are three times 60.666..."""
    assert mean([0.1] * 10) == 0.1
    assert mean([60.0, None, 61.0, 61.0]) == 182 / 3
    assert mean([None]) is None


def test_times_are_averaged_in_seconds_and_have_a_pace_when_whole(graded: Graded) -> None:
    six = [{"round": "first_right", "given": "W", "received": "N"} for _ in range(6)]
    for exchange in six[1::2]:
        exchange.update(given="N", received="W")
    for exchange in six:
        exchange.update(round="courtesy", seconds=20.0)
    laps = [record({**RIGHT, "seconds": seconds}) for seconds in (119, 122, 240.5)]
    body = graded(*laps, record({**RIGHT, "seconds": None}), record(*six, drill=True))
    assert [each["pace"] for each in body["reviews"]] == [None] * 4 + ["advanced"]
    assert [each["time"] for each in body["reviews"]] == ["1:59.0", "2:02.0", "4:00.5", None, "2:00.0"]
    assert body["reviews"][4]["words"]["time"] == "2:00.0 in all, pace: advanced"
    session = body["session"]
    assert (session["laps"], session["timed"], session["seconds"]) == (5, 4, 150.375)
    assert session["words"]["time"] == "2:30.4 a lap, over the 4 timed"


def test_what_was_advised_gives_up_nothing(post: Ask, graded: Graded) -> None:
    given = post("/v1/advice", rack=RACK, card="small", round="first_right").json()["pass"]
    (told,) = graded(record({**RIGHT, "given": given}))["reviews"]
    (only,) = told["passes"]
    assert (only["best"]["pass"], only["reasons"], told["given_up"]) == (given, [], 0)
    assert (only["why"], told["costliest"]) == ("This pass is as good as the best.", None)


def test_hindsight_is_no_part_of_the_grade(graded: Graded) -> None:
    lucky, unlucky = (
        graded(record({**RIGHT, "received": received}))["reviews"][0]["passes"][0]
        for received in ("F F F", "9c 1c N")
    )
    assert lucky["hindsight"]["note"] == "not graded"
    assert lucky["hindsight"] != unlucky["hindsight"]
    for each in (lucky, unlucky):
        assert each.pop("hindsight")["expected_hands"] >= 0
        del each["received"]
    assert lucky == unlucky


def test_the_costliest_pass_is_named(graded: Graded) -> None:
    (told,) = graded(record(RIGHT, ACROSS, LEFT, COURTESY, card="full"))["reviews"]
    for each in told["passes"]:
        assert each["words"]["lost"] == words.fine(each["given_up"])
        if not each["within_resolution"]:
            assert words.loss(each["given_up"], each["best"]["strength"]) in each["why"]
            assert all(Tile(tile).word in each["why"] for tile in each["best"]["pass"])
    index = told["costliest"]["pass_index"]
    worst = told["passes"][index]
    assert told["costliest"] == {"pass_index": index, **{k: worst[k] for k in ("round", "given_up", "why")}}
    assert worst["given_up"] == max(each["given_up"] for each in told["passes"])


def test_each_record_has_its_own_card_and_arrivals(graded: Graded) -> None:
    few = {"charleston": 99, "draws": 5, "claims": 5}
    many = {**few, "draws": 25, "claims": 25}
    body = graded(record(), record(arrivals=few), record(arrivals=many), record(card="full"))
    default, low, high, full = (each["expected_hands"] for each in body["reviews"])
    assert low < default < high
    assert full not in (low, default, high)


def test_as_many_records_and_exchanges_as_are_allowed(graded: Graded) -> None:
    to_and_fro = [
        {"round": "courtesy", "given": "W", "received": "N"},
        {"round": "courtesy", "given": "N", "received": "W"},
    ]
    long = record(*to_and_fro * (MAX_EXCHANGES // 2), drill=True)
    brief = record({"round": "courtesy", "given": "", "received": ""}, drill=True)
    body = graded(long, *[brief] * 19)
    assert len(body["reviews"]) == 20
    assert len(body["reviews"][0]["passes"]) == MAX_EXCHANGES


@pytest.mark.parametrize(
    ("records", "expected"),
    [
        ([record()] * 21, ["#/records too-long"]),
        ([record(*[COURTESY] * 13, drill=True)], ["#/records/0/exchanges too-long"]),
        (
            [record(BAD_TILES, ACROSS), record(rack="lion"), 5, record({**RIGHT, "given": "JE5"})],
            pointers(
                "records/2 model-type, records/0/exchanges/0/given/1 unknown-tile, "
                "records/0/exchanges/0/received tiles-type, records/1/rack unknown-tile, "
                "records/1/rack wrong-count, records/3/exchanges/0/given unknown-tile"
            ),
        ),
        (
            [
                record({**RIGHT, "seconds": 86_401}, more=1),
                record({**RIGHT, "seconds": 10**400, "blind": 10**30, "round": "third"}, card="nope"),
            ],
            pointers(
                "records/0/exchanges/0/seconds less-than-equal, records/0/more extra-forbidden, "
                "records/1/exchanges/0/round enum, records/1/exchanges/0/blind less-than-equal, "
                "records/1/exchanges/0/seconds float-type, records/1/card unknown-card"
            ),
        ),
        (
            [
                record(limits={"stay": "F", "go": ["E"], "only": {"hands": ["a"]}}),
                record({**RIGHT, "given": "9d E W"}, limits={"without": {"families": ["b"]}}),
            ],
            pointers(
                "records/0/limits/stay no-use, records/0/limits/go no-use, "
                "records/0/limits/only/hands/0 unknown-name, "
                "records/1/limits/without/families/0 unknown-name, records/1/exchanges/0/given not-held"
            ),
        ),
        # The shape of one exchange hides no fault of those before it, nor of other records.
        (
            [
                record({**RIGHT, "given": "9c 9c 9d"}, {**ACROSS, "blind": 4}, {**LEFT, "given": "J"}),
                record({**LEFT, "given": "F 9d"}, {**COURTESY, "seconds": -1, "received": "zebra"}),
                record(COURTESY, drill=1),
            ],
            pointers(
                "records/0/exchanges/0/given not-held, records/0/exchanges/0/given not-held, "
                "records/0/exchanges/1/blind less-than-equal, records/1/exchanges/0/round round-order, "
                "records/1/exchanges/0/given not-held, records/1/exchanges/1/seconds greater-than-equal, "
                "records/1/exchanges/1/received unknown-tile, records/2/drill bool-type"
            ),
        ),
        # Too many arrivals at the end only; too many draws for a drill.
        (
            [
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_BEFORE}),
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_AFTER}),
                record(drill=True, arrivals={"charleston": 0, "draws": 61, "claims": 0}),
            ],
            ["#/records/0/arrivals range", "#/records/2/arrivals/draws range"],
        ),
    ],
)
def test_every_fault_of_every_record_is_named(
    post: Ask, faults: Faults, records: list[Any], expected: list[str]
) -> None:
    assert sorted(faults(post("/v1/reviews", records=records))) == sorted(expected)


@pytest.mark.parametrize(
    ("wrong", "expected"),
    [
        ({"records": {"0": record()}}, ["#/records list-type"]),
        ({"records": [{}]}, ["#/records/0/rack missing", "#/records/0/exchanges missing"]),
        ({"records": [record()], "drill": True}, ["#/drill extra-forbidden"]),
    ],
)
def test_faulty_bodies(post: Ask, faults: Faults, wrong: dict[str, Any], expected: list[str]) -> None:
    assert faults(post("/v1/reviews", **wrong)) == expected


def test_limits_that_clash_in_one_record(post: Ask, problem: Problem) -> None:
    limits = {"keep_hands": {"count": 20, "reach": 1}}
    response = post("/v1/reviews", records=[record(), record(limits=limits)])
    (item,) = problem(response, "limits-clash")["errors"]
    assert item["pointer"] == "#/records/1/limits/keep_hands"


TEXT = f"""
card: small
rack: {RACK}   # as dealt
right: 5c 5c E > 3b 9c N 0:41.5
First-Across: 9c N 6c > 5b S white 38s
LEFT: S white +1 > 5c 2d 0:39.5
courtesy: W > F
"""


def test_a_record_as_text_is_the_record(graded: Graded, client: TestClient) -> None:
    text = client.post("/v1/reviews", json={"text": TEXT}).json()
    assert text == graded(record(RIGHT, ACROSS, LEFT, COURTESY))
    twice = client.post(
        "/v1/reviews", json={"text": TEXT.replace("card: small", "") * 2, "card": "small"}
    ).json()
    assert twice["reviews"] == text["reviews"] * 2


def test_rounds_of_a_text_follow_one_another(client: TestClient) -> None:
    lines = [f"{name}: 1b > ?" for name in ("right", "across", "left", "left", "across", "right", "courtesy")]
    body = client.post("/v1/records/check", json={"text": "\n".join(["rack: 1b", *lines])}).json()
    assert [each["round"] for each in body["records"][0]["exchanges"]] == [each.value for each in Round]


def test_every_fault_of_a_text_stands_with_its_line(client: TestClient, faults: Faults) -> None:
    text = f"rack: {RACK}\nright: 5c 5c 9d > 3b 9c\nacros: 1b\nacross: J 3b 9c > zebra 1b 1b\n"
    response = client.post("/v1/reviews", json={"text": text})
    assert response.status_code == 422
    told = [fault["detail"] for fault in response.json()["errors"]]
    assert told[0] == "line 3: 'acros' is none of card, rack, drill (yes or no), or a round"
    assert told[1].startswith("line 4, received: ") and "'zebra' is not a tile" in told[1]
    assert told[2].startswith("line 2, given: ") and "(9d): the rack has none" in told[2]
    assert told[3] == "line 2, received: 2 received for 3 given"
    checked = client.post("/v1/records/check", json={"text": text}).json()
    assert (checked["ok"], [fault["detail"] for fault in checked["faults"]]) == (False, told)
    assert [each["given"] for each in checked["records"][0]["exchanges"]] == ["5c 5c 9d", "J 3b 9c"]
    for empty in ("", "# nothing"):
        assert faults(client.post("/v1/reviews", json={"text": empty})) == ["#/text missing"]
    assert faults(client.post("/v1/reviews", json={"text": TEXT, "records": [record(RIGHT)]})) == [
        "#/records two-forms"
    ]
    assert faults(client.post("/v1/reviews", json={})) == ["#/records missing"]
    many = f"rack: {RACK}\nright: 5c 5c E > 3b 9c N\n" * 21
    assert faults(client.post("/v1/reviews", json={"text": many, "card": "small"})) == ["#/text too-long"]


def test_what_came_in_last_need_not_be_known(graded: Graded) -> None:
    known = graded(record(RIGHT, ACROSS, LEFT))["reviews"][0]
    unknown = graded(record(RIGHT, ACROSS, {**LEFT, "received": None}))["reviews"][0]
    last = unknown["passes"][-1]
    assert (last["received"], last["hindsight"]) == (None, None)
    for one, other in zip(known["passes"], unknown["passes"], strict=True):
        assert one["given_up"] == other["given_up"]
    assert unknown["words"]["end"].endswith("before what came in last")
    # Two tiles more may serve the nearest target.
    assert known["tiles_away"] <= unknown["tiles_away"] <= known["tiles_away"] + 2


def test_what_came_in_before_must_be_known(client: TestClient, faults: Faults) -> None:
    response = client.post("/v1/reviews", json={"records": [record({**RIGHT, "received": None}, ACROSS)]})
    assert "#/records/0/exchanges/0/received unknown-tiles" in faults(response)


@pytest.mark.parametrize("left", [None, 3])
def test_a_part_is_graded_as_advice_on_that_moment(graded: Graded, post: Ask, left: int | None) -> None:
    """One pass alone, and the same in a drill, of which more exchanges follow."""
    part = {"round": "first_left", "given": "5c 5c E", "received": None}
    follows = {"drill": True, "follow": left - 1} if left else {}
    rack = RACK if left is None else "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
    (told,) = graded(record(part, rack=rack, seen="9c N", **follows))["reviews"]
    (each,) = told["passes"]
    asked = {"rack": rack, "round": "first_left", "seen": "9c N", "mine": "5c 5c E", "card": "small"}
    drill = {"drill": {"exchanges_left": left}} if left else {}
    advice = post("/v1/advice", **asked, **drill).json()
    assert (each["best"]["pass"], each["best"]["strength"]) == (advice["pass"], advice["strength"])
    assert each["given_up"] == pytest.approx(advice["mine"]["gap"], abs=2e-12)
    assert each["seen"] == ["9c", "N"]
    assert each["reasons"] and each["keeps"]
    fact = told["kept"]["passes"][0]
    assert (fact["left"], fact["best"], fact["share"], fact["family"]) == (
        left,
        advice["pass"],
        each["share"],
        each["reasons"][0]["family"],
    )
    assert post("/v1/progress", now="2026-11-28T10:00:00Z", passes=[{**fact, "at": "2026-11-28T09:00:00Z",
        "card": "small"}]).json()["passes"] == 1  # fmt: skip


def test_parts_that_cannot_be(post: Ask, faults: Faults) -> None:
    rounds = [
        {"round": each, "given": "1d E W", "received": "3b 9c N"} for each in ("first_left", "first_right")
    ]
    several = [
        record(rounds[0]),
        record(rounds[0], seen="J x"),
        record(rounds[1], seen="F F F F F F F"),
        record(rounds[1], seen="", drill=True, follow=12),
        record(rounds[1], {**rounds[1], "given": "3b 9c N"}, seen="", drill=True, follow=11),
        record(rounds[0], {**rounds[1], "given": "3b 9c N"}, seen=""),
    ]
    assert faults(post("/v1/reviews", records=several)) == pointers(
        "records/0/exchanges/0/round round-order, records/1/seen unknown-tile, "
        "records/2/seen too-many-copies, records/3/follow less-than-equal, records/4/follow range, "
        "records/5/exchanges/1/round round-order"
    )
