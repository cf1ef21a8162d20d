"""Cards between the wire and the patterns."""

from __future__ import annotations

from pydantic import ValidationError

from api.cards import CardShelf, NamedCard
from api.convert.parts import Parts
from api.problems import items_of
from api.wire.cards import (
    CardBody,
    CardFault,
    CardHand,
    CardList,
    CardRemark,
    CardSummary,
    CheckAnswer,
    CheckRequest,
    TomlCard,
)
from patterns.card import remarks_of
from patterns.card_file import faults_of, read_form, shipped_names
from patterns.faults import Fault, FaultyInputError
from solver.deals import chances_from_deal


def read_card(written: object, shelf: CardShelf) -> NamedCard:
    """Read a card in any of its three forms.

    Raises:
        FaultyInputError: every fault of its shape, or else every fault of its hands.
    """
    match written:
        case str():
            return _by_name(written, shelf)
        case {"toml": _}:
            try:
                file = TomlCard.model_validate(written)
            except ValidationError as error:
                raise FaultyInputError(faults_of(error)) from None
            try:
                return shelf.from_toml(file.toml, file.file)
            except FaultyInputError as error:
                # Inside the text there is no JSON to point at; the details carry the lines.
                raise FaultyInputError(
                    Fault(fault.kind, ("toml",), fault.detail) for fault in error.faults
                ) from None
        case dict():
            return shelf.from_form(read_form(written))
    raise FaultyInputError([Fault("card-type", (), "a card is a name, a card written out, or TOML text")])


def _by_name(name: str, shelf: CardShelf) -> NamedCard:
    try:
        return shelf.shipped(name)
    except KeyError:
        detail = f"no practice card has this name: there are {', '.join(shipped_names())}"
        raise FaultyInputError([Fault("unknown-card", (), detail)]) from None


def card_list(cards: list[NamedCard]) -> CardList:
    """Return cards in short."""
    return CardList(
        cards=[
            CardSummary(
                name=named.name,
                title=named.card.name,
                hands=len(named.card.hands),
                targets=named.card.target_count,
                families=list(named.card.families),
            )
            for named in cards
        ]
    )


def card_body(named: NamedCard) -> CardBody:
    """Return a card in full, with each hand's chance."""
    card = named.card
    return CardBody(
        name=named.name,
        title=card.name,
        families=list(card.families),
        hands=[
            CardHand(
                name=hand.name,
                family=hand.family,
                groups=list(hand.notation),
                where=hand.where,
                concealed=hand.concealed,
                weight=hand.weight,
                targets=len(hand.targets),
                traits=sorted(hand.traits, key=lambda trait: trait.value),
                chance=chance,
            )
            for hand, chance in zip(card.hands, chances_from_deal(card), strict=True)
        ],
        targets=card.target_count,
    )


def checked(written: object, shelf: CardShelf) -> CheckAnswer:
    """Check the card in a body.

    Raises:
        FaultyInputError: the body has no card, or has more than a card.
    """
    parts = Parts(written)
    request = parts.shape(CheckRequest)
    parts.check()
    assert request is not None
    try:
        named = read_card(request.card, shelf)
    except FaultyInputError as error:
        items = items_of(error.inside("card").faults)
        faults = [CardFault(pointer=item.pointer, detail=item.detail, type=item.type) for item in items]
        return CheckAnswer(ok=False, faults=faults, remarks=[], card=None)
    remarks = [CardRemark(hand=remark.hand, detail=remark.detail) for remark in remarks_of(named.card)]
    return CheckAnswer(ok=True, faults=[], remarks=remarks, card=card_body(named))
