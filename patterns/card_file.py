"""Cards as written: the form shared by TOML files and the wire, and files with the line of each fault."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, ValidationError

from patterns.card import Card, Hand, Target
from patterns.expand import choice_count, expand
from patterns.faults import Fault, FaultyInputError
from patterns.notation import MAX_NOTATION, parse_groups, parse_where

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
_OWN_WORDS = {"model_type": "a table or object is expected here"}


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
    ] = Field(description="Groups such as `np*4 (n+5)q*4 north*3 flower*3`, or a list of alternatives")
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


def _place(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Drop pydantic's tag of the form that groups were taken for; a key of that name stays."""
    return tuple(
        step
        for before, step in zip(("", *loc), loc, strict=False)
        if before != "groups" or step not in (_ONE, _MANY)
    )


def read_form(written: object) -> CardForm:
    """Check the shape of a card.

    Raises:
        FaultyInputError: every part of the wrong type, missing, unknown or out of its range.
    """
    try:
        return CardForm.model_validate(written)
    except ValidationError as error:
        raise FaultyInputError(
            Fault(
                wrong["type"].replace("_", "-"),
                _place(wrong["loc"]),
                _OWN_WORDS.get(wrong["type"], wrong["msg"][:1].lower() + wrong["msg"][1:]),
            )
            for wrong in error.errors(include_url=False, include_input=False, include_context=False)
        ) from None


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
            )
        )
    if faults:
        raise FaultyInputError(faults)
    return Card(form.card.name, tuple(hands))


MAX_FILE = 1_000_000
_HAND = re.compile(r"^\s*\[\[\s*hand\s*\]\]")
_HEAD = re.compile(r"^\s*\[\s*card\s*\]")
# tomllib takes time and memory with the square of a key's parts, so long ones are refused unread. The
# quantifiers are possessive: no text makes the search itself slow.
_KEY_PART = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_KEY_PART}\.[ \t]*+){{8}}")
_KEY = re.compile(r"^\s*\"?([A-Za-z_]+)\"?\s*=")


def _lines(text: str) -> dict[tuple[str | int, ...], int]:
    """Map places of the card form to line numbers (from 1): tomllib itself does not keep them."""
    found: dict[tuple[str | int, ...], int] = {}
    here: tuple[str | int, ...] = ()
    hands = 0
    for number, line in enumerate(text.split("\n"), start=1):
        if _HAND.match(line):
            here = ("hand", hands)
            hands += 1
            found[here] = number
        elif _HEAD.match(line):
            here = ("card",)
            found[here] = number
        elif (key := _KEY.match(line)) and here:
            found.setdefault((*here, key[1]), number)
    return found


def _part(place: tuple[str | int, ...], on_line: bool) -> str:
    """Say in words which part of a card a place is: ``groups, alternative 2``."""
    match place:
        case ("hand", int(index), *inner):
            words = [] if on_line and inner else [f"hand {index + 1}"]
        case ("card", str(key), *rest):
            words, inner = [], [key, *rest]
        case _:
            words, inner = [], list(place)
    words += [step if isinstance(step, str) else f"alternative {step + 1}" for step in inner]
    return "".join(f", {word}" for word in words)


def _on_line(fault: Fault, lines: dict[tuple[str | int, ...], int], name: str) -> Fault:
    place = fault.place
    while place and place not in lines:
        place = place[:-1]
    at = f"{name}, line {lines[place]}" if place else name
    return Fault(fault.kind, fault.place, f"{at}{_part(fault.place, bool(place))}: {fault.detail}")


def card_from_toml(text: str, name: str) -> Card:
    """Read and expand a card from TOML text; faults carry the name given and their line.

    Raises:
        FaultyInputError: all faults of syntax, or of shape, or of the hands.
    """
    if _LONG_KEY.search(text):
        raise FaultyInputError([Fault("toml", (), f"{name}: a key of more than eight parts")])
    try:
        written = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also a number of thousands of digits
        detail = str(error) or "nested too deeply"
        raise FaultyInputError([Fault("toml", (), f"{name}: {detail}")]) from None
    try:
        return build_card(read_form(written))
    except FaultyInputError as error:
        lines = _lines(text)
        raise FaultyInputError(_on_line(fault, lines, name) for fault in error.faults) from None


def shipped_names() -> tuple[str, ...]:
    """Return the names of the practice cards that come with threepass, in alphabetical order."""
    folder = resources.files("patterns").joinpath("cards")
    return tuple(
        sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))
    )


def shipped_card(name: str) -> Card:
    """Return one of the practice cards.

    Raises:
        KeyError: no card of that name ships.
    """
    if name not in shipped_names():
        raise KeyError(name)
    text = resources.files("patterns").joinpath("cards", f"{name}.toml").read_text(encoding="utf-8")
    return card_from_toml(text, f"{name}.toml")
