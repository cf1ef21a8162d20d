"""Grades over the wire, against the solver asked directly and against the program's own play."""

import random
import re
from collections import Counter
from collections.abc import Callable
from typing import Any

import httpx2
import pytest

from patterns.card_file import shipped_card
from patterns.rack import parse_rack, parse_tiles
from patterns.tiles import Tile
from solver.limits import Limits
from solver.review import Exchange, GradedPass, Record, Session, review
from solver.rounds import MAX_EXCHANGES, ORDER, Round
from solver.situation import DEFAULT_EFFORT
from tests.api.racks import RACK, TOKENS
from tests.api.records import ACROSS, COURTESY, LEFT, RIGHT, record

Post = Callable[..., httpx2.Response]
Graded = Callable[..., dict[str, Any]]
PLAYED = [
    Exchange(Round.FIRST_RIGHT, parse_tiles("5c 5c E"), parse_tiles("3b 9c N"), seconds=41.5),
    Exchange(Round.FIRST_ACROSS, parse_tiles("9c N 6c"), parse_tiles("5b S white"), seconds=38),
    Exchange(Round.FIRST_LEFT, parse_tiles("S white"), parse_tiles("5c 2d"), 1, 39.5),
    Exchange(Round.COURTESY, parse_tiles("W"), parse_tiles("F")),
]


def pass_of(graded: GradedPass) -> dict[str, Any]:
    """Return what the wire should say of a pass, but for the sentence."""
    best, hindsight = graded.best, graded.hindsight
    (blind,) = {value.blind for value in best.by_number if value.passed == best.passed}
    return {
        "round": graded.exchange.round.value,
        "given": sorted((tile.value for tile in graded.exchange.given), key=by_position),
        "blind": graded.exchange.blind,
        "received": sorted((tile.value for tile in graded.exchange.received), key=by_position),
        "best": {
            "pass": [tile.value for tile in best.passed],
            "give": len(best.passed),
            "blind": blind,
            "expected_hands": round(best.expected, 12),
        },
        "expected_hands": round(graded.made, 12),
        "given_up": round(graded.given_up, 12),
        "share": round(graded.share, 12),
        "within_resolution": graded.within_resolution,
        "seconds": graded.exchange.seconds,
        "reasons": [
            {
                "name": reason.hand.name,
                "family": reason.hand.family,
                "reach_best": round(reason.before, 12),
                "reach_made": round(reason.after, 12),
            }
            for reason in graded.reasons
        ],
        "hindsight": {
            "pass": [tile.value for tile in hindsight.passed],
            "expected_hands": round(hindsight.expected, 12),
            "made": round(hindsight.made, 12),
            "note": "not part of the grade",
        },
    }


def by_position(token: str) -> int:
    return Tile(token).position


def test_the_grades_are_the_solvers(graded: Graded) -> None:
    limits = {"no_flowers": True, "weights": {"Steep Path": 2}}
    body = graded(record(RIGHT, ACROSS, LEFT, COURTESY, limits=limits), record(RIGHT, ACROSS, LEFT))
    card, rack = shipped_card("small"), parse_rack(RACK)
    own = Limits.of(no_flowers=True, weights=(("Steep Path", 2.0),))
    first = review(Record(card, rack, tuple(PLAYED), limits=own), effort=DEFAULT_EFFORT)
    second = review(Record(card, rack, tuple(PLAYED[:3])), effort=DEFAULT_EFFORT)
    assert list(body) == ["reviews", "session"]
    for told, direct in zip(body["reviews"], (first, second), strict=True):
        without_words = [{key: v for key, v in each.items() if key != "why"} for each in told["passes"]]
        assert without_words == [pass_of(each) for each in direct.passes]
        assert told["given_up"] == round(direct.given_up, 12) > 0
        assert told["costliest"]["pass_index"] == direct.costliest
        assert told["expected_hands"] == round(direct.expected, 12)
        assert [hand["name"] for hand in told["hands"]] == [s.hand.name for s in direct.hands[:5]]
        assert told["tiles_away"] == direct.tiles_away
    untimed, timed = body["reviews"]
    assert (untimed["seconds"], untimed["time"], untimed["pace"]) == (None, None, None)
    assert (timed["seconds"], timed["time"], timed["pace"]) == (119, "1:59.0", "advanced")
    direct = Session.of([first, second])
    assert body["session"] == {
        "laps": 2,
        "timed": 1,
        "seconds": 119,
        "time": "1:59.0",
        "given_up": round(direct.given_up, 12),
        "tiles_away": direct.tiles_away,
        "within_resolution": round(direct.within_resolution, 12),
    }


