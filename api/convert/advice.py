"""From advice to an answer's body."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib.metadata import version

from api.convert.limits import limits_in_words
from api.convert.question import Asked
from api.convert.sentences import why_sentence
from api.wire.advice import (
    AdviceAnswer,
    AdviceRequest,
    AheadPassBody,
    AlternativeBody,
    AssumedArrivals,
    AssumedCard,
    AssumptionsBody,
    CallBody,
    HandBody,
    LengthBody,
    LookAheadAnswer,
    LossBody,
    NumberBody,
    ProofBody,
    SensitivityBody,
    TileCostBody,
    UnseenBody,
    VersionsBody,
    WhyBody,
)
from patterns.tiles import Tile
from solver.advice import Advice
from solver.arrivals import Coming
from solver.look_ahead import LookAhead
from solver.situation import Question
from solver.why import HandLoss, HandStanding, Why


def advice_answer(
    advice: Advice, asked: Asked[AdviceRequest], why: Why | None, ahead: LookAhead | None
) -> AdviceAnswer:
    """Return the body of an answer."""
    hands = asked.body.hands
    question, proof = advice.question, advice.proof
    return AdviceAnswer(
        passed=in_order(advice.passed),
        expected_hands=advice.expected,
        expected_hands_before=advice.expected_before,
        some_hand=advice.hands.some_hand,
        proof=ProofBody(status=proof.status, bound=proof.bound, gap=proof.gap, resolution=proof.resolution),
        hands=[hand_body(standing) for standing in advice.hands[:hands]],
        hands_in_reach=len(advice.hands),
        given_up=[_loss(loss) for loss in advice.given_up[:hands]],
        alternatives=[
            AlternativeBody(passed=in_order(other.passed), expected_hands=other.expected, gap=other.gap)
            for other in advice.runner_ups
        ],
        call=call_body(advice),
        by_number=[
            NumberBody(
                give=value.give,
                blind=value.blind,
                passed=in_order(value.passed),
                expected_hands=value.expected,
                gain=value.gain,
            )
            for value in advice.by_number
        ],
        why=None if why is None else _why(why),
        look_ahead=None if ahead is None else _ahead(ahead),
        rack=list(question.rack.tiles),
        round=question.round,
        assumptions=assumptions(question, advice.arrivals, advice.hands.arrivals_alone, asked.card_name),
    )


def _why(why: Why) -> WhyBody:
    return WhyBody(
        costs=[
            TileCostBody(
                tile=cost.tile,
                passed=None if cost.passed is None else in_order(cost.passed),
                expected_hands=cost.expected,
                cost=cost.cost,
            )
            for cost in why.costs
        ],
        sensitivity=[
            SensitivityBody(
                share=each.share,
                arrivals=_arrivals(each.arrivals),
                passed=in_order(each.passed),
                same=each.same,
                regret=each.regret,
            )
            for each in why.sensitivity
        ],
        sentence=why_sentence(why),
    )


def _ahead(ahead: LookAhead) -> LookAheadAnswer:
    return LookAheadAnswer(
        passes=[
            AheadPassBody(
                passed=in_order(each.passed),
                mean=each.comparison.mean,
                behind=each.comparison.behind,
                error=each.comparison.error,
            )
            for each in ahead.passes
        ],
        chosen=ahead.chosen,
        changed=ahead.chosen != 0,
        samples=ahead.samples,
        exchanges=ahead.exchanges,
    )


def _arrivals(arrivals: Coming) -> AssumedArrivals:
    return AssumedArrivals(
        charleston=arrivals.charleston,
        draws=arrivals.mean_draws,
        claims=arrivals.mean_claims,
        lengths=[
            LengthBody(draws=each.draws, claims=each.claims, share=share) for share, each in arrivals.parts
        ],
    )


def in_order(tiles: Iterable[Tile]) -> list[Tile]:
    """Return tiles in the fixed order."""
    return sorted(tiles, key=lambda tile: tile.position)


def hand_body(standing: HandStanding) -> HandBody:
    """Return how a hand stands."""
    return HandBody(
        name=standing.hand.name,
        family=standing.hand.family,
        reach=standing.reach,
        alone=standing.alone,
        reach_before=standing.before,
        tiles_away=standing.tiles_away,
        concealed=standing.hand.concealed,
        target=[group.tile for group in standing.target.groups for _ in range(group.count)],
        served_by=list(standing.served_by),
        missing=list(standing.missing),
        jokers_used=standing.jokers_used,
    )


def _loss(loss: HandLoss) -> LossBody:
    return LossBody(
        name=loss.hand.name,
        family=loss.hand.family,
        reach_before=loss.before,
        reach=loss.after,
        lost=loss.before - loss.after,
    )


def call_body(advice: Advice) -> CallBody:
    """Say how close the call is."""
    gap = advice.runner_ups[0].gap if advice.runner_ups else None
    share = gap / advice.expected if gap is not None and advice.expected > 0 else None
    return CallBody(word=advice.closeness, gap=gap, share=share)


def assumptions(
    question: Question, arrivals: Coming, alone: Coming | None, card_name: str
) -> AssumptionsBody:
    """Return what an answer rests on."""
    card, outlook = question.card, question.situation.outlook
    return AssumptionsBody(
        arrivals=_arrivals(arrivals),
        arrivals_alone=None if alone is None else _arrivals(alone),
        card=AssumedCard(name=card_name, title=card.name, hands=len(card.hands), targets=card.target_count),
        unseen=UnseenBody(naturals=outlook.naturals, jokers=outlook.jokers),
        limits=limits_in_words(question.limits),
        versions=versions(),
    )


@cache
def versions() -> VersionsBody:
    """Return what computes answers."""
    return VersionsBody(threepass=version("threepass"), ortools=version("ortools"))
