"""The written form of a card: the shape of its TOML file, and of the same thing on the wire."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, ValidationError

from patterns.card import Card, Hand
from patterns.expand import choice_count, expand
from patterns.faults import Fault, FaultyInputError
from patterns.notation import MAX_NOTATION, parse_groups, parse_where
from patterns.target import Target
from patterns.traits import traits_of

MAX_HANDS = 300
MAX_ALTERNATIVES = 12
MAX_TARGETS = 6_000
MAX_CHOICES = 20_000
MAX_NAME = 60
MAX_WEIGHT = 1_000.0
SCHEMA_VERSION = 1

Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME, pattern=r"^[^\x00-\x1f\x7f]+$")]
Groups = Annotated[str, Field(min_length=1, max_length=MAX_NOTATION)]

_GroupsList = Annotated[list[Groups], Field(min_length=1, max_length=MAX_ALTERNATIVES)]
_ONE, _MANY = "one text", "alternatives"


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class CardHead(_Form):
    """The card's own facts."""

    name: Name = Field(description="The card's name")
    schema_version: int = Field(1, ge=1, le=SCHEMA_VERSION, description="Version of this form: 1")


class HandForm(_Form):
    """One hand as written."""

    name: Name = Field(description="Unique on the card")
    family: Name = Field(description="The group of hands it belongs to, in your own words")
    groups: Annotated[
        Annotated[Groups, Tag(_ONE)] | Annotated[_GroupsList, Tag(_MANY)],
        Discriminator(lambda written: _MANY if isinstance(written, list | tuple) else _ONE),
    ] = Field(description="Groups such as `north*2 5p*4 dragon(p)*4 8q*4`, or a list of alternatives")
    where: Annotated[str, Field(max_length=MAX_NOTATION)] | None = Field(
        None, description="A condition on n: `n in 1..7`, `n odd`, `n even`, or two joined by `and`"
    )
    concealed: bool = Field(False, description="Whether it may not claim discards except the last tile")
    weight: float = Field(
        1.0, ge=0, le=MAX_WEIGHT, allow_inf_nan=False, description="How much the player cares"
    )

    @property
    def alternatives(self) -> tuple[str, ...]:
        """The alternatives as a tuple, also when one string was written."""
        return (self.groups,) if isinstance(self.groups, str) else tuple(self.groups)


class CardForm(_Form):
    """A card as written in TOML or JSON."""

    card: CardHead
    hand: list[HandForm] = Field(min_length=1, max_length=MAX_HANDS)


def faults_of(error: ValidationError) -> list[Fault]:
    """Return the faults of a failed validation, without echoing the input."""
    return [
        Fault(
            item["type"].replace("_", "-"),
            _place(item["loc"]),
            _sentence(item["type"], item["msg"]),
        )
        for item in error.errors(include_url=False, include_input=False, include_context=False)
    ]


def _place(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Drop pydantic's tag of the form that groups were taken for; a key of that name stays."""
    return tuple(
        step
        for before, step in zip(("", *loc), loc, strict=False)
        if before != "groups" or step not in (_ONE, _MANY)
    )


def _sentence(kind: str, message: str) -> str:
    if kind == "model_type":
        return "a table or object is expected here"
    return message[:1].lower() + message[1:]


def read_form(written: object) -> CardForm:
    """Check the shape of a card.

    Raises:
        FaultyInputError: every part of the wrong type, missing, unknown or out of its range.
    """
    try:
        return CardForm.model_validate(written)
    except ValidationError as error:
        raise FaultyInputError(faults_of(error)) from None


class _TooMuchError(Exception):
    """A card asks for more work than is allowed."""


class _Room:
    """How many choices of suits, ranks, winds and dragons a card may still try."""

    def __init__(self) -> None:
        self._left = MAX_CHOICES

    def take(self, choices: int) -> None:
        self._left -= choices
        if self._left < 0:
            raise _TooMuchError(f"more than {MAX_CHOICES} choices")


def _hand_targets(form: HandForm, room: _Room) -> list[Target]:
    """Return the distinct targets of all alternatives; raise the faults of all of them."""
    faults: list[Fault] = []
    where = None
    if form.where is not None:
        try:
            where = parse_where(form.where)
        except FaultyInputError as error:
            faults += error.inside("where").faults
    targets: dict[object, Target] = {}
    for index, written in enumerate(form.alternatives):
        place = ("groups",) if isinstance(form.groups, str) else ("groups", index)
        try:
            groups = parse_groups(written)
            room.take(choice_count(groups))
            for target in expand(groups, where):
                targets.setdefault(target.needs, target)
        except FaultyInputError as error:
            faults += [
                fault.inside("where") if fault.kind == "where" else fault.inside(*place)
                for fault in error.faults
            ]
    if faults:
        raise FaultyInputError(dict.fromkeys(faults))
    return list(targets.values())


def _name_faults(forms: list[HandForm]) -> list[Fault]:
    seen: dict[str, int] = {}
    faults = []
    for index, form in enumerate(forms):
        first = seen.setdefault(form.name, index)
        if first != index:
            faults.append(Fault("same-name", ("hand", index, "name"), f"hand {first + 1} has the same name"))
    return faults


def build_card(form: CardForm) -> Card:
    """Expand a card of the right shape.

    Raises:
        FaultyInputError: every hand that cannot be read or made, two hands of one name, or more than
            6,000 targets or 20,000 choices in all (expansion stops there). Each fault's detail begins
            with the hand's name.
    """
    faults = _name_faults(form.hand)
    hands: list[Hand] = []
    total, room = 0, _Room()
    for index, hand in enumerate(form.hand):
        try:
            targets = _hand_targets(hand, room)
            total += len(targets)
            if total > MAX_TARGETS:
                raise _TooMuchError(f"more than {MAX_TARGETS} targets")
        except _TooMuchError as error:
            detail = f"{error} up to hand {hand.name!r}: split the card"
            raise FaultyInputError([*faults, Fault("too-many-targets", ("hand", index), detail)]) from None
        except FaultyInputError as error:
            faults += [
                Fault(fault.kind, fault.place, f"hand {hand.name!r}: {fault.detail}").inside("hand", index)
                for fault in error.faults
            ]
            continue
        hands.append(
            Hand(
                hand.name,
                hand.family,
                hand.alternatives,
                hand.where,
                hand.concealed,
                hand.weight,
                tuple(targets),
                traits_of(targets),
            )
        )
    if faults:
        raise FaultyInputError(faults)
    return Card(form.card.name, tuple(hands))
