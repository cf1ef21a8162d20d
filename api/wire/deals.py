"""The wish and the deals of `POST /v1/deals`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.wire.advice import DEFAULT_CARD, DrillBody
from api.wire.base import Answer, Name, Number, Request, Seed
from api.wire.cards import CardAsWritten
from api.wire.limits import LimitsBody
from patterns.rack import RACK_SIZES
from patterns.tiles import Tile
from solver.advice import Closeness
from solver.deals import MAX_BUDGET, Difficulty

MAX_DEALS = 50


class DealChoice(Request):
    """Which deals are wanted of all those a seed gives."""

    seed: Seed | None = Field(None, description="With the index, names a deal")
    count: int = Field(1, ge=1, le=MAX_DEALS)
    start: Seed = Field(0, description="First index to try")
    tiles: int = Field(RACK_SIZES[1], ge=RACK_SIZES[0], le=RACK_SIZES[1], description="Tiles in the rack")
    difficulty: Annotated[Difficulty, Field(strict=False)] = Difficulty.ANY
    family: Name | None = Field(None, description="Of the likeliest hand after the best pass")
    jokers: int | None = Field(None, ge=0, le=Tile.JOKER.copies, description="Exactly so many in the rack")
    budget: int = Field(100, ge=1, le=MAX_BUDGET, description="Most deals to try")


class DealsRequest(DealChoice):
    """What deals are wanted."""

    seed: Seed = Field(description="With the index, names a deal")
    drill: DrillBody | None = None
    card: CardAsWritten = Field(DEFAULT_CARD)
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Of every first pass; no tiles can be named, as no one rack has them",
    )
    heap: bool = Field(default=False, description="Whether to list the tiles that come in, in order")
    answers: bool = Field(default=False, description="Whether to tell the best pass")


class DealBody(Answer):
    """One deal and how hard its first pass is."""

    index: int
    rack: list[Tile]
    call: Closeness | None
    gap: Number | None
    share: Number | None
    family: str | None = Field(description="Of the likeliest hand after the best pass")
    heap: list[Tile] | None
    passed: list[Tile] | None = Field(serialization_alias="pass")


class DealsAnswer(Answer):
    """The deals found."""

    deals: list[DealBody]
    complete: bool = Field(description="Whether as many were found as were wanted")
    tried: int
    seed: int
