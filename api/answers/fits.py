"""A card's fit over the wire: its games, some at a time, and what is made of all of them."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from typing import Annotated, TypeVar

from pydantic import Field

from api import words
from api.answers.cards import DEFAULT_CARD, CardAsWritten, NamedCard, read_card
from api.answers.question import versions
from api.operations import Task, operation
from api.reading import Answer, Parts, Request, Seed
from patterns.card_file import toml_of
from patterns.fit_file import MAX_GAMES, FitBody
from solver.arrivals import Make, Play
from solver.price import playing
from solver.rounds import ORDER
from solver.table.fitting import FACTORS, LATERS, WALLS, FitGame, Judged, fit_of, game_for_fit

MOST_AT_ONCE = 10
_POINTS = len(FACTORS) * len(LATERS)
_Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
_Walls = Annotated[int, Field(ge=0, le=WALLS)]
_Number = Annotated[int, Field(ge=0, le=MAX_GAMES - 1)]


class FitGamesRequest(Request):
    """Play some games for a fit."""

    card: CardAsWritten = Field(DEFAULT_CARD)
    seed: Seed = 0
    start: _Number = Field(0, description="Number of the first game")
    count: int = Field(1, ge=1, le=MOST_AT_ONCE, description="Games to play")


class FitGameBody(Request):
    """What a fit needs of one game."""

    number: _Number
    won: _Walls = Field(description="Walls with which the advised player completed a hand")
    some: list[Annotated[list[_Chance], Field(min_length=len(FACTORS), max_length=_POINTS)]] = Field(
        min_length=len(ORDER) + 1,
        max_length=len(ORDER) + 1,
        description="Chance of some hand after each pass and as play begins, under several plays",
    )
    make: Annotated[Make, Field(strict=False)] = Field(description="What the bound player's hand is made of")
    alone: list[_Chance] = Field(
        min_length=len(FACTORS), max_length=len(FACTORS), description="Its chance, under several plays"
    )
    alone_won: _Walls = Field(description="Walls with which the bound player completed it")


class FitGamesAnswer(Answer):
    """The games."""

    games: list[FitGameBody]
    version: str = Field(description="What played them")


class FitsRequest(Request):
    """Make a fit of games."""

    card: CardAsWritten = Field(DEFAULT_CARD)
    seed: Seed = 0
    games: list[FitGameBody] = Field(min_length=3, max_length=MAX_GAMES)


class FitsAnswer(Answer):
    """A card's fit."""

    fit: FitBody
    toml: str = Field(description="The same as the text of a file, to lie beside the card's as NAME.fit.toml")
    words: list[str] = Field(description="How true it is of games held back, a line each")


_Asks = TypeVar("_Asks", FitGamesRequest, FitsRequest)


def _asked(task: Task, model: type[_Asks]) -> tuple[NamedCard, _Asks]:
    parts = Parts(task.written)
    body = parts.shape(model)
    named = parts.read(partial(read_card, shelf=task.cards), body.card, "card")
    if isinstance(body, FitsRequest) and body.games:
        for index, game in enumerate(body.games):
            if [len(stage) for stage in game.some] != [_POINTS] * len(ORDER) + [len(FACTORS)]:
                parts.add("wrong-count", ("games", index, "some"), "chances at other points than games have")
        numbers = {game.number for game in body.games}
        if len(numbers) < len(body.games) or len({number % 3 for number in numbers}) < 3:
            parts.add("numbers", ("games",), "each game once, and numbers of every remainder by three")
    parts.check()
    assert named is not None  # or there would have been a fault
    return named, body


def _short(chance: float) -> float:
    """Return a chance to five digits: a fit reads thousands of them."""
    return float(f"{chance:.5g}")


@operation(
    "/v1/fits/games",
    FitGamesRequest,
    reads=_asked,
    price=lambda asked: playing(asked[0].card, asked[1].count),
)
def fit_games(asked: tuple[NamedCard, FitGamesRequest]) -> FitGamesAnswer:
    """Games for the fit of a card.

    Simulated tables of one advised and three careful players, numbered; the same seed and number play the
    same game.
    """
    named, body = asked
    numbers = range(body.start, body.start + body.count)
    games = []
    for number in numbers:
        game = game_for_fit(named.card, body.seed, number)
        some = [[_short(chance) for chance in stage] for stage in game.some]
        games.append(FitGameBody(**{**vars(game), "some": some, "alone": list(map(_short, game.alone))}))
    return FitGamesAnswer(games=games, version=versions().threepass)


@operation("/v1/fits", FitsRequest, reads=_asked, price=lambda asked: playing(asked[0].card, 1))
def fits(asked: tuple[NamedCard, FitsRequest]) -> FitsAnswer:
    """The fit of a card, from its games.

    How true the odds are is told by thirds of the games, each held back from a fit to the other two.
    """
    card, body = asked[0].card, asked[1]
    games = [
        FitGame(
            game.number, game.won, tuple(map(tuple, game.some)), game.make, tuple(game.alone), game.alone_won
        )
        for game in sorted(body.games, key=lambda game: game.number)
    ]
    fit, judged = fit_of(games)
    made = FitBody.model_validate(
        {
            "card": card.name,
            "digest": card.digest,
            "games": len(games),
            "seed": body.seed,
            "made_with": f"threepass {versions().threepass}",
            "some_hand": _play(fit.some_hand),
            "sharpness": asdict(fit.sharpness),
            "alone": {make.value: _play(play) for make, play in zip(Make, fit.alone, strict=True)},
            "held_out": [_judgement(each) for each in judged],
        }
    )
    said = [words.judged_words(each) for each in judged]
    return FitsAnswer(fit=made, toml=toml_of({"fit": made.model_dump()}), words=said)


def _play(play: Play) -> dict[str, object]:
    return {
        "lengths": list(map(asdict, play.lengths)),
        "later": {round_.value: later for round_, later in zip(ORDER, play.later, strict=True)},
    }


def _judgement(judged: Judged) -> dict[str, object]:
    return {
        "of": "some_hand" if judged.make is None else judged.make.value,
        "after": "play_begins" if judged.after is None else judged.after.value,
        "outcomes": judged.outcomes,
        "error": round(judged.error, 4),
        "by_chance": round(judged.by_chance, 4),
        "ratio": round(judged.ratio, 3),
    }
