"""Faulty records: every fault of every one is named, each with its place."""

from collections.abc import Callable
from typing import Any

import httpx2
import pytest

from solver.arrivals import default_arrivals
from solver.rounds import Round
from tests.api.records import ACROSS, COURTESY, LEFT, RIGHT, record

Post = Callable[..., httpx2.Response]
Faults = Callable[[httpx2.Response], list[tuple[str, str]]]
Graded = Callable[..., dict[str, Any]]
# Naturals unseen before a first right pass and after it, less those to come by exchanges and 70 draws.
EXCHANGED = default_arrivals(Round.FIRST_RIGHT, 3).charleston
CLAIMS_BEFORE, CLAIMS_AFTER = 131 - EXCHANGED - 70, 128 - EXCHANGED - 70
BAD_TILES = {**RIGHT, "given": ["5c", "zebra", "E"], "received": 5}


@pytest.mark.parametrize(
    ("records", "expected"),
    [
        ([], [("#/records", "too-short")]),
        ([record()] * 21, [("#/records", "too-long")]),
        ([record(exchanges=[])], [("#/records/0/exchanges", "too-short")]),
        ([record(*[COURTESY] * 13, drill=True)], [("#/records/0/exchanges", "too-long")]),
        (
            [record(BAD_TILES, ACROSS), record(rack="lion"), 5, record({**RIGHT, "given": "JE5"})],
            [
                ("#/records/2", "model-type"),
                ("#/records/0/exchanges/0/given/1", "unknown-tile"),
                ("#/records/0/exchanges/0/received", "tiles-type"),
                ("#/records/1/rack", "unknown-tile"),
                ("#/records/1/rack", "wrong-count"),
                ("#/records/3/exchanges/0/given", "unknown-tile"),
            ],
        ),
        # Passing what is not held, a joker, a fifth copy, a wrong count, in rounds out of order.
        (
            [
                record(),
                record(
                    {**RIGHT, "given": "9c 9c 9d"},
                    {**LEFT, "given": "J F", "received": "J 5d"},
                    {**COURTESY, "blind": 2, "given": "W 2b", "received": "F"},
                ),
                record({**RIGHT, "received": "5c 5c 5c", "given": "E W 1d"}, {**ACROSS, "given": "5c"}),
            ],
            [
                ("#/records/1/exchanges/1/round", "round-order"),
                ("#/records/1/exchanges/0/given", "not-held"),
                ("#/records/1/exchanges/0/given", "not-held"),
                ("#/records/1/exchanges/1/given", "joker"),
                ("#/records/1/exchanges/1/received", "joker"),
                ("#/records/1/exchanges/2/blind", "blind"),
                ("#/records/1/exchanges/2/received", "wrong-count"),
                ("#/records/2/exchanges/0/received", "too-many-copies"),
                ("#/records/2/exchanges/1/given", "wrong-count"),
                ("#/records/2/exchanges/1/received", "wrong-count"),
            ],
        ),
        (
            [
                record({**RIGHT, "seconds": -1, "blind": 4}, drill=1),
                record({**RIGHT, "seconds": 86_401}, {**ACROSS, "seconds": "9"}, more=1),
                record({**RIGHT, "seconds": 10**400, "blind": 10**30, "round": "third"}, card="nope"),
            ],
            [
                ("#/records/0/exchanges/0/blind", "less-than-equal"),
                ("#/records/0/exchanges/0/seconds", "greater-than-equal"),
                ("#/records/0/drill", "bool-type"),
                ("#/records/1/exchanges/0/seconds", "less-than-equal"),
                ("#/records/1/exchanges/1/seconds", "float-type"),
                ("#/records/1/more", "extra-forbidden"),
                ("#/records/2/exchanges/0/round", "enum"),
                ("#/records/2/exchanges/0/blind", "less-than-equal"),
                ("#/records/2/exchanges/0/seconds", "float-type"),
                ("#/records/2/card", "unknown-card"),
            ],
        ),
        (
            [
                record(limits={"stay": "F", "go": ["E"], "only": {"hands": ["a"]}}),
                record({**RIGHT, "given": "9d E W"}, limits={"without": {"families": ["b"]}}),
            ],
            [
                ("#/records/0/limits/stay", "no-use"),
                ("#/records/0/limits/go", "no-use"),
                ("#/records/0/limits/only/hands/0", "unknown-name"),
                ("#/records/1/limits/without/families/0", "unknown-name"),
                ("#/records/1/exchanges/0/given", "not-held"),
            ],
        ),
        (
            [
                record(rack="NEWS 123456789b", drill=True),
                record({**RIGHT, "round": "courtesy", "given": "W"}),
            ],
            [
                ("#/records/0/rack", "wrong-count"),
                ("#/records/0/exchanges/0/given", "not-held"),
                ("#/records/1/exchanges/0/round", "round-order"),
                ("#/records/1/exchanges/0/received", "wrong-count"),
            ],
        ),
        # Too many arrivals at the end only; too many draws for a drill.
        (
            [
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_BEFORE}),
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_AFTER}),
                record(drill=True, arrivals={"charleston": 0, "draws": 61, "claims": 0}),
                record(arrivals={"charleston": 0, "draws": -1, "claims": 10**30}),
            ],
            [
                ("#/records/3/arrivals/draws", "greater-than-equal"),
                ("#/records/3/arrivals/claims", "less-than-equal"),
            ],
        ),
        (
            [
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_BEFORE}),
                record(arrivals={"charleston": 0, "draws": 70, "claims": CLAIMS_AFTER}),
                record(drill=True, arrivals={"charleston": 0, "draws": 61, "claims": 0}),
            ],
            [("#/records/0/arrivals", "range"), ("#/records/2/arrivals/draws", "range")],
        ),
    ],
)
def test_every_fault_of_every_record_is_named(
    post: Post, faults: Faults, records: list[Any], expected: list[tuple[str, str]]
) -> None:
    assert faults(post("/v1/reviews", records=records)) == expected


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({}, [("#/records", "missing")]),
        ({"records": None}, [("#/records", "list-type")]),
        ({"records": {"0": record()}}, [("#/records", "list-type")]),
        ({"records": [{}]}, [("#/records/0/rack", "missing"), ("#/records/0/exchanges", "missing")]),
        (
            {"records": [record(exchanges={"0": RIGHT}, rack=None)]},
            [("#/records/0/exchanges", "list-type"), ("#/records/0/rack", "tiles-type")],
        ),
        (
            {"records": [record()], "effort": 21, "drill": True},
            [
                ("#/effort", "less-than-equal"),
                ("#/drill", "extra-forbidden"),
            ],
        ),
    ],
)
def test_faulty_bodies(
    post: Post, faults: Faults, members: dict[str, Any], expected: list[tuple[str, str]]
) -> None:
    assert faults(post("/v1/reviews", **members)) == expected


