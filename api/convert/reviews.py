"""Grades to the wire."""

from __future__ import annotations

from collections.abc import Sequence

from api.convert.advice import hand_body, in_order
from api.convert.sentences import graded_sentence
from api.wire.reviews import (
    BestBody,
    CostliestBody,
    GradedPassBody,
    HindsightBody,
    ReasonBody,
    ReviewBody,
    ReviewsAnswer,
    SessionBody,
)
from solver.review import GradedPass, Review, Session, clock

_MOST_HANDS = 5


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
    passes = [_graded(graded) for graded in review.passes]
    return ReviewBody(
        passes=passes,
        given_up=review.given_up,
        costliest=None if review.costliest is None else _costliest(passes, review.costliest),
        expected_hands=review.expected,
        some_hand=review.hands.some_hand,
        hands=[hand_body(standing) for standing in review.hands[:_MOST_HANDS]],
        tiles_away=review.tiles_away,
        seconds=review.seconds,
        time=None if review.seconds is None else clock(review.seconds),
        pace=review.pace,
    )


def _costliest(passes: Sequence[GradedPassBody], index: int) -> CostliestBody:
    graded = passes[index]
    return CostliestBody(pass_index=index, round=graded.round, given_up=graded.given_up, why=graded.why)


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
        why=graded_sentence(graded, number.blind),
        hindsight=HindsightBody(
            passed=in_order(graded.hindsight.passed),
            expected_hands=graded.hindsight.expected,
            made=graded.hindsight.made,
        ),
    )
