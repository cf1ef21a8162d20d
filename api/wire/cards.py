"""Cards on the wire."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, SkipValidation, WithJsonSchema

from api.wire.base import Answer, Name, Number, Request
from patterns.card import Trait
from patterns.card_file import MAX_FILE, CardForm


class TomlCard(Request):
    """A card as the text of a TOML file."""

    toml: str = Field(max_length=MAX_FILE, description="The text of the file")
    file: str = Field(
        "card.toml",
        min_length=1,
        max_length=255,
        pattern=r"^[^\x00-\x1f\x7f]+$",
        description="The file's name, for messages",
    )


CARD_FORMS = "The name of a practice card, or a card written out, or a card as TOML text"
# Read by `api.convert.cards`, so that faults of shape and of content are told in one go.
CardAsWritten = Annotated[SkipValidation[Name | TomlCard | CardForm], Field(description=CARD_FORMS)]


class CheckRequest(Request):
    """A card to check."""

    # Any value may be checked: what is wrong with it is the answer, not a refusal.
    card: Annotated[
        SkipValidation[object],
        WithJsonSchema({"title": "Card", "description": CARD_FORMS + ", or what is meant to be one"}),
    ]


class CardSummary(Answer):
    """A practice card in short."""

    name: str = Field(description="What requests call it")
    title: str = Field(description="What it calls itself")
    hands: int
    targets: int
    families: list[str]


class CardList(Answer):
    """The practice cards."""

    cards: list[CardSummary]


class CardHand(Answer):
    """One hand of a card."""

    name: str
    family: str
    groups: list[str] = Field(description="Its alternatives as written")
    where: str | None = Field(description="The condition on n as written")
    concealed: bool
    weight: float
    targets: int = Field(description="How many concrete targets it stands for")
    traits: list[Trait]
    chance: Number = Field(description="Chance of completing its best target from a random deal", ge=0, le=1)


class CardBody(Answer):
    """A card in full."""

    name: str = Field(description="What requests call it; for a card of one's own, its title")
    title: str = Field(description="What it calls itself")
    families: list[str]
    hands: list[CardHand]
    targets: int


class CardFault(Answer):
    """One thing wrong with a card."""

    pointer: str = Field(description="JSON pointer into the request: `#/card/hand/3/groups`")
    detail: str
    type: str


class CardRemark(Answer):
    """Something about a usable card that is worth a second look."""

    hand: int = Field(description="0-based index of the hand", ge=0)
    detail: str


class CheckAnswer(Answer):
    """What a check found."""

    ok: bool = Field(description="Whether the card can be used")
    faults: list[CardFault]
    remarks: list[CardRemark]
    card: CardBody | None = Field(description="The card, when it can be used")
