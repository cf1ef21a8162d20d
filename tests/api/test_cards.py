"""Practice cards over the wire, and the check of a card of one's own."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from api import words
from api.answers.cards import CardShelf
from api.service import Service
from api.settings import Settings
from patterns.card_file import shipped_card, shipped_names
from patterns.faults import FaultyInputError
from solver.deals import chances_from_deal
from tests.api.asking import APART, HAND, RACK, Faults, card, members, numbers_only, pointers, sent

TOML = '[card]\nname = "Mine"\n[[hand]]\n' + "\n".join(f"{k} = {json.dumps(v)}" for k, v in HAND.items())


def form(name: str = "Mine") -> dict[str, Any]:
    return card(name=name)


@pytest.fixture
def check(client: TestClient) -> Callable[[object], dict[str, Any]]:
    def post(written: object) -> dict[str, Any]:
        response = client.post("/v1/cards/check", json={"card": written})
        assert response.status_code == 200
        body: dict[str, Any] = response.json()
        assert body["ok"] is (body["faults"] == []) is (body["card"] is not None)
        if body["ok"]:
            assert body["hands"] == body["card"]["hands"]
        return body

    return post


def places(body: dict[str, Any]) -> list[str]:
    return [f"{fault['pointer']} {fault['type']}" for fault in body["faults"]]


def test_the_list_names_every_practice_card(client: TestClient) -> None:
    listed = client.get("/v1/cards").json()["cards"]
    assert [entry["name"] for entry in listed] == list(shipped_names())
    for entry in listed:
        shipped = shipped_card(entry["name"])
        assert numbers_only(entry) == members(
            shipped,
            "id families",
            name=entry["name"],
            title=shipped.name,
            hands=len(shipped.hands),
            targets=shipped.target_count,
            source="shipped",
        )


@pytest.mark.parametrize("name", shipped_names())
def test_a_practice_card_in_full(client: TestClient, name: str) -> None:
    body = client.get(f"/v1/cards/{name}").json()
    shipped = shipped_card(name)
    assert (body["name"], body["title"], body["targets"]) == (name, shipped.name, shipped.target_count)
    assert body["families"] == list(shipped.families)
    for entry, hand, chance in zip(body["hands"], shipped.hands, chances_from_deal(shipped), strict=True):
        assert entry["words"]["chance"] == words.percent(entry["chance"])
        assert numbers_only(entry) == members(
            hand,
            "name id family where concealed weight",
            groups=list(hand.notation),
            targets=len(hand.targets),
            traits=sorted(sent(tuple(hand.traits))),
            chance=sent(chance),
            example=[group.tile.value for group in hand.targets[0].groups for _ in range(group.count)],
        )


def test_a_good_card_is_shown_in_full(check: Callable[[object], dict[str, Any]]) -> None:
    body = check(card(HAND, {**HAND, "name": "Other"}))
    assert (body["card"]["name"], body["card"]["title"], body["card"]["targets"]) == ("Mine", "Mine", 48)
    assert body["remarks"] == [{"hand": 1, "detail": "'Other' has the same targets as 'Apart'"}]


def test_faults_of_every_hand_are_named(check: Callable[[object], dict[str, Any]]) -> None:
    body = check(
        card(
            {**HAND, "name": "thirteen", "groups": "np*4 (n+5)q*4 flower*5"},
            HAND,
            {**HAND, "name": "pair of jokers", "groups": "joker*2 np*4 (n+1)q*4 (n+3)r*4"},
            {**HAND, "name": "typo", "groups": [APART, "np*4 (n+5)q*4 flowr*6"]},
            HAND,
            {**HAND, "name": "condition", "where": "n in 5..9"},
        )
    )
    assert places(body) == pointers(
        "card/hand/4/name same-name, card/hand/0/groups wrong-count, card/hand/2/groups notation, "
        "card/hand/3/groups/1 notation, card/hand/5/where where"
    )
    assert all("hand '" in fault["detail"] for fault in body["faults"][1:])


@pytest.mark.parametrize("written", [None, [], "nope", {"toml": 5}, {"toml": "="}])
def test_what_is_no_card_is_a_finding(check: Callable[[object], dict[str, Any]], written: object) -> None:
    assert not check(written)["ok"]


def test_faults_in_toml_have_file_and_line(check: Callable[[object], dict[str, Any]]) -> None:
    toml = '[card]\nname = "Mine"\n\n[[hand]]\nname = "a"\nfamily = "b"\ngroups = "5p*4"\n'
    (fault,) = check({"toml": toml, "file": "mine.toml"})["faults"]
    assert fault["pointer"] == "#/card/toml"
    assert fault["detail"].startswith("mine.toml, line 7")


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({}, ["#/card missing"]),
        ({"card": card(HAND), "x": 1}, ["#/x extra-forbidden"]),
        ([], ["# model-type"]),
    ],
)
def test_a_body_without_a_card_is_refused(
    client: TestClient, faults: Faults, body: object, expected: list[str]
) -> None:
    assert faults(client.post("/v1/cards/check", json=body)) == expected


def test_the_card_used_longest_ago_is_let_go() -> None:
    shelf = CardShelf(2)
    first, second = shelf.from_form(form("1")).card, shelf.from_form(form("2")).card
    assert shelf.from_form(form("1")).card is first
    shelf.from_form(form("3"))
    assert shelf.from_form(form("1")).card is first
    assert shelf.from_form(form("2")).card is not second


def test_a_faulty_card_is_refused_every_time_and_with_its_own_file() -> None:
    shelf = CardShelf(2)
    for file in ("x.toml", "y.toml"):
        with pytest.raises(FaultyInputError, match=file):
            shelf.from_toml(TOML.replace("flower*6", "flower*5"), file)


def test_a_card_goes_from_text_to_a_form_and_back(check: Callable[[object], dict[str, Any]]) -> None:
    body = check({"toml": TOML})
    assert (body["form"], body["toml"]) == (form(), TOML)
    again = check(body["form"])
    assert again["form"] == form()
    assert check({"toml": again["toml"]})["form"] == form()


def test_the_right_hands_of_a_faulty_card_are_shown(check: Callable[[object], dict[str, Any]]) -> None:
    body = check(card({**HAND, "name": "a", "groups": "5p*4"}, HAND))
    assert (body["hands"][0], body["hands"][1]["name"], body["hands"][1]["targets"]) == (None, "Apart", 24)
    assert body["form"]["hand"][0]["groups"] == "5p*4"


def test_cards_of_a_folder_are_there_by_name_and_read_anew(tmp_path: Path) -> None:
    service = Service(Settings(cards=tmp_path))

    def said(method: str, path: str, body: object = None) -> tuple[int, Any]:
        reply = service.answer(method, path, json.dumps(body).encode())
        return reply.status, json.loads(reply.body)

    asked = {"rack": RACK, "round": "first_right", "card": "mine"}
    assert said("POST", "/v1/advice", asked)[0] == 422
    (tmp_path / "mine.toml").write_text(TOML, encoding="utf-8")
    (tmp_path / "bad.toml").write_text(TOML.replace("flower*6", "flower*5"), encoding="utf-8")
    (tmp_path / "small.toml").write_text(TOML, encoding="utf-8")
    _, listed = said("GET", "/v1/cards")
    assert [(each["name"], each["source"]) for each in listed["cards"]] == [
        ("full", "shipped"), ("small", "shipped"), ("mine", "folder")]  # fmt: skip
    assert listed["left_out"] == ["bad.toml has 1 fault"]
    used, shown = (
        said("POST", "/v1/advice", asked)[1]["assumptions"]["card"],
        said("GET", "/v1/cards/mine")[1],
    )
    assert used == {"name": "mine", "title": "Mine", "id": shown["id"], "hands": 1, "targets": 24}
    assert said("GET", "/v1/cards/mine")[1]["title"] == "Mine"
    assert said("GET", "/v1/cards/small")[1]["title"] == shipped_card("small").name
    assert said("GET", "/v1/cards/..%2Fmine")[0] == 404
    (tmp_path / "mine.toml").write_text(TOML.replace("Mine", "Ours"), encoding="utf-8")
    assert said("GET", "/v1/cards/mine")[1]["title"] == "Ours"
