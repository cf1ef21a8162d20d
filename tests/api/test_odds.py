"""Odds in answers: by the fit that is sent or ships, by an estimate, or none, and why."""

import json
from pathlib import Path
from typing import Any

import pytest

from api.answers import question
from api.service import Service
from api.words import percent
from patterns.card_file import card_from_toml, shipped_card, toml_of
from patterns.fit_file import FitBody, shipped_fit
from solver.arrivals import Fit, Length, Make, Play, Source
from solver.rounds import Round
from tests.api.asking import RACK

TEXT = (Path(__file__).parents[1] / "own_card.toml").read_text(encoding="utf-8")
OWN = card_from_toml(TEXT, "own_card.toml")
LATER = dict.fromkeys((each.value for each in Round), 1)
SENT: dict[str, Any] = {
    **shipped_fit("small").model_dump(),
    "card": OWN.name,
    "digest": OWN.digest,
    "games": 300,
    "some_hand": {"lengths": [{"draws": 20, "claims": 10, "share": 1.0}], "later": LATER},
    "alone": {
        make.value: {"lengths": [{"draws": 15 + place, "claims": 5, "share": 1.0}], "later": LATER}
        for place, make in enumerate(Make)
    },
}
ERROR = next(each["error"] for each in SENT["held_out"] if each["after"] == "play_begins")
TOML = {"toml": TEXT, "file": "own_card.toml"}
ESTIMATE = Fit(
    Play((Length(9, 3, 1.0),), (1,) * 7), (Play((Length(18, 6, 1.0),), (1,) * 7),) * 4, Source.ESTIMATE
)


@pytest.fixture(scope="module")
def service() -> Service:
    return Service()


def ask(service: Service, path: str = "/v1/advice", **members: Any) -> dict[str, Any]:
    body = {"rack": RACK, "round": "first_right", "card": TOML, **members}
    reply = service.answer("POST", path, json.dumps(body).encode())
    said: dict[str, Any] = json.loads(reply.body)
    return said