def test_times_are_averaged_in_seconds(graded: Graded) -> None:
    laps = [record({**RIGHT, "seconds": seconds}) for seconds in (119, 122, 240.5)]
    body = graded(*laps, record({**RIGHT, "seconds": None}))
    assert [each["pace"] for each in body["reviews"]] == [
        "advanced",
        "intermediate",
        "slower than beginner",
        None,
    ]
    assert [each["time"] for each in body["reviews"]] == ["1:59.0", "2:02.0", "4:00.5", None]
    session = body["session"]
    assert (session["laps"], session["timed"], session["seconds"]) == (4, 3, 160.5)
    assert session["time"] == "2:40.5"


def play(post: Post, rounds: list[str], deal: dict[str, Any], *, drill: bool) -> list[dict[str, Any]]:
    """Play what the advice says, all of it over the wire."""
    rack, heap, seen = Counter(deal["rack"]), list(deal["heap"]), list[str]()
    exchanges = []
    for index, round_ in enumerate(rounds):
        question: dict[str, Any] = {"rack": list(rack.elements()), "seen": seen, "card": "small"}
        if drill:
            question["drill"] = {"exchanges_left": len(rounds) - index}
        if round_ == "courtesy":
            question["give"] = 2
        body = post("/v1/advice", **question, round=round_, alternatives=0).json()
        given, blind = body["pass"], body["by_number"][-1]["blind"]
        if len(body["by_number"]) > 1:
            (blind,) = (v["blind"] for v in body["by_number"] if v["give"] == len(given))
        received, heap = heap[: len(given)], heap[3:]
        rack.subtract(given)
        rack.update(received)
        seen += given
        exchanges.append(
            {"round": round_, "given": given, "received": received, "blind": blind, "seconds": 20}
        )
    return exchanges


@pytest.mark.parametrize(
    ("rounds", "drill"),
    [
        (["first_right", "first_across", "first_left", "courtesy"], False),
        ([round_.value for round_ in ORDER], False),
        (["first_right"] * 3, True),
        (["first_left", "second_right"], True),
    ],
)
def test_what_the_program_plays_gives_up_nothing(
    post: Post, graded: Graded, rounds: list[str], drill: bool
) -> None:
    (deal,) = post("/v1/deals", seed=31, card="small", heap=True).json()["deals"]
    exchanges = play(post, rounds, deal, drill=drill)
    body = graded({"rack": deal["rack"], "card": "small", "exchanges": exchanges, "drill": drill})
    (told,) = body["reviews"]
    assert (told["given_up"], told["costliest"]) == (0, None)
    for exchange, each in zip(exchanges, told["passes"], strict=True):
        assert (each["given_up"], each["share"], each["within_resolution"]) == (0, 0, True)
        assert (each["best"]["pass"], each["best"]["blind"]) == (exchange["given"], exchange["blind"])
        assert each["best"]["expected_hands"] == each["expected_hands"] > 0
        assert each["reasons"] == []
        assert each["why"] == "This pass cannot be told from the best."
    assert (body["session"]["given_up"], body["session"]["within_resolution"]) == (0, 1)
    assert told["seconds"] == 20 * len(rounds)


def test_hindsight_is_no_part_of_the_grade(graded: Graded) -> None:
    lucky, unlucky = (
        graded(record({**RIGHT, "received": received}))["reviews"][0]["passes"][0]
        for received in ("F F F", "9c 1c N")
    )
    assert lucky["hindsight"]["note"] == "not part of the grade"
    assert lucky["hindsight"] != unlucky["hindsight"]
    for each in (lucky, unlucky):
        assert each.pop("hindsight")["expected_hands"] >= 0
        del each["received"]
    assert lucky == unlucky


