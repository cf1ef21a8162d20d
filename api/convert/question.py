"""From a request's body to a question, with every fault named at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from api.cards import CardShelf
from api.convert.card_and_limits import CardAndLimits
from api.convert.parts import Parts, allowed_effort, read_rack, read_tiles
from api.wire.advice import AdviceRequest, ArrivalsBody, DrillBody, QuestionRequest, SituationRequest
from patterns.card import Card
from patterns.faults import FaultyInputError
from patterns.rack import Rack
from patterns.tiles import KINDS
from solver.arrivals import Arrivals
from solver.rounds import PASS_SIZE, Drill, Round
from solver.situation import Question

# Stands in for a rack that cannot be read, so that the faults of the other parts are still found.
_ANY_RACK = Rack(KINDS[:13])
_NO_CARD = Card("", ())
# A situation without a round is that of the vote: the next pass would be the second left.
VOTED_ON = Round.SECOND_LEFT
_WITHOUT_RACK = [("give",), ("drill", "exchanges_left"), ("drill", "then_draws")]


Body = TypeVar("Body", bound=SituationRequest)


@dataclass(frozen=True)
class Asked(Generic[Body]):
    """A question, the card's name, and the body it came from."""

    question: Question
    card_name: str
    body: Body


def drill_of(body: DrillBody | None) -> Drill | None:
    """Return the solver's drill."""
    return None if body is None else Drill(body.exchanges_left, body.then_draws)


def arrivals_of(body: ArrivalsBody | None) -> Arrivals | None:
    """Return the arrivals that are stated."""
    return None if body is None else Arrivals(body.charleston, body.draws, body.claims)


def question_of(written: object, shelf: CardShelf, max_effort: float, model: type[Body]) -> Asked[Body]:
    """Read a question.

    Args:
        written: The body as parsed from JSON.
        shelf: Cards.
        max_effort: The largest effort that this server allows.
        model: The body's shape.

    Raises:
        FaultyInputError: every fault of every part that can be read without the faulty ones.
    """
    parts = Parts(written)
    body = parts.shape(model)
    rack = parts.part(("rack",), read_rack)
    seen = parts.part(("seen",), read_tiles) or ()
    both = CardAndLimits.read(parts, shelf)
    named = both.named
    if body is None:
        raise FaultyInputError(parts.faults)
    asked = body if isinstance(body, QuestionRequest) else None
    allowed_effort(parts, body.effort, max_effort, named="effort" in body.model_fields_set)
    try:
        question = Question(
            card=named.card if named else _NO_CARD,
            rack=rack or _ANY_RACK,
            round=asked.round if asked else VOTED_ON,
            give=asked.give if asked else PASS_SIZE,
            arrivals=arrivals_of(body.arrivals),
            seen=seen,
            limits=both.limits(parts, body.limits),
            alternatives=body.alternatives if isinstance(body, AdviceRequest) else 0,
            drill=drill_of(asked.drill if asked else None),
        )
    except FaultyInputError as error:
        parts.faults += [fault for fault in error.faults if rack or fault.place in _WITHOUT_RACK]
    parts.check()
    assert named is not None  # or there would have been a fault
    return Asked(question, named.name, body)
