"""Problems and their key, compared with what the other operations say of the same racks; pages asked for."""

import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from api import words
from api.answers.sheets import MAX_PRINTED, MAX_PROBLEMS, MAX_RACKS, answer_of, pages_of
from api.settings import Settings
from api.sheets.files import file_of
from solver.deals import DealWish, find_deals
from tests.api.asking import RACK, SMALL, Ask, Faults, pointers
from tests.api.conftest import Problem

OTHER = "1b 1b 2b 3c 3c 4d 7d 9d N S red F J"
FAMILIES = list(SMALL.families)
PAGES = "/v1/sheets/pages"
Sheet = Callable[..., dict[str, Any]]


@pytest.fixture
def sheet(post: Ask) -> Sheet:
    def ask(**members: object) -> dict[str, Any]:
        response = post("/v1/sheets", **{"card": "small", **members})
        assert response.status_code == 200, response.text
        found: dict[str, Any] = response.json()["sheet"]
        return found

    return ask


def agrees(answer: dict[str, Any], advised: dict[str, Any]) -> None:
    """Check an answer of a key against the advice for the same rack."""
    assert answer["pass"] == advised["pass"]
    for member in ("strength", "expected_hands"):
        assert answer[member] == advised[member]
    assert (answer["closeness"], answer["gap"]) == (advised["closeness"]["word"], advised["closeness"]["gap"])
    cost = advised["limits_cost"]
    assert answer["limits_cost"] == (None if cost is None else cost["strength"])
    assert answer["runner_ups"] == [
        {"pass": other["pass"], "gap": other["gap"]} for other in advised["alternatives"]
    ]
    assert [hand["name"] for hand in answer["hands"]] == [hand["name"] for hand in advised["hands"]][:3]
    assert [hand["reach"] for hand in answer["hands"]] == [hand["reach"] for hand in advised["hands"]][:3]
    assert [hand["target"] for hand in answer["hands"]] == [hand["target"] for hand in advised["hands"]][:3]
    assert [loss["name"] for loss in answer["given_up"]] == [loss["name"] for loss in advised["given_up"]][:2]
    assert [each["pass"] for each in answer["by_number"]] == [each["pass"] for each in advised["by_number"]]
    best = next(each for each in advised["by_number"] if each["pass"] == advised["pass"])
    assert answer["blind"] == best["blind"]


@pytest.mark.parametrize("round_", ["first_right", "first_left", "courtesy"])
def test_the_key_of_own_racks_is_the_advice(sheet: Sheet, post: Ask, round_: str) -> None:
    found = sheet(racks=[RACK, OTHER.split(), {"rack": RACK, "round": "second_across"}], round=round_)
    assert [problem["number"] for problem in found["problems"]] == [1, 2, 3]
    assert [problem["round"] for problem in found["problems"]] == [round_, round_, "second_across"]
    assert [problem["index"] for problem in found["problems"]] == [None] * 3
    assert (found["seed"], found["difficulty"], found["complete"], found["tried"]) == (None, None, True, 3)
    for problem, answer in zip(found["problems"], found["key"], strict=True):
        asked = {"rack": problem["rack"], "round": problem["round"], "card": "small"}
        agrees(answer, post("/v1/advice", **asked).json())


def test_dealt_racks_are_those_of_the_deals(sheet: Sheet, post: Ask) -> None:
    wish = {"seed": 7, "count": 3, "difficulty": "close", "jokers": 1, "card": "small"}
    found, deals = sheet(**wish), post("/v1/deals", **wish, answers=True).json()
    assert [problem["index"] for problem in found["problems"]] == [deal["index"] for deal in deals["deals"]]
    assert [problem["rack"] for problem in found["problems"]] == [deal["rack"] for deal in deals["deals"]]
    assert [answer["pass"] for answer in found["key"]] == [deal["pass"] for deal in deals["deals"]]
    assert [answer["closeness"] for answer in found["key"]] == [deal["closeness"] for deal in deals["deals"]]
    assert (found["seed"], found["difficulty"], found["complete"]) == (7, "close", True)
    assert found["tried"] == deals["tried"]


def test_limits_arrivals_objective_and_drill_hold_for_every_rack(sheet: Sheet, post: Ask) -> None:
    arrivals, limits = {"charleston": 6, "draws": 10, "claims": 8}, {"no_pairs": True}
    more: dict[str, Any] = {"arrivals": arrivals, "limits": limits, "objective": "sum"}
    found = sheet(racks=[RACK], **more)
    agrees(found["key"][0], post("/v1/advice", rack=RACK, round="first_right", card="small", **more).json())
    assert (found["arrivals"], len(found["limits"]), found["objective"]) == (arrivals, 1, "sum")
    drill = {"exchanges_left": 2, "then_draws": 8}
    found = sheet(seed=1, drill=drill)
    (problem,), (answer,) = found["problems"], found["key"]
    asked = {"rack": problem["rack"], "round": "first_right", "card": "small", "drill": drill}
    agrees(answer, post("/v1/advice", **asked).json())
    assert found["drill"] == drill


