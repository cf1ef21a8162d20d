"""A card's fit over the wire: games a slice at a time, and the fit that they make."""

import tomllib
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.operations import examples
from patterns.fit_file import fit_from_toml
from solver.rounds import ORDER
from solver.table.fitting import FitGame, fit_of, game_for_fit
from tests.api.asking import SMALL, members


def fitted(client: TestClient, path: str, **members: Any) -> dict[str, Any]:
    said: dict[str, Any] = client.post(path, json={"card": "small", "seed": 5, **members}).json()
    return said


@pytest.fixture(scope="module")
def games(client: TestClient) -> list[dict[str, Any]]:
    slices = [fitted(client, "/v1/fits/games", start=start, count=2) for start in (0, 2)]
    return [game for each in slices for game in each["games"]]


def test_games_are_the_solvers_to_five_digits(games: list[dict[str, Any]]) -> None:
    assert [game["number"] for game in games] == [0, 1, 2, 3]
    direct = game_for_fit(SMALL, 5, 2)
    assert members(direct, "won alone_won make").items() <= games[2].items()
    for told, stage in zip(games[2]["some"], direct.some, strict=True):
        assert told == pytest.approx(stage, rel=1e-4)


def test_a_fit_is_the_solvers_and_a_file(client: TestClient, games: list[dict[str, Any]]) -> None:
    answer = fitted(client, "/v1/fits", games=list(reversed(games)))
    direct, judged = fit_of(
        [
            FitGame(
                **{**game, "some": tuple(map(tuple, game["some"])), "make": game_for_fit(SMALL, 5, n).make}
            )
            for n, game in enumerate(games)
        ]
    )
    fit = answer["fit"]
    assert [length["draws"] for length in fit["some_hand"]["lengths"]] == [
        length.draws for length in direct.some_hand.lengths
    ]
    assert [fit["some_hand"]["later"][round_.value] for round_ in ORDER] == list(direct.some_hand.later)
    assert (fit["games"], fit["seed"], fit["digest"]) == (4, 5, SMALL.digest)
    assert len(answer["words"]) == len(fit["held_out"]) == len(judged)
    assert "when play begins: off by" in answer["words"][7]
    assert tomllib.loads(answer["toml"])["fit"] == fit
    read = fit_from_toml(answer["toml"], "small.fit.toml").model_dump()
    assert read == fit


@pytest.mark.parametrize(
    ("spoil", "pointer"),
    [
        (lambda games: games[:2], "#/games"),
        (lambda games: [*games, games[0]], "#/games"),
        (lambda games: [{**games[0], "won": 4}, *games[1:]], "#/games/0/won"),
        (lambda games: [*games[:2], {**games[2], "some": [[0.1] * 3] * 8}], "#/games/2/some"),
        (lambda games: [*games[:2], {**games[2], "alone": [0.1, 0.2, 1.3]}], "#/games/2/alone/2"),
        (lambda games: [*games[:2], {**games[2], "number": 4}], "#/games"),
        (lambda games: [*games[:2], {**games[2], "number": 5}], None),
    ],
)
def test_games_that_no_fit_can_be_made_of(client: TestClient, spoil: Any, pointer: str | None) -> None:
    games = examples()["fits"]["three_games"]["games"]
    said = fitted(client, "/v1/fits", games=spoil(games))
    assert [each["pointer"] for each in said.get("errors", [])] == ([] if pointer is None else [pointer])


def test_no_more_than_ten_games_at_once(client: TestClient) -> None:
    said = fitted(client, "/v1/fits/games", count=11)
    assert [each["pointer"] for each in said["errors"]] == ["#/count"]
