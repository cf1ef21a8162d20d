"""Cards: the practice cards, cards that are sent along, and checking one."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Annotated, Any

from pydantic import Field, SkipValidation, WithJsonSchema
from pydantic_core import PydanticSerializationError, to_json

from api import words
from api.operations import Task, bounded, itself, operation
from api.problems import Kind, ProblemError, ProblemItem, items_of
from api.reading import Answer, Name, Number, Request, Words, read_shape
from patterns.card import Card, Hand, Trait, remarks_of
from patterns.card_file import (
    CARD_ENDING,
    FIT_ENDING,
    MAX_FILE,
    CardForm,
    Draft,
    card_from_toml,
    card_name_in,
    read_draft,
    read_toml,
    shipped_card,
    shipped_names,
    toml_of,
)
from patterns.faults import Fault, FaultyInputError
from patterns.fit_file import MAX_FIT_FILE, FitBody, PlayForm, fit_from_toml, shipped_fit
from patterns.tiles import Tile
from solver.arrivals import Fit, Length, Make, Play, Sharpness, Source
from solver.deals import chances_from_deal
from solver.rounds import ORDER

DEFAULT_CARD = "full"
_FORMS = "The name of a card of the service, or a card written out, or a card as TOML text"


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
    fit: str | None = Field(
        None, max_length=MAX_FIT_FILE, description="The text of the file with its fit (`NAME.fit.toml`)"
    )


# Read by `read_card`, so that faults of shape and of content are told in one go.
CardAsWritten = Annotated[SkipValidation[Name | TomlCard | CardForm], Field(description=_FORMS)]
# Read with the card that it is of.
FitAsWritten = Annotated[
    SkipValidation[FitBody | None],
    Field(description="What games said of the card's odds; null: the service's own fit, or an estimate"),
]


class CheckRequest(Request):
    """A card to check."""

    # Any value may be checked: what is wrong with it is the answer, not a refusal.
    card: Annotated[
        SkipValidation[object],
        WithJsonSchema({"title": "Card", "description": _FORMS + ", or what is meant to be one"}),
    ]


class CardSource(Enum):
    """Where the service has a card from."""

    SHIPPED = "shipped"
    FOLDER = "folder"


class CardSummary(Answer):
    """A card of the service in short."""

    name: str = Field(description="What requests call it")
    title: str = Field(description="What it calls itself")
    id: str = Field(description="Names its content")
    hands: int
    targets: int = Field(validation_alias="target_count")
    families: list[str]
    source: CardSource = Field(description="Shipped with threepass, or from the folder of the operator")
    words: str = Field(description="Its size")


class CardList(Answer):
    """The cards of the service."""

    cards: list[CardSummary]
    left_out: list[str] = Field(description="Files of the folder that are no usable cards, in words")


class CardHand(Answer):
    """One hand of a card."""

    name: str
    id: str = Field(description="Names what it asks for, whatever it is called; the same wherever it stands")
    family: str
    groups: list[str] = Field(validation_alias="notation", description="Its alternatives as written")
    where: str | None = Field(description="The condition on n as written")
    concealed: bool
    weight: float
    targets: int = Field(description="How many targets, concrete sets of 14 tiles, it stands for")
    traits: list[Trait]
    chance: Number = Field(description="Chance of completing its best target from a random deal", ge=0, le=1)
    example: list[Tile] = Field(description="One of its targets: 14 tiles in the order of the card")
    words: Words


class CardBody(Answer):
    """A card in full."""

    name: str = Field(description="What requests call it; for a card of one's own, its title")
    title: str = Field(description="What it calls itself")
    id: str = Field(description="Names its hands, their names and weights: the same content, the same id")
    families: list[str] = Field(description="Groups of hands that go by one idea")
    hands: list[CardHand]
    targets: int = Field(validation_alias="target_count")
    words: Words


class CardRemark(Answer):
    """Something about a usable card that is worth a second look."""

    hand: int = Field(description="0-based index of the hand", ge=0)
    detail: str


class CheckAnswer(Answer):
    """What a check found."""

    ok: bool = Field(description="Whether the card can be used")
    faults: list[ProblemItem] = Field(description="Each points into the request: `#/card/hand/3/groups`")
    remarks: list[CardRemark]
    card: CardBody | None = Field(description="The card, when it can be used")
    hands: Sequence[CardHand | None] = Field(
        description="Each hand as it is written, in order; null: it has faults, or was not reached"
    )
    form: Any = Field(description="The card written out; null where the text is not TOML throughout")
    toml: str | None = Field(
        description="The card as the text of a file; of a card written out, made from it"
    )


@dataclass(frozen=True)
class NamedCard:
    """A card and what requests call it; a card of a user goes by its title."""

    name: str
    card: Card
    fit: Fit | None = None


def checked(body: FitBody, card: Card) -> Fit:
    """Return the fit of a card; FaultyInputError if it is of another one."""
    if body.digest != card.digest:
        detail = f"this is the fit of other hands ({body.card}): `threepass cards fit` makes one for these"
        raise FaultyInputError([Fault("other-card", ("digest",), detail)])
    of_some = (each.error for each in body.held_out if (each.of, each.after) == ("some_hand", "play_begins"))
    alone = tuple(_play(getattr(body.alone, make.value)) for make in Make)
    sharpness = Sharpness(**body.sharpness.model_dump())
    return Fit(_play(body.some_hand), alone, Source.FIT, body.games, next(of_some, None), sharpness)


def _play(form: PlayForm) -> Play:
    lengths = tuple(Length(**each.model_dump()) for each in form.lengths)
    return Play(lengths, tuple(getattr(form.later, round_.value) for round_ in ORDER))


@cache
def _shipped(name: str) -> NamedCard:
    card = shipped_card(name)
    return NamedCard(name, card, checked(shipped_fit(name), card))


class CardShelf:
    """The service's cards, and as many cards as are kept that users sent. Safe to use from many threads.

    Equal cards are one object, so that tables made from it are found again. Expanding one takes up to
    seconds. Those in the folder, a TOML file each, are read anew whenever they are asked for.
    """

    def __init__(self, kept: int, folder: Path | None = None) -> None:
        self._kept = kept
        self._folder = folder
        self._lock = Lock()
        self._sent: OrderedDict[bytes, Card] = OrderedDict()

    def folder_names(self) -> tuple[str, ...]:
        """Return the names of the cards in the folder, in alphabetical order, those of practice cards not."""
        files = [] if self._folder is None else self._folder.glob("*")
        found = {name for file in files if (name := card_name_in(file.name))}
        return tuple(sorted(found - set(shipped_names())))

    def named(self, name: str) -> NamedCard:
        """Return a card of the service; FaultyInputError if there is none, or its file has faults."""
        if name in shipped_names():
            return _shipped(name)
        if self._folder is None or name not in self.folder_names():
            there = ", ".join((*shipped_names(), *self.folder_names()))
            detail = f"no card of the service has this name: there are {there}"
            raise FaultyInputError([Fault("unknown-card", (), detail)])
        file, beside = self._folder / f"{name}{CARD_ENDING}", self._folder / f"{name}{FIT_ENDING}"
        fit = _text_of(beside) if beside.is_file() else None
        return replace(self.from_toml(_text_of(file), file.name, fit), name=name)

    def from_form(self, written: Mapping[str, object], draft: Draft | None = None) -> NamedCard:
        """Expand a card that was written out; a draft and faults as of `read_card`."""
        content = json.dumps(written, sort_keys=True)
        return self._sent_card("form", content, lambda: (draft or read_draft(written)).card())

    def from_toml(
        self, text: str, file: str, fit: str | None = None, draft: Draft | None = None
    ) -> NamedCard:
        """Expand a card in TOML, and read the fit beside it; faults have the file's name and a line."""
        named = self._sent_card("toml", text, lambda: draft.card() if draft else card_from_toml(text, file))
        if fit is None:
            return named
        name = file.removesuffix(CARD_ENDING) + FIT_ENDING
        return replace(named, fit=checked(fit_from_toml(fit, name), named.card))

    def _sent_card(self, sort: str, content: str, make: Callable[[], Card]) -> NamedCard:
        digest = sha256(f"{sort} {content}".encode("utf-8", "surrogatepass")).digest()
        with self._lock:
            card = self._sent.get(digest)
        if card is None:
            card = make()
        with self._lock:
            # Another thread may have been faster: its object is the one that others already use.
            card = self._sent.setdefault(digest, card)
            self._sent.move_to_end(digest)
            while len(self._sent) > self._kept:
                self._sent.popitem(last=False)[1].made.clear()
        return NamedCard(card.name, card)


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        fault = Fault("card-file", (), f"{file.name} cannot be read, or is not text in UTF-8")
        raise FaultyInputError([fault]) from None


