"""Bodies made to hang or exhaust the server: each is refused by a cap, and the server goes on.

The corpus has bad input that once did harm, or was made to: the address, and the body as it is sent.
`python -m tests.benchmarks.fuzz` writes its failures in the same form; one that was fixed is kept here.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

import patterns.card_file
from patterns.card_file import MAX_ALTERNATIVES, MAX_HANDS, MAX_TARGETS
from solver.passes import PassTable
from tests.api.asking import APART, JSON, Ask, Faults, card
from tests.api.conftest import Problem
from tests.benchmarks.fuzz import Case
from tests.benchmarks.hostile import SPREAD_RACK, singles

CORPUS = [
    Case.read(line) for line in (Path(__file__).parent / "corpus.jsonl").read_text("ascii").splitlines()
]
# A check of a card finds faults in it: that is its answer.
TAKEN = {"/v1/cards/check": (200, 400)}


def hand(index: int, groups: object = APART) -> dict[str, object]:
    return {"name": f"h{index}", "family": "b", "groups": groups}


@pytest.fixture(autouse=True)
def still_ready(client: TestClient) -> Iterator[None]:
    yield
    assert client.get("/readyz").status_code == 200


def test_as_many_hands_as_are_allowed(ask: Ask) -> None:
    most = MAX_TARGETS // 24
    body = ask(card=card(*map(hand, range(most))), alternatives=0, hands=MAX_HANDS).json()
    assert body["assumptions"]["card"]["targets"] == most * 24 == MAX_TARGETS
    assert body["proof"]["status"] == "optimal"


@pytest.mark.parametrize(
    "toml",
    [
        "a = " + "{a=" * 100_000,
        "a = " + "9" * 900_000,
        "[[hand]]\n" * 100_000,
        "a = '" + "x" * 900_000,
        "a." * 30_000 + "a = 1",
    ],
)
def test_toml_that_is_deep_or_long(ask: Ask, problem: Problem, toml: str) -> None:
    found = problem(ask(card={"toml": toml}), "invalid")
    assert {item["pointer"] for item in found["errors"]} == {"#/card/toml"}


def test_ninety_thousand_members_are_counted_but_not_listed(client: TestClient, problem: Problem) -> None:
    body = json.dumps({f"k{index}": 1 for index in range(60_000)})
    response = client.post("/v1/advice", content=body, headers=JSON)
    found = problem(response, "invalid")
    assert found["detail"] == "the request has 60002 faults"
    assert len(found["errors"]) == 101


@pytest.mark.parametrize("depth", [10, 500, 990])
def test_nesting_that_can_just_be_read(client: TestClient, depth: int) -> None:
    nested = "[" * depth + "]" * depth
    for member in ("rack", "card", "limits", "other"):
        body = f'{{"round": "courtesy", "{member}": {nested}}}'
        assert client.post("/v1/advice", content=body, headers=JSON).status_code in (400, 422)
        check = client.post("/v1/cards/check", content=f'{{"card": {nested}}}', headers=JSON)
        assert check.status_code in (200, 400)


def test_a_card_of_many_choices_that_merge(ask: Ask, faults: Faults) -> None:
    # 6 ranks x 6 suits x 12 winds x 6 dragons an alternative, all of them trying the same targets.
    same = ["np*2 (n+1)q*2 (n+3)r*2 wind1*2 wind2*2 dragon1*2 dragon2*2"] * MAX_ALTERNATIVES
    assert faults(ask(card=card(*(hand(index, same) for index in range(5))))) == [
        "#/card/hand/0 too-many-targets"
    ]


@pytest.mark.parametrize("case", CORPUS, ids=lambda case: case.name)
def test_the_corpus_is_refused_in_words(client: TestClient, case: Case) -> None:
    response = client.post(case.path, content=case.body, headers=JSON)
    assert response.status_code in TAKEN.get(case.path, (400, 422)), response.text
    body = response.json()
    assert body.get("errors") or body.get("faults") or response.status_code == 400
    assert client.get("/livez").status_code == 200


def test_there_is_a_corpus() -> None:
    assert len(CORPUS) >= 40
    assert len({case.name for case in CORPUS}) == len(CORPUS)
    assert all(Case.read(case.written) == case for case in CORPUS)


def test_what_is_faulty_throughout_is_not_read_to_its_end(
    monkeypatch: pytest.MonkeyPatch, post: Ask, faults: Faults
) -> None:
    """A card of 300 hands of eight alternatives, each of 199 groups that are none."""
    read, real = list[str](), patterns.card_file.parse_groups

    def watched(written: str) -> object:
        read.append(written)
        return real(written)

    monkeypatch.setattr(patterns.card_file, "parse_groups", watched)
    hands = [hand(index, ["n " * 199] * 8) for index in range(300)]
    found = post("/v1/cards/check", card=card(*hands)).json()["faults"]
    assert found[0]["pointer"] == "#/card/hand/0/groups/0"
    assert "not read" in found[-1]["detail"] and len(found) == 101
    assert len(read) == 8


DEAR = {"card": singles(), "rack": SPREAD_RACK}


@pytest.mark.parametrize(
    ("path", "body", "why"),
    [
        ("/v1/advice", {**DEAR, "round": "courtesy", "alternatives": 10}, ["#/alternatives", "#/card"]),
        ("/v1/votes", {**DEAR, "samples": 100}, ["#/samples", "#/card"]),
        ("/v1/deals", {"card": DEAR["card"], "seed": 1, "count": 50}, ["#/count", "#/card"]),
        ("/v1/sheets", {"card": DEAR["card"], "racks": [SPREAD_RACK] * 50}, ["#/racks", "#/card"]),
    ],
)
def test_what_is_too_dear_is_refused_before_it_begins(
    monkeypatch: pytest.MonkeyPatch, post: Ask, problem: Problem, path: str, body: Any, why: list[str]
) -> None:
    """Within every cap: 300 hands of twelve targets, of which any set of tiles may be lost."""

    def never(*_: object, **__: object) -> PassTable:
        raise AssertionError("it began")

    monkeypatch.setattr(PassTable, "of", never)
    found = problem(post(path, **body), "too-dear")
    assert [item["pointer"] for item in found["errors"]] == why
    assert "THREEPASS_MOST_WORK" in found["detail"]