@pytest.fixture
def estimated(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Estimates that cost nothing; returns the names of cards that one was asked for."""
    asked: list[str] = []
    monkeypatch.setattr(question, "estimate", lambda card: asked.append(card.name) or ESTIMATE)
    return asked


def test_a_fit_that_is_sent_makes_the_odds_and_chooses_nothing(
    service: Service, estimated: list[str]
) -> None:
    fitted, bare = ask(service, fit=SENT), ask(service)
    assert fitted["odds"]["source"] == "fit" and fitted["odds"]["games"] == 300
    assert fitted["odds"]["error"] == ERROR
    assert len(fitted["odds"]["id"]) == 16 and fitted["odds"]["id"] != bare["odds"]["id"]
    assert "300 simulated games" in fitted["odds"]["words"] and percent(ERROR) in fitted["odds"]["words"]
    assert fitted["assumptions"]["arrivals_some_hand"]["lengths"] == SENT["some_hand"]["lengths"]
    assert fitted["assumptions"]["arrivals_some_hand"]["charleston"] == 4
    for make, play in SENT["alone"].items():
        assert fitted["assumptions"]["arrivals_alone"][make]["lengths"] == play["lengths"]
    assert fitted["some_hand"] != bare["some_hand"]
    for same in ("pass", "expected_hands", "alternatives", "given_up"):
        assert fitted[same] == bare[same]
    assert estimated == [OWN.name], "where there is a fit nothing is estimated"


def test_the_file_beside_a_card_says_the_same(service: Service) -> None:
    beside = ask(service, card={**TOML, "fit": toml_of({"fit": SENT})})
    assert beside == ask(service, fit=SENT)


def test_an_estimate_where_there_is_no_fit(service: Service, estimated: list[str]) -> None:
    body = ask(service)
    assert body["odds"]["source"] == "estimate" and body["odds"]["games"] == 0
    assert "an estimate" in body["words"]["some_hand"] and "An estimate" in body["odds"]["words"]
    assert body["assumptions"]["arrivals_alone"]["groups"]["draws"] == 18
    assert estimated == [OWN.name]


def test_people_read_why_no_odds_are_stated(
    service: Service, estimated: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for members in (
        {"drill": {"exchanges_left": 3}},
        {"arrivals": {"charleston": 3, "draws": 10, "claims": 4}},
    ):
        body = ask(service, **members)
        assert body["odds"]["source"] == "none" and body["odds"]["words"].startswith("No odds are stated:")
        assert body["odds"]["id"] is None
        assert body["some_hand"] is None and body["assumptions"]["arrivals_alone"] is None
    assert not estimated, "nothing is estimated that is not told"
    monkeypatch.setattr(question, "estimate", lambda card: None)
    body = ask(service)
    assert body["odds"]["source"] == "none" and "cards fit" in body["odds"]["words"]
    assert body["some_hand"] is None and {hand["alone"] for hand in body["hands"]} == {None}


def test_with_hands_left_out_only_the_chance_of_some_hand_is_not_stated(service: Service) -> None:
    body = ask(service, fit=SENT, limits={"without": {"hands": ["Left Out"]}})
    assert body["some_hand"] is None and body["words"]["some_hand"] is None
    assert body["odds"]["source"] == "fit" and "not stated" in body["odds"]["words"]
    assert body["hands"][0]["alone"] > 0


@pytest.mark.parametrize(
    ("fit", "pointers"),
    [
        ({**SENT, "digest": "0" * 16}, ["#/fit/digest"]),
        ({**SENT, "games": 0, "lions": 1}, ["#/fit/games", "#/fit/lions"]),
        ("full", ["#/fit"]),
    ],
)
def test_a_fit_that_is_none_or_of_another_card(service: Service, fit: object, pointers: list[str]) -> None:
    assert [each["pointer"] for each in ask(service, fit=fit)["errors"]] == pointers


@pytest.mark.parametrize("name", ["full", "small"])
def test_practice_cards_bring_their_fit(service: Service, name: str) -> None:
    shipped = shipped_fit(name)
    body = ask(service, card=name)
    assert body["odds"]["source"] == "fit" and body["odds"]["games"] == shipped.games
    alike = ask(service, card=name, fit=FitBody.model_validate(shipped).model_dump())
    assert alike == body and shipped.digest == shipped_card(name).digest


def test_cards_of_a_folder_bring_the_fit_beside_them(tmp_path: Path) -> None:
    from api.settings import Settings

    (tmp_path / "own.toml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "own.fit.toml").write_text(toml_of({"fit": SENT}), encoding="utf-8")
    service = Service(Settings(cards=tmp_path))
    assert ask(service, card="own")["odds"]["games"] == 300
    listed = json.loads(service.answer("GET", "/v1/cards").body)["cards"]
    assert [each["name"] for each in listed] == ["full", "small", "own"]


def test_a_review_states_the_odds_at_the_end(service: Service, estimated: list[str]) -> None:
    exchange = {"round": "first_right", "given": "1d E W", "received": "2b 3b 4b"}
    record = {"rack": RACK, "card": TOML, "exchanges": [exchange]}

    def reviewed(**members: Any) -> dict[str, Any]:
        reply = service.answer(
            "POST", "/v1/reviews", json.dumps({"records": [{**record, **members}]}).encode()
        )
        told: dict[str, Any] = json.loads(reply.body)["reviews"][0]
        return told

    assert reviewed()["odds"]["source"] == "estimate" and estimated == [OWN.name]
    fitted = reviewed(fit=SENT)
    assert fitted["odds"]["games"] == 300 and 0 < fitted["some_hand"] < 1
    drilled = reviewed(drill=True)
    assert drilled["odds"]["source"] == "none" and drilled["some_hand"] is None
