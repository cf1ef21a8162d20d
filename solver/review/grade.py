"""Grades: each pass against the best pass at that moment, and the whole."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card
from patterns.tiles import Tile
from solver.advice import Advice, advise, giving
from solver.arrivals import Arrivals, Coming, after_the_exchanges, arrivals_alone
from solver.card_tables import tables_of
from solver.drill import Drill
from solver.explain import HandLoss, Standings
from solver.limits import hand_weights
from solver.nearness import tiles_away
from solver.order import DECIMALS, greatest_first
from solver.question import Question
from solver.rescore import Score, score, scores
from solver.review.hindsight import Hindsight, hindsight
from solver.review.pace import Pace, mean_seconds, pace_of
from solver.review.record import Exchange, Moment, Record
from solver.rounds import Round
from solver.situation import Situation
from solver.stopping import Stopper

_MOST_REASONS = 3


@dataclass(frozen=True)
class GradedPass:
    """One pass and its grade.

    Attributes:
        best: The advice at that moment.
        made: Expected hands after the pass that was made.
        given_up: How much less that is than the best, 0 or more.
        share: ``given_up`` as a share of the best; 0 when the best is 0.
        within_resolution: Whether the pass cannot be told from the best.
        reasons: Hands that the best pass keeps better, the greatest difference first, at most three:
            ``before`` is their reach after the best pass, ``after`` their reach after the one made.
    """

    exchange: Exchange
    moment: Moment
    best: Advice
    made: float
    given_up: float
    share: float
    within_resolution: bool
    reasons: tuple[HandLoss, ...]
    hindsight: Hindsight


@dataclass(frozen=True)
class Review:
    """A graded Charleston.

    Attributes:
        given_up: Sum over the passes.
        costliest: Index of the pass that gave up most, or None when none gave up anything.
        expected: Expected hands at the end, draws and claims still to come.
        hands: How hands stand at the end, likeliest first.
        tiles_away: Fewest tiles any target of a hand that counts lacks at the end.
        seconds: Time of all passes, or None when one was not taken.
    """

    record: Record
    passes: tuple[GradedPass, ...]
    given_up: float
    costliest: int | None
    expected: float
    hands: Standings
    tiles_away: int
    seconds: float | None

    @property
    def pace(self) -> Pace | None:
        """The pace band, when all passes were timed."""
        return None if self.seconds is None else pace_of(self.seconds)


@dataclass(frozen=True)
class Session:
    """Averages over the laps of a session, one or more.

    Attributes:
        seconds: Mean time of the laps that were timed, or None.
        given_up: Mean of what a lap gave up.
        tiles_away: Mean of tiles away at the end.
        within_resolution: Share of all passes that cannot be told from the best.
    """

    laps: int
    timed: int
    seconds: float | None
    given_up: float
    tiles_away: float
    within_resolution: float

    @classmethod
    def of(cls, reviews: list[Review]) -> Session:
        """Average one or more reviews."""
        times = [review.seconds for review in reviews if review.seconds is not None]
        passes = [graded.within_resolution for review in reviews for graded in review.passes]
        return cls(
            len(reviews),
            len(times),
            mean_seconds(times) if times else None,
            float(np.mean([review.given_up for review in reviews])),
            float(np.mean([review.tiles_away for review in reviews])),
            float(np.mean(passes)),
        )


def review(record: Record, *, effort: float, stopper: Stopper | None = None) -> Review:
    """Grade a record.

    The best pass at each moment is what the advice says of the rack as it was, own tiles passed before
    being known. Where blind passing is allowed the number of blind tiles is part of the choice; at the
    courtesy pass the number is not, as it is the smaller of two wishes.

    Args:
        record: A record that can have happened.
        effort: Cap on the solver's work for one pass, in deterministic time units.
        stopper: Ends the work on request.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
        NoAnswerError: the cap on work was hit before any pass was found.
        StoppedError: a stop was asked for.
    """
    stopper = stopper or Stopper()
    moments = record.moments()
    passes = tuple(
        _graded(record, index, moments[index], effort, stopper) for index in range(len(record.exchanges))
    )
    lost = [graded.given_up for graded in passes]
    costliest = int(np.argmax(lost))
    situation = _at_the_end(record, moments[-1])
    tables = tables_of(record.card)
    end = score(situation, tables, hand_weights(record.card, record.limits), ())
    alone = arrivals_alone(None, 0) if record.arrivals is None and not record.drill else None
    times = [exchange.seconds for exchange in record.exchanges]
    timed = [seconds for seconds in times if seconds is not None]
    return Review(
        record,
        passes,
        float(sum(lost)),
        None if passes[costliest].within_resolution else costliest,
        end.expected,
        Standings(situation, tables, end, end, alone),
        _fewest_away(situation, record),
        sum(timed) if len(timed) == len(times) else None,
    )


def _question(record: Record, index: int, moment: Moment, give: int | None, effort: float) -> Question:
    exchange = record.exchanges[index]
    drill = Drill(len(record.exchanges) - index) if record.drill else None
    if drill is not None and record.arrivals is not None:
        drill = replace(drill, then_draws=record.arrivals.draws)
    question = Question(
        record.card,
        moment.rack,
        exchange.round,
        give,
        seen=moment.seen,
        limits=record.limits,
        alternatives=0,
        effort=effort,
        drill=drill,
    )
    if record.arrivals is None or record.drill:
        return question
    return replace(question, arrivals=record.arrivals.after(question.situation.arrivals.charleston))


def _graded(record: Record, index: int, moment: Moment, effort: float, stopper: Stopper) -> GradedPass:
    exchange = record.exchanges[index]
    made_question = _question(record, index, moment, len(exchange.given), effort)
    courtesy = exchange.round is Round.COURTESY
    best = advise(made_question if courtesy else _question(record, index, moment, None, effort), stopper)
    weights = hand_weights(record.card, record.limits)
    made, best_score = _both(made_question, exchange.given, best, weights)
    given_up = max(0.0, best_score.expected - made.expected)
    return GradedPass(
        exchange,
        moment,
        best,
        made.expected,
        given_up,
        given_up / best.expected if best.expected > 0 else 0.0,
        given_up <= best.proof.resolution,
        reasons(record.card, weights, best_score, made),
        hindsight(made_question, exchange.given, exchange.received, stopper),
    )


def _both(
    question: Question, given: tuple[Tile, ...], best: Advice, weights: NDArray[np.float64]
) -> list[Score]:
    """Score the pass made and the best: together where they can be, so that equal passes score the same."""
    situation, tables = question.situation, tables_of(question.card)
    if len(given) == len(best.passed):
        return scores(situation, tables, weights, [given, best.passed])
    other = giving(best.question, len(best.passed)).situation
    return [score(situation, tables, weights, given), score(other, tables, weights, best.passed)]


def reasons(card: Card, weights: NDArray[np.float64], best: Score, made: Score) -> tuple[HandLoss, ...]:
    """Return the few hands that one pass keeps better than another, the greatest weighted gain first.

    Args:
        card: The card.
        weights: How much each of its hands counts.
        best: The pass that is worth more.
        made: The other pass.
    """
    difference = np.round((best.reach - made.reach) * weights, DECIMALS)
    order = greatest_first(difference)[:_MOST_REASONS].tolist()
    return tuple(
        HandLoss(card.hands[hand], float(best.reach[hand]), float(made.reach[hand]))
        for hand in order
        if difference[hand] > 0
    )


def _at_the_end(record: Record, moment: Moment) -> Situation:
    """Return the situation once the exchanges are over: only draws and claims are to come."""
    if record.drill:
        draws = Drill.then_draws if record.arrivals is None else record.arrivals.draws
        arrivals: Coming = Arrivals(0, draws, 0)
    elif record.arrivals is None:
        arrivals = after_the_exchanges()
    else:
        arrivals = record.arrivals.after(0)
    return Situation(moment.rack, moment.seen, arrivals, jokers_in_wall=not record.drill)


def _fewest_away(situation: Situation, record: Record) -> int:
    """Return the fewest tiles any target of a hand that counts lacks, jokers used where they may be."""
    tables = tables_of(record.card)
    away = tiles_away(tables, situation.held, situation.outlook.jokers_held)
    counts = hand_weights(record.card, record.limits) > 0
    return int(away[counts[tables.hand]].min())
