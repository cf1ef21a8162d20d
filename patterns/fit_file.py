"""The fit of a card as written: what games said of its odds; TOML beside the card, or on the wire.

The form names no rounds of its own: what an exchange is called is checked where it is understood.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from dataclasses import replace
from importlib import resources
from typing import Annotated, Literal

from pydantic import Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from patterns.card_file import FIT_ENDING, Form, Name, line_of, lines_of, shape_faults
from patterns.faults import Fault, FaultyInputError

MAX_FIT_FILE = 20_000
MAX_GAMES = 1_200
MAX_LENGTHS = 12
MAX_ARRIVALS = 60
MAX_LATER = 30
_ROUNDING = 1e-6

Stage = Literal[
    "first_right",
    "first_across",
    "first_left",
    "second_left",
    "second_across",
    "second_right",
    "courtesy",
    "play_begins",
]
Count = Annotated[int, Field(ge=0, le=MAX_ARRIVALS)]
Later = Annotated[int, Field(ge=-3, le=MAX_LATER)]


class LengthForm(Form):
    """One length that play may have."""

    draws: Count
    claims: Count
    share: float = Field(gt=0, le=1, description="Its share of all; the shares sum to 1")


class LaterForm(Form):
    """What the exchanges after each pass are worth, in tiles that come for nothing.

    Below 0 where what comes in now is worth less than its number.
    """

    first_right: Later
    first_across: Later
    first_left: Later
    second_left: Later
    second_across: Later
    second_right: Later
    courtesy: Later


class PlayForm(Form):
    """How much is still to come, for chances that come true."""

    lengths: list[LengthForm] = Field(min_length=1, max_length=MAX_LENGTHS)
    later: LaterForm

    @model_validator(mode="after")
    def _whole(self) -> PlayForm:
        if abs(sum(each.share for each in self.lengths) - 1) > _ROUNDING:
            raise PydanticCustomError("shares", "the shares of the lengths must add up to 1")
        return self


class AloneForm(Form):
    """The same for one hand and a player who goes for nothing else, by what the hand is made of."""

    groups: PlayForm = Field(description="Groups of three or more and nothing else")
    some_pairs: PlayForm = Field(description="Pairs or singles beside groups")
    pairs_only: PlayForm = Field(description="Pairs and singles, no group")
    concealed: PlayForm = Field(description="A concealed hand with groups")


class SharpnessForm(Form):
    """How far apart chances of some hand lie."""

    share: float = Field(gt=0, lt=1, description="Share of games won, about which chances are drawn")
    factor: float = Field(gt=0, le=4, description="Of their distance from it, in logits")


class JudgedForm(Form):
    """How far what is stated can be believed, on games that nothing was fitted to."""

    of: Literal["some_hand", "groups", "some_pairs", "pairs_only", "concealed"]
    after: Stage = Field(description="The pass just made, or `play_begins`")
    outcomes: int = Field(ge=1, description="Predictions judged")
    error: float = Field(ge=0, le=1, description="Expected calibration error, in ten groups of equal numbers")
    by_chance: float = Field(ge=0, le=1, description="What it would be if every prediction were true")
    ratio: float | None = Field(
        None, ge=0, le=1000, description="How often it came true for once predicted; null: not told"
    )


class FitBody(Form):
    """What simulated games with a card said of its odds."""

    card: Name = Field(description="What the card calls itself")
    digest: str = Field(
        pattern=r"^[0-9a-f]{16}$", description="Of the card's hands: no other card has these odds"
    )
    games: int = Field(ge=1, le=1_000_000, description="Simulated games played")
    seed: int = Field(ge=0, le=2**63 - 1, description="Of the games")
    made_with: Name = Field(description="The version that played them")
    some_hand: PlayForm = Field(description="For the chance of some hand")
    sharpness: SharpnessForm = Field(default_factory=lambda: SharpnessForm(share=0.25, factor=1))
    alone: AloneForm
    held_out: list[JudgedForm] = Field(
        default_factory=list, max_length=16, description="The calibration reached on games held back"
    )

    @model_validator(mode="after")
    def _once(self) -> FitBody:
        if max(Counter((each.of, each.after) for each in self.held_out).values(), default=1) > 1:
            raise PydanticCustomError("duplicate", "held_out judges the same thing twice")
        return self


class FitForm(Form):
    """A fit as a file has it."""

    fit: FitBody


def read_fit(written: object) -> FitBody:
    """Read what stands in the table ``[fit]``, written out; a FaultyInputError if it is no fit."""
    try:
        return FitBody.model_validate(written)
    except ValidationError as error:
        raise FaultyInputError(shape_faults(error, "a table or object")) from None


def fit_from_toml(text: str, name: str) -> FitBody:
    """Read a fit from TOML text; the faults of a FaultyInputError carry the name given and their line."""
    try:
        return FitForm.model_validate(tomllib.loads(text)).fit
    except ValidationError as error:
        lines, faults = lines_of(text), shape_faults(error, "a table or object")
        raise FaultyInputError(
            _on_line(fault, line_of(fault.place, lines), name) for fault in faults
        ) from None
    except (ValueError, RecursionError) as error:
        raise FaultyInputError([Fault("toml", (), f"{name}: {error}")]) from None


def _on_line(fault: Fault, line: int | None, name: str) -> Fault:
    at = name if line is None else f"{name}, line {line}"
    steps = [str(step + 1) if isinstance(step, int) else step for step in fault.place[1:]]
    return replace(fault, detail=f"{', '.join([at, *steps])}: {fault.detail}")


def shipped_fit(name: str) -> FitBody:
    """Return the fit of a practice card; KeyError where none ships with a card of that name."""
    file = resources.files("patterns").joinpath("cards", name + FIT_ENDING)
    if "/" in name or not file.is_file():
        raise KeyError(name)
    return fit_from_toml(file.read_text(encoding="utf-8"), name + FIT_ENDING)