def test_without_a_key(sheet: Sheet) -> None:
    with_key = sheet(racks=[RACK, OTHER])
    assert sheet(racks=[RACK, OTHER], key=False) == {**with_key, "key": []}
    dealt = sheet(seed=7, count=2, difficulty="clear")
    assert sheet(seed=7, count=2, difficulty="clear", key=False) == {**dealt, "key": []}


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({}, ["#/seed missing"]),
        ({"racks": [RACK] * (MAX_RACKS + 1)}, ["#/racks too-long"]),
        (
            {"racks": [RACK, "zebra", "2b", 5, {"rack": RACK, "round": "x"}, {"round": "courtesy"}, None]},
            pointers(
                "racks/1 unknown-tile, racks/1 wrong-count, racks/2 wrong-count, racks/3 tiles-type, "
                "racks/4/round enum, racks/5/rack missing, racks/6 tiles-type"
            ),
        ),
        (
            {"racks": [RACK], "seed": 1, "count": 1, "budget": 5, "difficulty": "any"},
            ["#/seed no-use", "#/count no-use", "#/difficulty no-use", "#/budget no-use"],
        ),
        ({"racks": [OTHER], "drill": {"exchanges_left": 2}}, ["#/racks/0/rack wrong-count"]),
        ({"seed": 1, "drill": {"exchanges_left": 2}, "tiles": 13}, ["#/tiles range"]),
        ({"seed": 1, "family": "hats"}, ["#/family unknown-name"]),
        ({"seed": 1, "limits": {"stay": "F"}}, ["#/limits/stay no-use"]),
        (
            {"racks": [RACK, OTHER], "arrivals": {"charleston": 100, "draws": 100, "claims": 0}},
            ["#/arrivals range"],
        ),
        ({"seed": -1, "count": 51}, ["#/seed greater-than-equal", "#/count less-than-equal"]),
    ],
)
def test_faults(post: Ask, faults: Faults, members: dict[str, Any], expected: list[str]) -> None:
    assert sorted(faults(post("/v1/sheets", card="small", **members))) == sorted(expected)


def test_every_rack_that_no_pass_fits_is_named(post: Ask, faults: Faults) -> None:
    limits = {"keep_hands": {"count": 20, "reach": 1.0}}
    refused = post("/v1/sheets", card="small", racks=[RACK, OTHER], limits=limits)
    assert faults(refused) == ["#/racks/0 limits-clash", "#/racks/1 limits-clash"]


