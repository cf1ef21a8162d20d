"""Odds: where they come from, the fit of a card on the wire, and the estimate for a card without one."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, SkipValidation

from api import words
from api.reading import Answer, Number
from patterns.card import Card, content_id
from patterns.faults import Fault, FaultyInputError
from patterns.fit_file import FitBody, PlayForm, read_fit
from solver.arrivals import Fit, Length, Make, Play, Sharpness, Source
from solver.coach.review import Record
from solver.odds import estimate
from solver.rounds import ORDER
from solver.situation import Question

# Read by `fit_of`, so that faults of shape and of content are told in one go.
FitAsWritten = Annotated[
    SkipValidation[FitBody | None],
    Field(description="What games said of the card's odds; null: the service's own fit, or an estimate"),
]


class OddsBody(Answer):
    """Where the odds come from: `some_hand`, and `alone` of each hand."""

    source: Source = Field(description="Games with this card, an estimate without any, or no odds at all")
    id: str | None = Field(description="Names the content of the fit or estimate; null without odds")
    games: int = Field(description="Simulated games that they were fitted to")
    error: Number | None = Field(
        description="Expected calibration error of `some_hand` when play begins, on games held back"
    )
    words: str = Field(description="The same for people, or why no odds are stated")


def fit_of(written: object, card: Card) -> Fit:
    """Return the fit of a card as written out; FaultyInputError with the faults of shape, or as `checked`."""
    return checked(written if isinstance(written, FitBody) else read_fit(written), card)


def checked(body: FitBody, card: Card) -> Fit:
    """Return the fit of a card; FaultyInputError if it is of another one."""
    if body.digest != card.digest:
        detail = f"this is the fit of other hands ({body.card}): `threepass cards fit` makes one for these"
        raise FaultyInputError([Fault("other-card", ("digest",), detail)])
    error = next(
        (each.error for each in body.held_out if (each.of, each.after) == ("some_hand", "play_begins")), None
    )
    alone = tuple(_play(getattr(body.alone, make.value)) for make in Make)
    sharpness = Sharpness(body.sharpness.share, body.sharpness.factor)
    return Fit(_play(body.some_hand), alone, Source.FIT, body.games, error, sharpness)


def _play(form: PlayForm) -> Play:
    later = form.later.model_dump()
    return Play(
        tuple(Length(each.draws, each.claims, each.share) for each in form.lengths),
        tuple(later[round_.value] for round_ in ORDER),
    )


def odds_of(asked: Question | Record) -> OddsBody:
    """Say where odds come from."""
    fit = asked.fit if asked.measured else None
    return OddsBody(
        source=Source.NONE if fit is None else fit.source,
        id=None if fit is None else content_id(fit.some_hand, fit.alone, fit.sharpness),
        games=0 if fit is None else fit.games,
        error=None if fit is None else fit.error,
        words=words.odds_words(fit, told=asked.measured, chosen=asked.limits.choose_hands),
    )


def fit_or_estimate(asked: Question | Record) -> Fit | None:
    """Return the fit, or where odds can be told and there is none an estimate, if it is to be trusted."""
    if asked.fit is not None or not asked.measured:
        return asked.fit
    return estimate(asked.card)