def read_card(written: object, shelf: CardShelf, draft: Draft | None = None) -> NamedCard:
    """Read a card in any of its three forms; a draft that was made of it already is not expanded again.

    Raises:
        FaultyInputError: every fault of its shape and of its hands.
    """
    match written:
        case str():
            return shelf.named(written)
        case {"toml": _}:
            file = read_shape(TomlCard, written)
            try:
                return shelf.from_toml(file.toml, file.file, file.fit, draft)
            except FaultyInputError as error:
                raise FaultyInputError(_in_the_text(error.faults)) from None
        case dict():
            return shelf.from_form(written, draft)
    raise FaultyInputError([Fault("card-type", (), "a card is a name, a card written out, or TOML text")])


def _in_the_text(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    # Inside the text there is no JSON to point at; the details carry the lines.
    return tuple(Fault(each.kind, ("toml",), each.detail) for each in faults)


def _size(card: Card) -> str:
    return f"{words.counted(len(card.hands), 'hand')}, {words.counted(card.target_count, 'target')}"


def _hand(hand: Hand, chance: float) -> CardHand:
    traits = sorted(hand.traits, key=lambda trait: trait.value)
    facts = [
        *(["concealed"] if hand.concealed else []),
        *([f"weight {hand.weight:g}"] if hand.weight != 1 else []),
        *(trait.value for trait in traits if trait.value != "concealed"),
    ]
    return CardHand.of(
        hand,
        targets=len(hand.targets),
        traits=traits,
        chance=chance,
        example=hand.targets[0].tiles,
        words={
            "chance": words.percent(chance),
            "targets": words.counted(len(hand.targets), "target"),
            "forms": words.counted(len(hand.targets), "exact form"),
            "free": words.free_words(hand),
            "facts": ", ".join(facts) or None,
        },
    )


def _hands(card: Card) -> list[CardHand]:
    return [_hand(hand, chance) for hand, chance in zip(card.hands, chances_from_deal(card), strict=True)]


def _body(named: NamedCard) -> CardBody:
    card = named.card
    return CardBody.of(
        card,
        name=named.name,
        title=card.name,
        hands=_hands(card),
        words={
            "size": _size(card),
            "note": words.CHANCE_NOTE,
            "odds": words.ODDS_BY_ESTIMATE
            if named.fit is None
            else words.odds_words(named.fit, told=True, chosen=False),
        },
    )


@operation("/v1/cards", reads=itself, price=bounded)
def list_cards(task: Task) -> CardList:
    """The cards of the service, in short.

    The practice cards, and those of the operator's folder.
    """
    shelf = task.cards
    cards, left_out = [], []
    for source, names in ((CardSource.SHIPPED, shipped_names()), (CardSource.FOLDER, shelf.folder_names())):
        for name in names:
            try:
                card = shelf.named(name).card
            except FaultyInputError as error:
                left_out.append(f"{name}.toml has {words.counted(len(error.faults), 'fault')}")
                continue
            summary = {"name": name, "title": card.name, "hands": len(card.hands), "source": source}
            cards.append(CardSummary.of(card, **summary, words=_size(card)))
    return CardList(cards=cards, left_out=left_out)


@operation("/v1/cards/check", CheckRequest, reads=itself, price=bounded)
def check_card(task: Task) -> CheckAnswer:
    """Check a card.

    The answer has all faults of a card and the hands that are right; when all are, the card in full with
    remarks. A faulty card is no error here. A card may come as text or written out; the answer has both.
    """
    written = read_shape(CheckRequest, task.written).card
    form: object = None
    toml, draft = None, Draft("", (), ())
    card, remarks, faults = None, list[CardRemark](), list[ProblemItem]()
    try:
        form, toml, draft = _drafted(written)
        if draft.faults:
            raise FaultyInputError(draft.faults)
        named = read_card(written, task.cards, draft)
        card, remarks = _body(named), [CardRemark.of(remark) for remark in remarks_of(named.card)]
    except FaultyInputError as error:
        faults = items_of(error.inside("card").faults)
    right = tuple(hand for hand in draft.hands if hand is not None)
    told = iter(_hands(Card("", right)) if right and card is None else ())
    hands = [None if hand is None else next(told) for hand in draft.hands] if card is None else card.hands
    return CheckAnswer(
        ok=card is not None, faults=faults, remarks=remarks, card=card, hands=hands, form=form, toml=toml
    )


def _drafted(written: object) -> tuple[object, str | None, Draft]:
    """Return what there is of a card to check: written out, as text, and as far as it can be made."""
    draft = Draft("", (), ())
    form: object
    try:
        match written:
            case {"toml": _}:
                file = read_shape(TomlCard, written)
                toml, (form, read) = file.toml, read_toml(file.toml, file.file)
                draft = replace(read, faults=_in_the_text(read.faults))
            case dict():
                form, draft = written, read_draft(written)
                toml = toml_of(written)
            case _:
                return None, None, draft
        to_json([form, toml])
    except (RecursionError, PydanticSerializationError):  # JSON carries in what it cannot carry out
        return None, None, draft
    return form, toml, draft


@operation("/v1/cards/{name}", reads=itself, price=bounded, problems=(Kind.NOT_FOUND,))
def show_card(task: Task) -> CardBody:
    """One card of the service, with its hands and how hard they are."""
    try:
        return _body(task.cards.named(task.named["name"]))
    except FaultyInputError as error:
        raise ProblemError(Kind.NOT_FOUND, error.faults[0].detail) from None