@pytest.mark.parametrize("part", ["problems", "key"])
@pytest.mark.parametrize(
    ("form", "media_type"),
    [("html", "text/html; charset=utf-8"), ("csv", "text/csv; charset=utf-8"), ("pdf", "application/pdf")],
)
def test_a_file(
    post: Ask, example: dict[str, Any], form: str, media_type: str, part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # How a PDF is made is tested with its file.
    monkeypatch.setattr("api.sheets.printing.pdf", bytes)
    asked = {"sheet": example, "format": form, "part": part}
    response = post(PAGES, **asked)
    assert response.status_code == 200, response.text
    assert response.headers["content-type"] == media_type
    assert response.headers["content-disposition"] == f'attachment; filename="{part}.{form}"'
    assert "sandbox" in response.headers["content-security-policy"]
    assert response.headers["x-content-type-options"] == "nosniff"
    assert response.content == file_of(pages_of(asked))


def test_a_sheet_as_it_was_answered_is_taken_back(post: Ask) -> None:
    for asked in (
        {"seed": 5, "count": 2, "card": "small", "drill": {"exchanges_left": 2}},
        {"racks": [RACK], "card": "small", "round": "courtesy"},
    ):
        found = post("/v1/sheets", **asked).json()["sheet"]
        for part in ("problems", "key"):
            response = post(PAGES, sheet=found, format="html", part=part)
            assert response.status_code == 200, response.text
            assert f"card {found['card']['title']}" in response.text


def test_as_many_problems_as_allowed(post: Ask, faults: Faults, example: dict[str, Any]) -> None:
    def many(count: int) -> dict[str, Any]:
        numbers = range(1, count + 1)
        return {
            **example,
            "problems": [{**example["problems"][0], "number": number} for number in numbers],
            "key": [{**example["key"][0], "number": number} for number in numbers],
        }

    response = post(PAGES, sheet=many(MAX_PROBLEMS), format="csv", part="key")
    assert len(response.text.splitlines()) == MAX_PROBLEMS + 1
    assert faults(post(PAGES, sheet=many(MAX_PROBLEMS + 1), format="csv", part="key")) == pointers(
        "sheet/problems too-long, sheet/key too-long"
    )
    asked = {"sheet": {**many(MAX_PRINTED + 1), "key": []}, "part": "problems"}
    assert faults(post(PAGES, **asked, format="pdf")) == ["#/sheet/problems too-long"]
    assert post(PAGES, **asked, format="html").status_code == 200


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda s: s["problems"][0]["rack"].__setitem__(0, "zebra"), [("problems/0/rack/0", "enum")]),
        (lambda s: s["problems"][0].update(rack=["2b"] * 14), [("problems/0/rack", "too-many-copies")]),
        (lambda s: s["problems"].append(s["problems"][0]), [("problems", "numbers"), ("key", "numbers")]),
        (lambda s: s["key"][0].update(number=2), [("key", "numbers")]),
        (lambda s: s["problems"].clear(), [("key", "numbers")]),
        (lambda s: s["key"][0].update(sentence="a\nb"), [("key/0/sentence", "string-pattern-mismatch")]),
        (lambda s: s["key"][0].pop("pass"), [("key/0/pass", "missing")]),
        (lambda s: s["card"].update(title="\ud800"), [("card/title", "string-unicode")]),
        (lambda s: s.update(hat=1), [("hat", "extra-forbidden")]),
    ],
)
def test_faults_of_a_sheet_sent_back(
    post: Ask,
    faults: Faults,
    example: dict[str, Any],
    change: Callable[[dict[str, Any]], object],
    expected: list[str],
) -> None:
    change(example)
    response = post(PAGES, sheet=example, format="html", part="key")
    assert faults(response) == [f"#/sheet/{place} {kind}" for place, kind in expected]


def test_faults_of_what_file_is_wanted(post: Ask, faults: Faults) -> None:
    asked = {"sheet": None, "format": "doc", "part": "all", "paper": "a5"}
    assert sorted(faults(post(PAGES, **asked))) == pointers(
        "format enum, paper enum, part enum, sheet model-type"
    )


def test_a_sheet_without_a_key_has_no_key_to_print(
    post: Ask, faults: Faults, example: dict[str, Any]
) -> None:
    example["key"] = []
    assert post(PAGES, sheet=example, format="html", part="problems").status_code == 200
    assert faults(post(PAGES, sheet=example, format="html", part="key")) == ["#/part no-key"]


def test_pdf_without_what_draws_it(
    post: Ask, example: dict[str, Any], problem: Problem, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "weasyprint.py").write_text("raise ImportError")
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path), *sys.path]))
    found = problem(post(PAGES, sheet=example, format="pdf", part="key"), "not-installed")
    assert found["detail"] == (
        "PDF needs WeasyPrint and Pango on the server: ask for html, which prints the same pages"
    )


def test_a_body_of_a_whole_sheet_fits(post: Ask) -> None:
    """A sheet of the full card as large as any stays below the usual limit on bodies."""
    found = post("/v1/sheets", seed=5, count=5, round="first_left").json()["sheet"]
    asked = {"sheet": found, "format": "pdf", "part": "key", "paper": "letter"}
    size = len(json.dumps(asked, separators=(",", ":")))
    assert size / len(found["problems"]) * MAX_PROBLEMS < Settings().body_limit


def test_it_names_the_swap_and_what_it_costs() -> None:
    for found in find_deals(DealWish(SMALL, seed=5, count=12, budget=12))[0]:
        advice = found.advice
        other = advice.runner_ups[0]
        gap = advice.behind(other)
        sentence = answer_of(1, advice).sentence
        assert sentence.startswith("Giving ") and sentence.endswith(".") and sentence.count("\n") == 0
        if gap <= advice.resolution:
            assert sentence.endswith(" would be worth the same: either will do.")
            continue
        assert words.loss(gap, advice.strength) in sentence
        for tile in set(other.passed) - set(advice.passed):
            assert tile.word in sentence.partition(" in place of ")[0]
        for tile in set(advice.passed) - set(other.passed):
            assert tile.word in sentence.partition(" in place of ")[2]


def test_small_chances_keep_two_digits() -> None:
    reaches = (0.0, 0.000002, 0.000012, 0.00017, 0.0017, 0.0099, 0.01, 0.123)
    says = ["0.0 %", "under 0.001 %", "0.0012 %", "0.017 %", "0.17 %", "0.99 %", "1.0 %", "12.3 %"]
    assert [words.chance(reach) for reach in reaches] == says
