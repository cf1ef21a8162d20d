"""Wishes for deals from the wire, deals to it."""

from __future__ import annotations

from api.cards import CardShelf, NamedCard
from api.convert.advice import call_body, in_order
from api.convert.card_and_limits import CardAndLimits
from api.convert.parts import Parts
from api.convert.question import drill_of
from api.settings import DEFAULT_EFFORT
from api.wire.deals import DealBody, DealChoice, DealsAnswer, DealsRequest
from patterns.faults import Fault, FaultyInputError
from solver.deals import DealWish, FoundDeal
from solver.limits import Limits
from solver.rounds import DRILL_RACK, Drill


def wish_of(written: object, shelf: CardShelf, max_effort: float) -> tuple[DealWish, DealsRequest]:
    """Read a wish.

    Raises:
        FaultyInputError: every fault of every part.
    """
    parts = Parts(written)
    body = parts.shape(DealsRequest)
    both = CardAndLimits.read(parts, shelf)
    both.refuse_tiles(parts, "tiles that must stay or go are of one rack: they limit no deal")
    if body is None:
        raise FaultyInputError(parts.faults)
    limits, named = both.limits(parts, body.limits), both.named
    check_choice(parts, body, named, drill=body.drill is not None)
    parts.check()
    assert named is not None  # or there would have been a fault
    drill, effort = drill_of(body.drill), min(DEFAULT_EFFORT, max_effort)
    return chosen_deals(named, body, body.seed, drill, limits, effort), body


def chosen_deals(
    named: NamedCard, choice: DealChoice, seed: int, drill: Drill | None, limits: Limits, effort: float
) -> DealWish:
    """Return the wish for what was chosen, measured by the first right pass."""
    return DealWish(
        card=named.card,
        seed=seed,
        count=choice.count,
        start=choice.start,
        size=choice.tiles,
        difficulty=choice.difficulty,
        family=choice.family,
        jokers=choice.jokers,
        drill=drill,
        budget=choice.budget,
        limits=limits,
    )


def check_choice(parts: Parts, body: DealChoice, named: NamedCard | None, *, drill: bool) -> None:
    """Make faults of what the card or a drill does not have."""
    if named is not None and body.family is not None and body.family not in named.card.families:
        detail = f"the card has no {body.family!r} among its families"
        parts.faults.append(Fault("unknown-name", ("family",), detail))
    if drill and body.tiles != DRILL_RACK:
        parts.faults.append(Fault("range", ("tiles",), f"a drill has {DRILL_RACK} tiles"))


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
