"""The records and the grades of `POST /v1/reviews`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.settings import DEFAULT_EFFORT
from api.wire.advice import DEFAULT_CARD, Effort, HandBody, LaterArrivals
from api.wire.base import Answer, Number, Request
from api.wire.cards import CardAsWritten
from api.wire.limits import LimitsBody, Tiles
from patterns.tiles import Tile
from solver.review import MAX_SECONDS, Pace
from solver.rounds import MAX_EXCHANGES, PASS_SIZE, Round

MAX_RECORDS = 20


class ExchangeBody(Request):
    """One exchange as it was played."""

    round: Annotated[Round, Field(strict=False)]
    given: Tiles = Field(description="Own tiles given")
    received: Tiles = Field(description="Tiles that came into the rack, as many as were given")
    blind: int = Field(0, ge=0, le=PASS_SIZE, description="Incoming tiles passed on unseen")
    seconds: float | None = Field(
        None, ge=0, le=MAX_SECONDS, allow_inf_nan=False, description="Time it took to choose"
    )


class RecordBody(Request):
    """A recorded Charleston."""

    rack: Tiles = Field(description="The rack as it was dealt")
    exchanges: list[ExchangeBody] = Field(min_length=1, max_length=MAX_EXCHANGES)
    card: CardAsWritten = Field(DEFAULT_CARD)
    drill: bool = Field(default=False, description="A drill with a heap: exchanges may be of any rounds")
    arrivals: LaterArrivals = None
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Of every pass; no tiles can be named, as no one rack has them",
    )


class ReviewsRequest(Request):
    """Grade the laps of a session."""

    records: list[RecordBody] = Field(min_length=1, max_length=MAX_RECORDS)
    effort: Effort = DEFAULT_EFFORT


class BestBody(Answer):
    """The best pass at that moment."""

    passed: list[Tile] = Field(serialization_alias="pass")
    give: int
    blind: int
    expected_hands: Number


class ReasonBody(Answer):
    """A hand that the best pass keeps better."""

    name: str
    family: str
    reach_best: Number
    reach_made: Number


class HindsightBody(Answer):
    """The best pass had one known what came in. No part of the grade."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    made: Number = Field(description="Expected hands of the pass that was made, with what came in")
    note: str = "not part of the grade"


class GradedPassBody(Answer):
    """One pass and its grade."""

    round: Round
    given: list[Tile]
    blind: int
    received: list[Tile]
    best: BestBody
    expected_hands: Number = Field(description="Expected hands after the pass that was made")
    given_up: Number = Field(description="How much less that is than the best")
    share: Number = Field(description="The same as a share of the best")
    within_resolution: bool = Field(description="Whether the pass cannot be told from the best")
    seconds: Number | None
    reasons: list[ReasonBody]
    why: str
    hindsight: HindsightBody


class CostliestBody(Answer):
    """The pass that gave up most."""

    pass_index: int
    round: Round
    given_up: Number
    why: str


class ReviewBody(Answer):
    """One graded Charleston."""

    passes: list[GradedPassBody]
    given_up: Number
    costliest: CostliestBody | None
    expected_hands: Number = Field(description="At the end, draws and claims still to come")
    some_hand: Number | None = Field(
        description="Chance of completing some hand from there, as it came true at simulated tables; null in"
        " a drill or when arrivals were named"
    )
    hands: list[HandBody] = Field(description="The likeliest at the end, at most five")
    tiles_away: int = Field(description="Fewest tiles any target lacks at the end")
    seconds: Number | None
    time: str | None = Field(description="The same as minutes and seconds")
    pace: Pace | None


class SessionBody(Answer):
    """Averages over the laps."""

    laps: int
    timed: int
    seconds: Number | None
    time: str | None
    given_up: Number
    tiles_away: Number
    within_resolution: Number = Field(description="Share of all passes that cannot be told from the best")


class ReviewsAnswer(Answer):
    """The grades, lap by lap, and the averages."""

    reviews: list[ReviewBody]
    session: SessionBody