def numbers(sentence: str) -> list[str]:
    return re.findall(r"\d+\.\d+", sentence)


def test_sentences_say_what_the_numbers_say(graded: Graded) -> None:
    (told,) = graded(record(RIGHT, ACROSS, LEFT, COURTESY, card="full"))["reviews"]
    worded = 0
    for each in told["passes"]:
        if each["within_resolution"]:
            continue
        worded += 1
        assert each["best"]["blind"] == 0
        assert each["why"].startswith(
            f"Best was {' '.join(each['best']['pass'])}: {each['given_up']:.3f} expected hands more"
            f" ({100 * each['share']:.1f} % of {each['best']['expected_hands']:.3f})."
        )
        for reason in each["reasons"]:
            better, worse = (f"{100 * reason[reach]:.1f} %" for reach in ("reach_best", "reach_made"))
            assert f"{reason['name']} at {better} rather than {worse}" in each["why"]
        assert len(numbers(each["why"])) == 3 + 2 * len(each["reasons"])
    assert worded >= 2
    index = told["costliest"]["pass_index"]
    worst = told["passes"][index]
    assert told["costliest"] == {"pass_index": index, **{k: worst[k] for k in ("round", "given_up", "why")}}
    assert worst["given_up"] == max(each["given_up"] for each in told["passes"])


def test_sentences_name_the_blind_tiles_of_the_best(graded: Graded) -> None:
    gate = {"name": "Gate", "family": "gates", "groups": "2bam*4 4bam*4 flower*6"}
    card = {"card": {"name": "Gates"}, "hand": [gate]}
    left = {"round": "first_left", "given": "F F F", "received": "1c 2c 3c"}
    strong = {"card": card, "drill": True}
    one, all_three = (
        graded(record(left, **strong, rack=rack))["reviews"][0]["passes"][0]
        for rack in ("2222b 444b FFFFF 9c 9d", "2222b 4444b FFFFFF")
    )
    assert (one["best"]["pass"], one["best"]["blind"]) == (["9c", "9d"], 1)
    assert one["why"].startswith("Best was 9c 9d and 1 blind: ")
    assert (all_three["best"]["pass"], all_three["best"]["blind"]) == ([], 3)
    assert all_three["why"].startswith("Best was 3 blind: ")


def test_sums_add_up(graded: Graded) -> None:
    (told,) = graded(record(RIGHT, ACROSS, LEFT))["reviews"]
    for each in told["passes"]:
        gap = each["best"]["expected_hands"] - each["expected_hands"]
        assert each["given_up"] == pytest.approx(gap, abs=2e-12)
        assert each["share"] == pytest.approx(gap / each["best"]["expected_hands"], abs=1e-10)
        assert each["hindsight"]["expected_hands"] >= each["hindsight"]["made"]
    assert told["given_up"] == pytest.approx(sum(each["given_up"] for each in told["passes"]), abs=1e-11)
    assert len(told["hands"]) == 5
    assert told["tiles_away"] == min(told["tiles_away"], *(hand["tiles_away"] for hand in told["hands"]))


def test_the_same_in_any_order_is_the_same_bytes(post: Post) -> None:
    first = post("/v1/reviews", records=[record(RIGHT, ACROSS)])
    assert first.status_code == 200
    shuffled = random.Random(5).sample(TOKENS, len(TOKENS))
    right = {**RIGHT, "given": ["E", "5c", "5c"], "received": ["N", "3b", "9c"]}
    for rack in (RACK, shuffled, ",".join(shuffled).upper()):
        assert post("/v1/reviews", records=[record(right, ACROSS, rack=rack)]).content == first.content


def test_the_full_card_unless_named(post: Post) -> None:
    bare = {"rack": RACK, "exchanges": [RIGHT]}
    unnamed, full = (post("/v1/reviews", records=[r]) for r in (bare, {**bare, "card": "full"}))
    assert unnamed.status_code == 200
    assert unnamed.content == full.content


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
