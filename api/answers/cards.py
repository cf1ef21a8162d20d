"""Cards: the practice cards, cards that are sent along, and checking one."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from threading import Lock
from typing import Annotated

from pydantic import Field, SkipValidation, WithJsonSchema

from api import words
from api.operations import Task, operation
from api.problems import Kind, ProblemError, ProblemItem, items_of
from api.reading import Answer, Name, Number, Parts, Request, Words
from patterns.card import Card, Hand, Trait, remarks_of
from patterns.card_file import (
    MAX_FILE,
    CardForm,
    build_card,
    card_from_toml,
    read_form,
    shipped_card,
    shipped_names,
)
from patterns.faults import Fault, FaultyInputError
from solver.deals import chances_from_deal

DEFAULT_CARD = "full"
_FORMS = "The name of a practice card, or a card written out, or a card as TOML text"


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


# Read by `read_card`, so that faults of shape and of content are told in one go.
CardAsWritten = Annotated[SkipValidation[Name | TomlCard | CardForm], Field(description=_FORMS)]


class CheckRequest(Request):
    """A card to check."""

    # Any value may be checked: what is wrong with it is the answer, not a refusal.
    card: Annotated[
        SkipValidation[object],
        WithJsonSchema({"title": "Card", "description": _FORMS + ", or what is meant to be one"}),
    ]


class CardSummary(Answer):
    """A practice card in short."""

    name: str = Field(description="What requests call it")
    title: str = Field(description="What it calls itself")
    hands: int
    targets: int = Field(validation_alias="target_count")
    families: list[str]
    words: str = Field(description="Its size")


class CardList(Answer):
    """The practice cards."""

    cards: list[CardSummary]


class CardHand(Answer):
    """One hand of a card."""

    name: str
    family: str
    groups: list[str] = Field(validation_alias="notation", description="Its alternatives as written")
    where: str | None = Field(description="The condition on n as written")
    concealed: bool
    weight: float
    targets: int = Field(description="How many targets, concrete sets of 14 tiles, it stands for")
    traits: list[Trait]
    chance: Number = Field(description="Chance of completing its best target from a random deal", ge=0, le=1)
    words: Words


class CardBody(Answer):
    """A card in full."""

    name: str = Field(description="What requests call it; for a card of one's own, its title")
    title: str = Field(description="What it calls itself")
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


@dataclass(frozen=True)
class NamedCard:
    """A card and what requests call it; a card of a user goes by its title."""

    name: str
    card: Card


class CardShelf:
    """The practice cards, and the cards that users sent last. Safe to use from many threads.

    Equal cards are one object, so that tables made from it are found again. Expanding one takes up to
    seconds.
    """

    def __init__(self, kept: int) -> None:
        self._kept = kept
        self._lock = Lock()
        self._shipped: dict[str, Card] = {}
        self._sent: OrderedDict[bytes, Card] = OrderedDict()

    def shipped(self, name: str) -> NamedCard:
        """Return a practice card.

        Raises:
            KeyError: there is none of that name.
        """
        with self._lock:
            if name not in self._shipped:
                self._shipped[name] = shipped_card(name)
            return NamedCard(name, self._shipped[name])

    def from_form(self, form: CardForm) -> NamedCard:
        """Expand a card that was written out.

        Raises:
            FaultyInputError: every hand that cannot be made.
        """
        return self._sent_card("form", form.model_dump_json(), lambda: build_card(form))

    def from_toml(self, text: str, file: str) -> NamedCard:
        """Read and expand a card written in TOML.

        Raises:
            FaultyInputError: all faults, each with the file's name and its line.
        """
        return self._sent_card("toml", text, lambda: card_from_toml(text, file))

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
                self._sent.popitem(last=False)
        return NamedCard(card.name, card)


def _unknown() -> str:
    return f"no practice card has this name: there are {', '.join(shipped_names())}"


def read_card(written: object, shelf: CardShelf) -> NamedCard:
    """Read a card in any of its three forms.

    Raises:
        FaultyInputError: every fault of its shape, or else every fault of its hands.
    """
    match written:
        case str():
            try:
                return shelf.shipped(written)
            except KeyError:
                raise FaultyInputError([Fault("unknown-card", (), _unknown())]) from None
        case {"toml": _}:
            return _read_toml(written, shelf)
        case dict():
            return shelf.from_form(read_form(written))
    raise FaultyInputError([Fault("card-type", (), "a card is a name, a card written out, or TOML text")])


def _read_toml(written: object, shelf: CardShelf) -> NamedCard:
    parts = Parts(written)
    file = parts.shape(TomlCard)
    parts.check()
    assert file is not None  # or there would have been a fault
    try:
        return shelf.from_toml(file.toml, file.file)
    except FaultyInputError as error:
        # Inside the text there is no JSON to point at; the details carry the lines.
        raise FaultyInputError(Fault(each.kind, ("toml",), each.detail) for each in error.faults) from None


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
        words={
            "chance": words.percent(chance),
            "targets": words.counted(len(hand.targets), "target"),
            "facts": ", ".join(facts) or None,
        },
    )


def _body(named: NamedCard) -> CardBody:
    card = named.card
    return CardBody.of(
        card,
        name=named.name,
        title=card.name,
        hands=[_hand(hand, chance) for hand, chance in zip(card.hands, chances_from_deal(card), strict=True)],
        words={"size": _size(card), "note": words.CHANCE_NOTE},
    )


@operation("/v1/cards", gives=CardList, problems=(Kind.BUSY,))
def list_cards(task: Task) -> CardList:
    """The practice cards, in short."""
    return CardList(
        cards=[
            CardSummary.of(
                named.card,
                name=named.name,
                title=named.card.name,
                hands=len(named.card.hands),
                words=_size(named.card),
            )
            for named in map(task.cards.shipped, shipped_names())
        ]
    )


@operation("/v1/cards/check", takes=CheckRequest, gives=CheckAnswer)
def check_card(task: Task) -> CheckAnswer:
    """Check a card.

    The answer has all faults of a card, or the card in full with remarks. A faulty card is no error here.
    """
    parts = Parts(task.written)
    request = parts.shape(CheckRequest)
    parts.check()
    assert request is not None  # or there would have been a fault
    try:
        named = read_card(request.card, task.cards)
    except FaultyInputError as error:
        return CheckAnswer(ok=False, faults=items_of(error.inside("card").faults), remarks=[], card=None)
    remarks = [CardRemark.of(remark) for remark in remarks_of(named.card)]
    return CheckAnswer(ok=True, faults=[], remarks=remarks, card=_body(named))


@operation("/v1/cards/{name}", gives=CardBody, problems=(Kind.NOT_FOUND, Kind.BUSY))
def show_card(task: Task) -> CardBody:
    """One practice card, with its hands and how hard they are."""
    try:
        return _body(task.cards.shipped(task.named["name"]))
    except KeyError:
        raise ProblemError(Kind.NOT_FOUND, _unknown()) from None
