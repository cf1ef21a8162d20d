"""How good was a recorded Charleston? Records from the wire, grades to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Final

from pydantic import Field

from api import words
from api.answers.advice import HandBody, hand_body
from api.answers.cards import DEFAULT_CARD, CardAsWritten, CardShelf
from api.answers.question import RACK, ArrivalsBody, CardAndLimits, LaterArrivals, LimitsBody
from api.operations import WITH_A_BODY, Operation, Task
from api.problems import Kind, clash_problem
from api.reading import Answer, Number, Parts, Request, Tiles, read_rack, read_tiles
from api.words import in_order
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import ClashError
from solver.arrivals import Arrivals, default_arrivals
from solver.model import Stopper
from solver.review import (
    MAX_SECONDS,
    Exchange,
    GradedPass,
    Pace,
    Record,
    Review,
    Session,
    review,
)
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE, Round
from solver.situation import Question

MAX_RECORDS = 20
_MOST_HANDS = 5


class ExchangeBody(Request):
    """One exchange as it was played."""

    round: Annotated[Round, Field(strict=False)]
    given: Tiles = Field(description="Own tiles given")
    received: Tiles = Field(description="Tiles that came into the rack, as many as were given")
    blind: int = Field(0, ge=0, le=PASS_SIZE, description="Incoming tiles passed on unseen")
    seconds: float | None = Field(
        None, ge=0, le=MAX_SECONDS, allow_inf_nan=False, description="Time it took to choose"
    )


class RecordBody(Request):
    """A recorded Charleston."""

    rack: Tiles = Field(description="The rack as it was dealt")
    exchanges: list[ExchangeBody] = Field(min_length=1, max_length=MAX_EXCHANGES)
    card: CardAsWritten = Field(DEFAULT_CARD)
    drill: bool = Field(
        default=False, description="A one-person drill: exchanges may be of any rounds, and extra ones"
    )
    arrivals: LaterArrivals = None
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Of every pass; no tiles can be named, as no one rack has them",
    )


class ReviewsRequest(Request):
    """Grade the laps of a session; a lap is one recorded Charleston."""

    records: list[RecordBody] = Field(min_length=1, max_length=MAX_RECORDS)


class BestBody(Answer):
    """The best pass at that moment."""

    passed: list[Tile] = Field(serialization_alias="pass")
    give: int
    blind: int
    expected_hands: Number


class ReasonBody(Answer):
    """A hand that the best pass keeps better."""

    name: str
    family: str
    reach_best: Number
    reach_made: Number


class HindsightWords(Answer):
    """Hindsight in words."""

    received: str
    best: str
    best_strength: str
    your_strength: str


class HindsightBody(Answer):
    """The best pass had one known what came in. No part of the grade."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    made: Number = Field(description="Expected hands of the pass that was made, with what came in")
    note: str = "not graded"
    words: HindsightWords


class GradedWords(Answer):
    """A graded pass in words."""

    round: str
    passed: str
    best: str
    lost: str
    share: str
    as_good: str
    time: str


class GradedPassBody(Answer):
    """One pass and its grade."""

    round: Round
    given: list[Tile]
    blind: int
    received: list[Tile]
    best: BestBody
    expected_hands: Number = Field(description="Expected hands after the pass that was made")
    given_up: Number = Field(description="How much less that is than the best")
    share: Number = Field(description="The same as a share of the best")
    within_resolution: bool = Field(description="Whether the pass cannot be told from the best")
    seconds: Number | None
    reasons: list[ReasonBody]
    why: str
    hindsight: HindsightBody
    words: GradedWords


class CostliestBody(Answer):
    """The pass that gave up most."""

    pass_index: int
    round: Round
    given_up: Number
    why: str


class ReviewWords(Answer):
    """One graded Charleston in words."""

    lost: str
    costliest: str
    time: str
    end: str
    some_hand: str | None
    strength_note: str = Field(description="What rack strength is")


class ReviewBody(Answer):
    """One graded Charleston."""

    passes: list[GradedPassBody]
    given_up: Number
    costliest: CostliestBody | None
    expected_hands: Number = Field(description="At the end, draws and claims still to come")
    some_hand: Number | None = Field(
        description="Chance of completing some hand from there, as measured in simulated games; null in a"
        " drill or when arrivals were named"
    )
    hands: list[HandBody] = Field(description="The likeliest at the end, at most five")
    tiles_away: int = Field(description="Fewest tiles any target lacks at the end")
    seconds: Number | None
    time: str | None = Field(description="The same as minutes and seconds")
    pace: Pace | None = Field(description="Of a whole Charleston, six passes or more; else null")
    words: ReviewWords