def test_arrivals_that_just_fit_can_be_graded(graded: Graded) -> None:
    most = {"charleston": 0, "draws": 70, "claims": CLAIMS_AFTER}
    drill = {"charleston": 0, "draws": 60, "claims": 0}
    body = graded(record(arrivals=most), record(drill=True, arrivals=drill))
    assert all(each["expected_hands"] > 0 for each in body["reviews"])


def test_tiles_that_come_back(graded: Graded) -> None:
    # Three of four alike went, so that all are known; one of them comes back.
    right = {"round": "first_right", "given": "5c 5c 5c", "received": "1b 9b 3c"}
    across = {"round": "first_across", "given": "1b 9b 3c", "received": "5c 9c 9d"}
    body = graded(record(right, across, rack="5555c 1d E W 2b 4b 4c 6c F F J"))
    told = body["reviews"][0]["passes"][1]["hindsight"]
    assert told["expected_hands"] >= told["made"] > 0


@pytest.mark.parametrize("written", ["NaN", "Infinity", "-Infinity"])
def test_seconds_that_json_does_not_have(client: Any, problem: Callable[..., Any], written: str) -> None:
    body = f'{{"records": [{{"exchanges": [{{"seconds": {written}}}]}}]}}'
    response = client.post("/v1/reviews", content=body, headers={"content-type": "application/json"})
    assert written in problem(response, "not-json")["detail"]


def test_seconds_too_large_for_a_number(client: Any, faults: Faults) -> None:
    body = '{"records": [{"rack": 1, "exchanges": [{"round": "courtesy", "seconds": 1e999}]}]}'
    response = client.post("/v1/reviews", content=body, headers={"content-type": "application/json"})
    assert ("#/records/0/exchanges/0/seconds", "finite-number") in faults(response)


def test_limits_that_clash_in_one_record(post: Post, problem: Callable[..., dict[str, Any]]) -> None:
    limits = {"keep_hands": {"count": 20, "reach": 1}}
    response = post("/v1/reviews", records=[record(), record(limits=limits)])
    (item,) = problem(response, "limits-clash")["errors"]
    assert item["pointer"] == "#/records/1/limits/keep_hands"
