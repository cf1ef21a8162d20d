"""Limits on a pass, on the wire."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, SkipValidation

from api.wire.base import Name, Request
from patterns.card import Trait
from patterns.card_file import MAX_HANDS, MAX_WEIGHT
from patterns.rack import MAX_TEXT, MAX_TOKENS

Text = Annotated[str, Field(max_length=MAX_TEXT)]
# Read by `api.convert.parts`, so that faults of shape and of content are told in one go.
Tiles = SkipValidation[Text | Annotated[list[Text], Field(max_length=MAX_TOKENS)]]
_Names = Annotated[list[Name], Field(max_length=MAX_HANDS)]
_Traits = Annotated[list[Annotated[Trait, Field(strict=False)]], Field(max_length=len(Trait))]


class ChoiceBody(Request):
    """Families, hands and traits by name."""

    families: _Names = Field(default_factory=list)
    hands: _Names = Field(default_factory=list)
    traits: _Traits = Field(default_factory=list)


class AtLeastBody(Request):
    """At least so many with at least such a reach."""

    count: int = Field(ge=1, le=MAX_HANDS)
    reach: float = Field(gt=0, le=1, allow_inf_nan=False)


class LimitsBody(Request):
    """Limits on one pass; nothing is limited by default."""

    stay: Tiles = Field(default_factory=list, description="Tiles that must stay; twice the same: two of it")
    go: Tiles = Field(default_factory=list, description="Tiles that must go")
    only: ChoiceBody = Field(default_factory=ChoiceBody, description="If any is named, only these count")
    without: ChoiceBody = Field(default_factory=ChoiceBody, description="Hands that do not count")
    weights: dict[Name, Annotated[float, Field(ge=0, le=MAX_WEIGHT, allow_inf_nan=False)]] = Field(
        default_factory=dict, max_length=MAX_HANDS, description="How much hands count, by name"
    )
    no_pairs: bool = Field(default=False, description="Never pass two alike")
    no_flowers: bool = Field(default=False, description="Never pass a flower")
    no_neighbours: bool = Field(
        default=False, description="Never pass two of one suit whose ranks are one apart"
    )
    no_like_numbers: bool = Field(default=False, description="Never pass three of one number")
    keep_hands: AtLeastBody | None = Field(default=None, description="Keep so many hands at such a reach")
    keep_families: AtLeastBody | None = Field(
        default=None, description="Keep so many families at such a reach"
    )
