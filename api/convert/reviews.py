"""Records from the wire, grades to it."""

from __future__ import annotations

from collections.abc import Sequence

from api.cards import CardShelf
from api.convert.advice import hand_body, in_order
from api.convert.cards import read_card
from api.convert.limits import limits_of
from api.convert.parts import Parts, allowed_effort, read_rack, read_tiles, with_default_card
from api.convert.sentences import graded_sentence
from api.wire.advice import ArrivalsBody
from api.wire.reviews import (
    BestBody,
    CostliestBody,
    GradedPassBody,
    HindsightBody,
    ReasonBody,
    RecordBody,
    ReviewBody,
    ReviewsAnswer,
    ReviewsRequest,
    SessionBody,
)
from patterns.faults import FaultyInputError
from solver.arrivals import Arrivals
from solver.limits import hand_weights
from solver.review.grade import GradedPass, Review, Session
from solver.review.pace import clock
from solver.review.record import Exchange, Record

_MOST_HANDS = 5


def records_of(written: object, shelf: CardShelf, max_effort: float) -> tuple[list[Record], float]:
    """Read records and the effort for each pass.

    Raises:
        FaultyInputError: every fault of every record.
    """
    records = written.get("records") if isinstance(written, dict) else None
    if isinstance(written, dict) and isinstance(records, list):
        written = {**written, "records": [with_default_card(record) for record in records]}
    parts = Parts(written)
    body = parts.shape(ReviewsRequest)
    if body is None:
        raise FaultyInputError(parts.faults)
    read = [_record(parts, index, record, shelf) for index, record in enumerate(body.records)]
    effort = allowed_effort(parts, body.effort, max_effort, named="effort" in body.model_fields_set)
    parts.check()
    return [record for record in read if record is not None], effort


def _record(parts: Parts, index: int, body: RecordBody, shelf: CardShelf) -> Record | None:
    place = ("records", index)
    rack = parts.part((*place, "rack"), read_rack)
    named = parts.part((*place, "card"), lambda card: read_card(card, shelf))
    stay = parts.part((*place, "limits", "stay"), read_tiles) or ()
    go = parts.part((*place, "limits", "go"), read_tiles) or ()
    limits = limits_of(body.limits, stay, go)
    before = len(parts.faults)
    exchanges = []
    for turn, exchange in enumerate(body.exchanges):
        here = (*place, "exchanges", turn)
        given = parts.part((*here, "given"), read_tiles) or ()
        received = parts.part((*here, "received"), read_tiles) or ()
        exchanges.append(Exchange(exchange.round, given, received, exchange.blind, exchange.seconds))
    if rack is None or named is None or len(parts.faults) > before:
        return None
    with parts.collecting(*place):
        record = Record(named.card, rack, tuple(exchanges), body.drill, _arrivals(body.arrivals), limits)
        with parts.collecting(*place, "limits"):
            hand_weights(named.card, limits)
        return record
    return None


def _arrivals(body: ArrivalsBody | None) -> Arrivals | None:
    return None if body is None else Arrivals(0, body.draws, body.claims)


def reviews_answer(reviews: Sequence[Review]) -> ReviewsAnswer:
    """Return the body of an answer for one or more reviews."""
    session = Session.of(list(reviews))
    return ReviewsAnswer(
        reviews=[_review(review) for review in reviews],
        session=SessionBody(
            laps=session.laps,
            timed=session.timed,
            seconds=session.seconds,
            time=None if session.seconds is None else clock(session.seconds),
            given_up=session.given_up,
            tiles_away=session.tiles_away,
            within_resolution=session.within_resolution,
        ),
    )


def _review(review: Review) -> ReviewBody:
    costliest = None
    if review.costliest is not None:
        graded = review.passes[review.costliest]
        costliest = CostliestBody(
            pass_index=review.costliest,
            round=graded.exchange.round,
            given_up=graded.given_up,
            why=graded_sentence(graded),
        )
    return ReviewBody(
        passes=[_graded(graded) for graded in review.passes],
        given_up=review.given_up,
        costliest=costliest,
        expected_hands=review.expected,
        hands=[hand_body(standing) for standing in review.hands[:_MOST_HANDS]],
        tiles_away=review.tiles_away,
        seconds=review.seconds,
        time=None if review.seconds is None else clock(review.seconds),
        pace=review.pace,
    )


def _graded(graded: GradedPass) -> GradedPassBody:
    exchange, best = graded.exchange, graded.best
    number = next(value for value in best.by_number if value.give == len(best.passed))
    return GradedPassBody(
        round=exchange.round,
        given=in_order(exchange.given),
        blind=exchange.blind,
        received=in_order(exchange.received),
        best=BestBody(
            passed=in_order(best.passed),
            give=number.give,
            blind=number.blind,
            expected_hands=best.expected,
        ),
        expected_hands=graded.made,
        given_up=graded.given_up,
        share=graded.share,
        within_resolution=graded.within_resolution,
        seconds=exchange.seconds,
        reasons=[
            ReasonBody(
                name=reason.hand.name,
                family=reason.hand.family,
                reach_best=reason.before,
                reach_made=reason.after,
            )
            for reason in graded.reasons
        ],
        why=graded_sentence(graded),
        hindsight=HindsightBody(
            passed=in_order(graded.hindsight.passed),
            expected_hands=graded.hindsight.expected,
            made=graded.hindsight.made,
        ),
    )
