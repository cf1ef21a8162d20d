"""Wishes for deals from the wire, deals to it."""

from __future__ import annotations

from api.cards import CardShelf
from api.convert.advice import call_body, in_order
from api.convert.cards import read_card
from api.convert.limits import limits_of
from api.convert.parts import Parts, read_tiles, with_default_card
from api.convert.question import drill_of
from api.wire.deals import DealBody, DealsAnswer, DealsRequest
from patterns.faults import Fault, FaultyInputError
from solver.deals import DRILL_RACK, DealWish, FoundDeal, deal, question_of
from solver.limits import hand_weights


def wish_of(written: object, shelf: CardShelf) -> tuple[DealWish, DealsRequest]:
    """Read a wish.

    Raises:
        FaultyInputError: every fault of every part.
    """
    written = with_default_card(written)
    parts = Parts(written)
    body = parts.shape(DealsRequest)
    stay = parts.part(("limits", "stay"), read_tiles) or ()
    go = parts.part(("limits", "go"), read_tiles) or ()
    named = parts.part(("card",), lambda card: read_card(card, shelf))
    if body is None or named is None:
        raise FaultyInputError(parts.faults)
    card, limits = named.card, limits_of(body.limits, stay, go)
    if stay or go:
        detail = "tiles that must stay or go are of one rack: they limit no deal"
        parts.faults.append(Fault("no-use", ("limits",), detail))
    with parts.collecting("limits"):
        hand_weights(card, limits)
    if body.family is not None and body.family not in card.families:
        parts.faults.append(Fault("unknown-name", ("family",), f"the card has no {body.family!r}"))
    if body.drill is not None and body.tiles != DRILL_RACK:
        parts.faults.append(Fault("range", ("tiles",), f"a drill has {DRILL_RACK} tiles"))
    parts.check()
    wish = DealWish(
        card=card,
        seed=body.seed,
        count=body.count,
        start=body.start,
        size=body.tiles,
        difficulty=body.difficulty,
        family=body.family,
        jokers=body.jokers,
        drill=drill_of(body.drill),
        budget=body.budget,
        limits=limits,
    )
    with parts.collecting():
        question_of(wish, deal(wish.seed, wish.start, wish.size))
    parts.check()
    return wish, body


def deals_answer(found: list[FoundDeal], tried: int, body: DealsRequest) -> DealsAnswer:
    """Return the body of an answer."""
    return DealsAnswer(
        deals=[_deal(each, body) for each in found],
        complete=len(found) == body.count,
        tried=tried,
        seed=body.seed,
    )


def _deal(found: FoundDeal, body: DealsRequest) -> DealBody:
    advice = found.advice
    call = call_body(advice)
    return DealBody(
        index=found.deal.index,
        rack=list(found.deal.rack.tiles),
        call=call.word,
        gap=call.gap,
        share=call.share,
        family=advice.hands[0].hand.family if advice.hands else None,
        heap=list(found.deal.heap) if body.heap else None,
        passed=in_order(advice.passed) if body.answers else None,
    )