class SessionWords(Answer):
    """Averages in words."""

    title: str
    time: str
    lost: str
    as_good: str
    away: str


class SessionBody(Answer):
    """Averages over the laps."""

    laps: int
    timed: int
    seconds: Number | None
    time: str | None
    given_up: Number
    tiles_away: Number
    within_resolution: Number = Field(description="Share of all passes that cannot be told from the best")
    words: SessionWords


class ReviewsAnswer(Answer):
    """The grades, lap by lap, and the averages."""

    reviews: list[ReviewBody]
    session: SessionBody


@dataclass(frozen=True)
class _Contents:
    """What was read of a record by content; what cannot be read is None here and among the faults."""

    rack: Rack | None
    both: CardAndLimits
    exchanges: list[tuple[tuple[Tile, ...] | None, tuple[Tile, ...] | None]]

    @classmethod
    def read(cls, parts: Parts, shelf: CardShelf, index: int) -> _Contents:
        place = ("records", index)
        rack = parts.part((*place, "rack"), read_rack)
        both = CardAndLimits.read(parts, shelf, *place)
        both.refuse_tiles(parts, "tiles that must stay or go are of one rack: a record has many")
        turns = min(parts.length(*place, "exchanges"), MAX_EXCHANGES)
        exchanges = [
            (
                parts.part((*place, "exchanges", turn, "given"), read_tiles),
                parts.part((*place, "exchanges", turn, "received"), read_tiles),
            )
            for turn in range(turns)
        ]
        return cls(rack, both, exchanges)


def records_of(written: object, shelf: CardShelf) -> list[Record]:
    """Read records.

    Raises:
        FaultyInputError: every fault of every record.
    """
    parts = Parts(written)
    body = parts.shape(ReviewsRequest)
    laps = min(parts.length("records"), MAX_RECORDS)
    contents = [_Contents.read(parts, shelf, index) for index in range(laps)]
    if body is None:
        raise FaultyInputError(parts.faults)
    read = [_record(parts, *pair) for pair in zip(body.records, contents, strict=True)]
    parts.check()
    return [record for record in read if record is not None]


def _record(parts: Parts, body: RecordBody, contents: _Contents) -> Record | None:
    limits, named = contents.both.limits(parts, body.limits), contents.both.named
    exchanges = [
        Exchange(exchange.round, given, received, exchange.blind, exchange.seconds)
        for exchange, (given, received) in zip(body.exchanges, contents.exchanges, strict=True)
        if given is not None and received is not None
    ]
    if contents.rack is None or named is None or len(exchanges) < len(body.exchanges):
        return None
    with parts.collecting(*contents.both.place):
        arrivals = _arrivals(body.arrivals)
        record = Record(named.card, contents.rack, tuple(exchanges), body.drill, arrivals, limits)
        _check_arrivals(record)
        return record
    return None


def _arrivals(body: ArrivalsBody | None) -> Arrivals | None:
    return None if body is None else Arrivals(0, body.draws, body.claims)


def _check_arrivals(record: Record) -> None:
    """Refuse more draws and claims than there are tiles for at any moment of a record.

    Raises:
        FaultyInputError: there are too many.
    """
    if record.arrivals is None:
        return
    if record.drill:
        if record.arrivals.draws > MAX_THEN_DRAWS:
            detail = f"a drill draws at most {MAX_THEN_DRAWS} tiles"
            raise FaultyInputError([Fault("range", ("arrivals", "draws"), detail)])
        return
    rounds = [exchange.round for exchange in record.exchanges]
    for moment, round_ in zip(record.moments(), (*rounds, rounds[-1]), strict=True):
        exchanged = default_arrivals(round_, PASS_SIZE).charleston
        arrivals = replace(record.arrivals, charleston=exchanged)
        Question(record.card, moment.rack, round_, arrivals=arrivals, seen=moment.seen)


