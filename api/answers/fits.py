"""A card's fit over the wire: its games, some at a time, and what is made of all of them."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Annotated

from pydantic import Field

from api import words
from api.answers.cards import DEFAULT_CARD, CardAsWritten, CardShelf, NamedCard, read_card
from api.answers.question import versions
from api.operations import operation
from api.reading import Answer, Parts, Request, Seed
from patterns.card_file import toml_of
from patterns.fit_file import MAX_GAMES, FitBody
from solver.arrivals import Fit, Make, Play
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


@dataclass(frozen=True)
class _Series:
    """Games that are asked for, or a fit of them."""

    named: NamedCard
    seed: int
    start: int = 0
    count: int = 0
    games: tuple[FitGame, ...] = ()


def _series(written: object, shelf: CardShelf, model: type[FitGamesRequest] | type[FitsRequest]) -> _Series:
    parts = Parts(written)
    body = parts.shape(model)
    named = parts.part(("card",), lambda card: read_card(card, shelf), DEFAULT_CARD)
    games: list[FitGame] = []
    if isinstance(body, FitsRequest):
        games = [_game(each) for each in body.games]
        for index, game in enumerate(games):
            if [len(stage) for stage in game.some] != [_POINTS] * len(ORDER) + [len(FACTORS)]:
                parts.add("wrong-count", ("games", index, "some"), "chances at other points than games have")
        numbers = {game.number % 3 for game in games}
        if len({game.number for game in games}) < len(games) or len(numbers) < 3:
            parts.add("numbers", ("games",), "each game once, and numbers of every remainder by three")
    parts.check()
    assert body is not None and named is not None  # or there would have been a fault
    if isinstance(body, FitsRequest):
        return _Series(named, body.seed, games=tuple(sorted(games, key=lambda game: game.number)))
    return _Series(named, body.seed, body.start, body.count)


def _game(body: FitGameBody) -> FitGame:
    some = tuple(map(tuple, body.some))
    return FitGame(body.number, body.won, some, body.make, tuple(body.alone), body.alone_won)


def _short(chance: float) -> float:
    """Return a chance to five digits: a fit reads thousands of them."""
    return float(f"{chance:.5g}")


@operation(
    "/v1/fits/games",
    reads=lambda task: _series(task.written, task.cards, FitGamesRequest),
    price=lambda asked: playing(asked.named.card, asked.count),
    takes=FitGamesRequest,
    gives=FitGamesAnswer,
)
def fit_games(asked: _Series) -> FitGamesAnswer:
    """Games for the fit of a card.

    Simulated tables of one advised and three careful players, numbered; the same seed and number play the
    same game.
    """
    played = [
        game_for_fit(asked.named.card, asked.seed, asked.start + number) for number in range(asked.count)
    ]
    bodies = [
        FitGameBody(
            number=game.number,
            won=game.won,
            some=[[_short(chance) for chance in stage] for stage in game.some],
            make=game.make,
            alone=[_short(chance) for chance in game.alone],
            alone_won=game.alone_won,
        )
        for game in played
    ]
    return FitGamesAnswer(games=bodies, version=versions().threepass)


@operation(
    "/v1/fits",
    reads=lambda task: _series(task.written, task.cards, FitsRequest),
    price=lambda asked: playing(asked.named.card, 1),
    takes=FitsRequest,
    gives=FitsAnswer,
)
def fits(asked: _Series) -> FitsAnswer:
    """The fit of a card, from its games.

    How true the odds are is told by thirds of the games, each held back from a fit to the other two.
    """
    card = asked.named.card
    fit, judged = fit_of(card, asked.games)
    body = FitBody.model_validate(
        {
            "card": card.name,
            "digest": card.digest,
            "games": len(asked.games),
            "seed": asked.seed,
            "made_with": f"threepass {versions().threepass}",
            **_written(fit),
            "held_out": [_judgement(each) for each in judged],
        }
    )
    said = [words.judged_words(each) for each in judged]
    return FitsAnswer(fit=body, toml=toml_of({"fit": body.model_dump()}), words=said)


def _written(fit: Fit) -> dict[str, object]:
    alone = {make.value: _play(play) for make, play in zip(Make, fit.alone, strict=True)}
    return {"some_hand": _play(fit.some_hand), "sharpness": asdict(fit.sharpness), "alone": alone}


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
