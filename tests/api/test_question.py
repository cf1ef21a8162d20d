"""Faulty questions: every fault is named, each with its place."""

import json

import pytest
from starlette.testclient import TestClient

from tests.api.asking import JSON, SMALL, Ask, Faults, pointers


@pytest.mark.parametrize(
    ("rack", "expected"),
    [
        ("", ["#/rack wrong-count"]),
        ("123456789b NEWS FF", ["#/rack wrong-count"]),
        ("JJJJJJJJJ NNNNN", ["#/rack too-many-copies"] * 2),
        (
            ["1b", "2x", 3, None, ["F"], "1b 2b"],
            [*[f"#/rack/{i} unknown-tile" for i in range(1, 6)], "#/rack wrong-count"],
        ),
        ("F " * 2000, ["#/rack too-long"]),
        ({"0": "F"}, ["#/rack tiles-type"]),
        ("\ud800 123456789b NEW", ["#/rack unknown-tile"]),
    ],
)
def test_racks(ask: Ask, faults: Faults, rack: object, expected: list[str]) -> None:
    assert faults(ask(rack=rack)) == expected


def test_a_name_that_stands_twice_is_a_fault(client: TestClient, faults: Faults) -> None:
    hand = '{"name": "a", "name": "b", "family": "c", "groups": "5p*4"}'
    card = f'{{"card": {{"name": "a"}}, "hand": [{hand}]}}'
    body = f'{{"rack": "F", "rack": "J", "round": "courtesy", "card": {card}}}'
    found = faults(client.post("/v1/advice", content=body, headers=JSON))
    assert found == ["#/rack duplicate", "#/card/hand/0/name duplicate"]


def test_faults_of_shape_and_of_content_are_named_together(ask: Ask, faults: Faults) -> None:
    response = ask(
        rack="zebra",
        round="third_right",
        card="no such card",
        limits={"stay": "lion", "no_pairs": 1, "keep_hands": {"count": 0}},
        more=1,
    )
    assert set(faults(response)) == {
        "#/rack unknown-tile",
        "#/rack wrong-count",
        "#/round enum",
        "#/card unknown-card",
        "#/limits/stay unknown-tile",
        "#/limits/no_pairs bool-type",
        "#/limits/keep_hands/count greater-than-equal",
        "#/limits/keep_hands/reach missing",
        "#/more extra-forbidden",
    }


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({"give": 4}, ["#/give less-than-equal"]),
        ({"give": True}, ["#/give int-type"]),
        ({"alternatives": 11}, ["#/alternatives less-than-equal"]),
        ({"hands": 301}, ["#/hands less-than-equal"]),
        (
            {"arrivals": {"charleston": -1, "draws": 1.5, "claims": 10**30}},
            pointers(
                "arrivals/charleston greater-than-equal, arrivals/draws int-type, "
                "arrivals/claims less-than-equal"
            ),
        ),
        ({"arrivals": {"charleston": 0, "draws": 66, "claims": 66}}, ["#/arrivals range"]),
        ({"seen": "FFFFFFF"}, ["#/seen too-many-copies"]),
        ({"limits": {"stay": "FFF 9b"}}, ["#/limits/stay not-held"] * 2),
        ({"limits": {"go": "JJ"}}, ["#/limits/go not-held", "#/limits/go joker"]),
        (
            {
                "limits": {
                    "only": {"hands": ["a"]},
                    "without": {"families": [SMALL.families[0], "b"]},
                    "weights": {"c/d": 1},
                }
            },
            pointers(
                "limits/only/hands/0 unknown-name, limits/without/families/1 unknown-name, "
                "limits/weights/c~1d unknown-name"
            ),
        ),
        ({"limits": {"only": {"traits": ["two-suits", "purple"]}}}, ["#/limits/only/traits/1 enum"]),
        ({"limits": {"weights": {"a b": -1}}}, ["#/limits/weights/a%20b greater-than-equal"]),
        ({"limits": {"without": {"families": list(SMALL.families)}}}, ["#/limits no-hand-left"]),
        ({"limits": {"stay": "F" * 3000}}, ["#/limits/stay too-long"]),
        ({"card": "nope"}, ["#/card unknown-card"]),
        ({"card": 5}, ["#/card card-type"]),
        ({"card": {}}, ["#/card/card missing", "#/card/hand missing"]),
        ({"card": {"toml": "", "hand": []}}, ["#/card/hand extra-forbidden"]),
        ({"card": {"toml": "x = "}}, ["#/card/toml toml"]),
    ],
)
def test_other_parts(ask: Ask, faults: Faults, members: dict[str, object], expected: list[str]) -> None:
    assert faults(ask(**members)) == expected


@pytest.mark.parametrize("body", [[], None, "rack"])
def test_a_body_that_is_no_object(client: TestClient, faults: Faults, body: object) -> None:
    headers = {"content-type": "application/json"}
    response = client.post("/v1/advice", content=json.dumps(body), headers=headers)
    assert faults(response) == ["# model-type"]


def test_a_fault_does_not_echo_at_length(ask: Ask) -> None:
    response = ask(rack="z" * 1900, card="y" * 1000, **{"x" * 1000: 1})
    assert response.status_code == 422
    assert all(letter * 70 not in response.text for letter in "xyz")


def test_a_fault_that_needs_no_rack_is_told_beside_those_of_the_rack(ask: Ask, faults: Faults) -> None:
    told = faults(ask(rack="zebra", limits={"stay": "lion", "go": "J", "no_pairs": 1}, give=1, hat=1))
    assert told == pointers(
        "limits/no_pairs bool-type, hat extra-forbidden, rack unknown-tile, rack wrong-count, "
        "limits/stay unknown-tile, give give, limits/go joker"
    )


def test_what_cannot_be_read_hides_and_makes_no_other_faults(ask: Ask, faults: Faults) -> None:
    rest = {"give": 2, "mine": "E W", "card": "small", "limits": {"weights": {"no such hand": 2}}}
    assert faults(ask(**rest, round="third_right")) == pointers(
        "round enum, limits/weights/no%20such%20hand unknown-name"
    )
    assert faults(ask(**rest, round="courtesy", rack=["zebra"])) == pointers(
        "rack/0 unknown-tile, rack wrong-count, limits/weights/no%20such%20hand unknown-name"
    )