def reviews_answer(reviews: Sequence[Review]) -> ReviewsAnswer:
    """Return the body of an answer for one or more reviews."""
    session = Session.of(list(reviews))
    return ReviewsAnswer(
        reviews=[_review(review) for review in reviews],
        session=SessionBody(
            laps=session.laps,
            timed=session.timed,
            seconds=session.seconds,
            time=None if session.seconds is None else words.clock(session.seconds),
            given_up=session.given_up,
            tiles_away=session.tiles_away,
            within_resolution=session.within_resolution,
            words=SessionWords(
                title=f"Average over {words.counted(session.laps, 'lap')}",
                time=words.session_time_words(session),
                lost=words.lost_words(reviews),
                as_good=f"{words.percent(session.within_resolution)} of the passes",
                away=f"{session.tiles_away:.1f} at the end",
            ),
        ),
    )


def _review(made: Review) -> ReviewBody:
    passes = [_graded(graded) for graded in made.passes]
    return ReviewBody(
        passes=passes,
        given_up=made.given_up,
        costliest=None if made.costliest is None else _costliest(passes, made.costliest),
        expected_hands=made.expected,
        some_hand=made.hands.some_hand,
        hands=[hand_body(standing) for standing in made.hands[:_MOST_HANDS]],
        tiles_away=made.tiles_away,
        seconds=made.seconds,
        time=None if made.seconds is None else words.clock(made.seconds),
        pace=made.pace,
        words=ReviewWords(
            lost=words.lost_words([made]),
            costliest=words.costliest_words(made, [each.why for each in passes]),
            time=words.lap_time_words(made),
            end=words.end_words(made),
            some_hand=words.some_hand_words(made.hands.some_hand),
            strength_note=words.STRENGTH_NOTE,
        ),
    )


def _costliest(passes: Sequence[GradedPassBody], index: int) -> CostliestBody:
    graded = passes[index]
    return CostliestBody(pass_index=index, round=graded.round, given_up=graded.given_up, why=graded.why)


def _graded(graded: GradedPass) -> GradedPassBody:
    exchange, best, hindsight = graded.exchange, graded.best, graded.hindsight
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
        why=words.graded_sentence(graded, number.blind),
        hindsight=HindsightBody(
            passed=in_order(hindsight.passed),
            expected_hands=hindsight.expected,
            made=hindsight.made,
            words=HindsightWords(
                received=words.tiles_words(exchange.received),
                best=words.tiles_words(hindsight.passed),
                best_strength=words.strength(hindsight.expected),
                your_strength=words.strength(hindsight.made),
            ),
        ),
        words=GradedWords(
            round=words.round_words(exchange.round),
            passed=words.tiles_words(exchange.given, exchange.blind),
            best=words.tiles_words(best.passed, number.blind),
            lost=words.fine(graded.given_up),
            share=words.percent(graded.share),
            as_good="yes" if graded.within_resolution else "no",
            time="-" if exchange.seconds is None else words.clock(exchange.seconds),
        ),
    )


def _reviews(task: Task) -> ReviewsAnswer:
    records = records_of(task.written, task.cards)
    return reviews_answer([_made(index, record, task.stopper) for index, record in enumerate(records)])


def _made(index: int, record: Record, stopper: Stopper) -> Review:
    try:
        return review(record, stopper=stopper)
    except ClashError as error:
        raise clash_problem(error, "records", index) from None


_EXAMPLES: Final[dict[str, object]] = {
    "one_lap": {
        "records": [
            {
                "rack": RACK,
                "card": "small",
                "exchanges": [
                    {"round": "first_right", "given": "1d E W", "received": "3b 9c N", "seconds": 41.5},
                    {"round": "first_across", "given": "9c N 6c", "received": "5b S white", "seconds": 38},
                    {
                        "round": "first_left",
                        "given": "S white",
                        "received": "5c 2d",
                        "blind": 1,
                        "seconds": 29.5,
                    },
                ],
            }
        ]
    }
}

OPERATIONS = (
    Operation(
        "/v1/reviews",
        "reviews",
        "reviews",
        "Grades for recorded Charlestons",
        "Grade each pass against the best at that moment, with what was known then.\n\n"
        "Hindsight stands apart and is not graded. Records that cannot have happened are refused.",
        _reviews,
        takes=ReviewsRequest,
        gives=ReviewsAnswer,
        problems=(*WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
        examples=_EXAMPLES,
    ),
)
