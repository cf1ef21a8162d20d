"""How good was a recorded Charleston? Records from the wire, grades to it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from itertools import takewhile
from typing import Annotated, Any

from pydantic import AliasPath, BeforeValidator, Field, SkipValidation, WithJsonSchema, computed_field

from api import words
from api.answers.advice import HandBody
from api.answers.cards import DEFAULT_CARD, CardAsWritten, CardShelf, FitAsWritten
from api.answers.progress import PassFacts
from api.answers.question import (
    AskedObjective,
    LaterArrivals,
    LimitsOfMany,
    OddsBody,
    card_and_limits,
    fit_or_estimate,
    odds_of,
)
from api.operations import Task, bounded, itself, operation
from api.problems import Kind, ProblemItem, clash_problem, items_of
from api.reading import (
    Answer,
    AnyRound,
    Number,
    Parts,
    Pass,
    RackTiles,
    Request,
    Spoken,
    Tiles,
    Words,
    read_shape,
)
from api.record_text import MAX_TEXT, WrittenRecord, read_record_text
from api.session import Figures, session_of
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.advice import ClashError
from solver.arrivals import Fit, Length, default_arrivals
from solver.coach.review import MAX_SECONDS, Exchange, Pace, Record, Review, review
from solver.price import Price, estimating, reviewing, total
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE, Round
from solver.situation import Objective, Question

MAX_RECORDS = 20
_MOST_HANDS = 5


class ExchangeBody(Request):
    """One exchange as it was played."""

    round: AnyRound
    given: Tiles = Field(description="Own tiles given")
    received: Tiles | None = Field(
        description="Tiles that came in, as many as were given; null in the last exchange: not known"
    )
    blind: int = Field(0, ge=0, le=PASS_SIZE, description="Incoming tiles passed on unseen")
    seconds: float | None = Field(
        None, ge=0, le=MAX_SECONDS, allow_inf_nan=False, description="Time it took to choose"
    )


class RecordBody(Request):
    """A recorded Charleston."""

    rack: RackTiles = Field(description="The rack as it was dealt")
    # Each is read by itself, so that what is wrong with one hides nothing of those before it.
    exchanges: list[SkipValidation[ExchangeBody]] = Field(min_length=1, max_length=MAX_EXCHANGES)
    card: CardAsWritten = Field(DEFAULT_CARD)
    fit: FitAsWritten = None
    drill: bool = Field(
        default=False, description="A one-person drill: exchanges may be of any rounds, and extra ones"
    )
    arrivals: LaterArrivals = None
    limits: LimitsOfMany
    seen: Tiles | None = Field(
        None,
        description="For a part that may begin with any round: own tiles passed before; null: from the start",
    )
    follow: int = Field(0, ge=0, le=MAX_EXCHANGES - 1, description="Exchanges of a drill that follow these")


_Text = Annotated[
    str | None,
    Field(
        max_length=MAX_TEXT,
        description="The records as text instead, a line a pass: `right: 3c 3d E > 1b 9b 3b 0:44`",
    ),
]


class ReviewsRequest(Request):
    """Grade the laps of a session; a lap is one recorded Charleston."""

    # Each is read by itself, so that what is wrong with one hides nothing of another.
    records: list[SkipValidation[RecordBody]] = Field(
        default_factory=list, max_length=MAX_RECORDS, description="One or more, where there is no text"
    )
    text: _Text = None
    card: CardAsWritten = Field(DEFAULT_CARD, description="The card of records in the text that name none")
    objective: AskedObjective = Objective.STRENGTH


class BestBody(Answer):
    """The best pass at that moment."""

    passed: Pass = Field(serialization_alias="pass")
    give: Annotated[int, BeforeValidator(len)] = Field(validation_alias="passed")
    blind: int
    strength: Number
    expected_hands: Number = Field(validation_alias="expected")


class ReasonBody(Answer):
    """A hand that the best pass keeps better."""

    name: str = Field(validation_alias=AliasPath("hand", "name"))
    family: str = Field(validation_alias=AliasPath("hand", "family"))
    reach_best: Number = Field(validation_alias="before")
    reach_made: Number = Field(validation_alias="after")


class HindsightBody(Spoken):
    """The best pass had one known what came in. No part of the grade."""

    passed: Pass = Field(serialization_alias="pass")
    strength: Number
    expected_hands: Number = Field(validation_alias="expected")
    made: Number = Field(description="Strength after the pass that was made, with what came in")
    received: Pass = Field(exclude=True)
    note: str = "not graded"

    def _said(self) -> Words:
        return {
            "received": words.tiles_words(self.received),
            "best": words.tiles_words(self.passed),
            "best_strength": words.strength(self.strength),
            "your_strength": words.strength(self.made),
        }


class GradedPassBody(Spoken):
    """One pass and its grade."""

    rack: list[Tile] = Field(
        validation_alias=AliasPath("best", "question", "rack", "tiles"),
        description="The rack before the pass",
    )
    seen: list[Tile] = Field(
        validation_alias=AliasPath("best", "question", "seen"),
        description="Own tiles passed before, not come back",
    )
    round: Round = Field(validation_alias=AliasPath("exchange", "round"))
    given: Pass = Field(validation_alias=AliasPath("exchange", "given"))
    blind: int = Field(validation_alias=AliasPath("exchange", "blind"))
    received: Pass | None = Field(
        validation_alias=AliasPath("exchange", "received"), description="null: not known"
    )
    best: BestBody
    strength: Number = Field(
        validation_alias=AliasPath("made", "strength"), description="Strength after the pass that was made"
    )
    expected_hands: Number = Field(
        validation_alias=AliasPath("made", "expected"), description="Expected hands after it"
    )
    given_up: Number = Field(description="How much less that is than the best")
    share: Number = Field(description="The same as a share of the best")
    within_resolution: bool = Field(description="Whether the pass cannot be told from the best")
    seconds: Number | None = Field(validation_alias=AliasPath("exchange", "seconds"))
    reasons: list[ReasonBody] = Field(validation_alias=AliasPath("made", "loses"))
    gains: list[ReasonBody] = Field(validation_alias=AliasPath("made", "keeps"), exclude=True)
    hindsight: HindsightBody | None = Field(description="null: it is not known what came in")

    @computed_field(description="Why it got its grade, for people")  # type: ignore[prop-decorator]
    @property
    def why(self) -> str:
        """Why it got its grade."""
        if self.within_resolution:
            return "This pass is as good as the best."
        best = self.best
        kept = [(each.name, each.reach_best, each.reach_made) for each in self.reasons]
        return words.graded_sentence(
            words.tiles_words(best.passed, best.blind), best.strength, self.given_up, kept
        )

    @computed_field(description="What it keeps better than the best, for people")  # type: ignore[prop-decorator]
    @property
    def keeps(self) -> str | None:
        """What it keeps better than the best."""
        gains = [(each.name, each.reach_made, each.reach_best) for each in self.gains]
        return None if self.within_resolution else words.kept_better(gains)

    def _said(self) -> Words:
        return {
            "round": words.round_words(self.round),
            "passed": words.tiles_words(self.given, self.blind),
            "best": words.tiles_words(self.best.passed, self.best.blind),
            "lost": words.fine(self.given_up),
            "share": words.percent(self.share),
            "as_good": "yes" if self.within_resolution else "no",
            "time": "-" if self.seconds is None else words.clock(self.seconds),
        }


class CostliestBody(Answer):
    """The pass that gave up most."""

    pass_index: int
    round: Round
    given_up: Number
    why: str


class KeptBody(Answer):
    """What a practice log keeps of a review."""

    strength_given_up: Number
    share_within_resolution: Number
    tiles_away: int
    seconds: Number | None
    pace: Pace | None
    passes: list[PassFacts]


class ReviewBody(Spoken):
    """One graded Charleston."""

    passes: list[GradedPassBody]
    given_up: Number
    share: Number = Field(description="The same as a share of what the best passes keep")
    worst: int | None = Field(validation_alias="costliest", exclude=True)
    strength: Number = Field(
        validation_alias=AliasPath("hands", "after", "strength"),
        description="At the end, draws and claims still to come",
    )
    expected_hands: Number = Field(
        validation_alias=AliasPath("hands", "after", "expected"), description="Likewise"
    )
    objective: Objective = Field(validation_alias=AliasPath("record", "objective"), exclude=True)
    some_hand: Number | None = Field(
        validation_alias=AliasPath("hands", "some_hand"),
        description="Chance of completing some hand from there, as it came true in simulated games; null"
        " where `odds` say why",
    )
    odds: Annotated[OddsBody, BeforeValidator(odds_of)] = Field(validation_alias="record")
    fit: SkipValidation[Fit | None] = Field(validation_alias=AliasPath("record", "fit"), exclude=True)
    hands: Annotated[list[HandBody], BeforeValidator(lambda hands: hands[:_MOST_HANDS])] = Field(
        description="The likeliest at the end, at most five"
    )
    tiles_away: int = Field(description="Fewest tiles any target lacks at the end")
    seconds: Number | None
    pace: Pace | None = Field(description="Of a whole Charleston, six passes or more; else null")
    left: list[int | None] = Field(validation_alias=AliasPath("record", "left"), exclude=True)

    @computed_field  # type: ignore[prop-decorator]
    @property
    def costliest(self) -> CostliestBody | None:
        """The pass that gave up most, or null when none gave up anything."""
        if self.worst is None:
            return None
        of = self.passes[self.worst]
        return CostliestBody(pass_index=self.worst, round=of.round, given_up=of.given_up, why=of.why)

    @computed_field  # type: ignore[prop-decorator]
    @property
    def time(self) -> str | None:
        """The seconds as minutes and seconds."""
        return None if self.seconds is None else words.clock(self.seconds)

    @computed_field  # type: ignore[prop-decorator]
    @property
    def kept(self) -> KeptBody:
        """What a practice log keeps of it; `/v1/progress` takes the passes."""
        return KeptBody(
            strength_given_up=self.given_up,
            share_within_resolution=sum(each.within_resolution for each in self.passes) / len(self.passes),
            tiles_away=self.tiles_away,
            seconds=self.seconds,
            pace=self.pace,
            passes=[
                PassFacts(
                    **each.model_dump(
                        include={"rack", "seen", "round", "given", "blind", "seconds", "share"}
                    ),
                    left=left,
                    best=each.best.passed,
                    family=each.reasons[0].family if each.reasons and each.given_up else None,
                )
                for each, left in zip(self.passes, self.left, strict=True)
            ],
        )

    def _said(self) -> Words:
        away, worst = self.tiles_away, self.costliest
        near = (
            f"{words.counted(away, 'tile')} away from the nearest target" if away else "a target is complete"
        )
        if self.passes[-1].received is None:
            near += " before what came in last"
        pace = "" if self.pace is None else f", pace: {self.pace.value}"
        costliest = "no pass lost anything"
        if worst is not None:
            lost = words.share_and_number(worst.given_up, self.passes[worst.pass_index].best.strength)
            costliest = f"the {words.round_words(worst.round).lower()} pass, {lost}. {worst.why}"
        lost = f"{words.percent(self.share)} of what the best passes keep"
        return {
            "lost": f"{lost} ({words.fine(self.given_up)} in all)",
            "costliest": costliest,
            "time": "not taken for every pass" if self.time is None else f"{self.time} in all{pace}",
            "end": f"rack strength {words.strength(self.strength)}, {near}",
            "some_hand": words.some_hand_words(self.some_hand, self.fit),
            "strength_note": words.STRENGTH_NOTES[self.objective.value],
        }


class SessionBody(Answer):
    """Averages over the laps."""

    laps: int
    timed: int
    seconds: Number | None
    given_up: Number
    share: Number = Field(description="The same as a share of what the best passes keep")
    tiles_away: Number
    within_resolution: Number = Field(description="Share of all passes that cannot be told from the best")
    time: str | None = Field(description="The seconds as minutes and seconds")
    words: Words


class ReviewsAnswer(Answer):
    """The grades, lap by lap, and the averages."""

    reviews: list[ReviewBody]
    session: SessionBody


def _records(task: Task, _shape: object) -> list[Record]:
    """Read records; FaultyInputError with every fault of every one."""
    parts, _, found = _read(task.written, task.cards)
    parts.check()
    return [record for record in found if record is not None]


def _read(written: object, shelf: CardShelf) -> tuple[Parts, list[WrittenRecord], list[Record | None]]:
    """Return the faults, the records of the text, and all records; None for those that cannot be read."""
    parts = Parts(written)
    body = parts.shape(ReviewsRequest)
    texts: list[WrittenRecord] = []
    found: list[Record | None] = []
    if parts.has("text"):
        if parts.has("records"):
            parts.add("two-forms", ("records",), "records come as text or as a list, not as both")
        texts, faults = read_record_text(body.text or "")
        parts.faults += [fault.inside("text") for fault in faults]
        if not texts and not faults:
            parts.add("missing", ("text",), "a record begins with its line `rack:`")
        if len(texts) > MAX_RECORDS:
            parts.add("too-long", ("text",), f"{len(texts)} records: at most {MAX_RECORDS} are taken at once")
        for each in texts[:MAX_RECORDS]:
            try:
                found.append(_record({"card": body.card, **each.record}, shelf, body.objective))
            except FaultyInputError as error:
                parts.faults += [each.on_line(fault).inside("text") for fault in error.faults]
    else:
        records = parts.items("records", MAX_RECORDS)
        if not records and not parts.faults:
            kind = "too-short" if parts.has("records") else "missing"
            parts.add(kind, ("records",), "one record or more is needed")
        read = partial(_record, shelf=shelf, objective=body.objective)
        found += [parts.read(read, each, "records", index) for index, each in enumerate(records)]
    return parts, texts, found


def _record(written: object, shelf: CardShelf, objective: Objective) -> Record:
    parts = Parts(written)
    body = parts.shape(RecordBody)
    no_tiles = "tiles that must stay or go are of one rack: a record has many"
    named, limits = card_and_limits(parts, shelf, body.card, body.limits, body.fit, no_tiles)
    turns = enumerate(parts.items("exchanges", MAX_EXCHANGES))
    exchanges = [parts.read(_exchange, each, "exchanges", turn) for turn, each in turns]
    # After one that cannot be read nobody knows what is in the rack.
    readable = tuple(each for each in takewhile(lambda each: each is not None, exchanges) if each)
    # Drills and parts have no order of rounds: where it is not known whether it is one, none can be wrong.
    unknown = any(fault.place[:1] in (("drill",), ("seen",)) for fault in parts.faults)
    if None in (body.rack, body.exchanges) or named is None or not readable or unknown:
        raise FaultyInputError(parts.faults)
    length = None if body.arrivals is None else Length(body.arrivals.draws, body.arrivals.claims)
    with parts.collecting():
        made = (named.card, body.rack, readable, body.drill, length, limits, objective)
        record = Record(*made, fit=named.fit, seen=body.seen, follow=body.follow)
        if len(readable) == len(exchanges):
            _check_length(record)
    parts.check()
    return record


def _exchange(written: object) -> Exchange:
    return Exchange(**dict(read_shape(ExchangeBody, written)))


def _check_length(record: Record) -> None:
    """Raise a FaultyInputError for more draws and claims than there are tiles for at any moment."""
    if record.length is None:
        return
    if record.drill:
        if record.length.draws > MAX_THEN_DRAWS:
            detail = f"a drill draws at most {MAX_THEN_DRAWS} tiles"
            raise FaultyInputError([Fault("range", ("arrivals", "draws"), detail)])
        return
    rounds = [exchange.round for exchange in record.exchanges]
    for (rack, seen), round_ in zip(record.moments(), (*rounds, rounds[-1]), strict=True):
        if not isinstance(rack, Rack):
            continue  # nothing is asked of a rack that lacks what came last
        arrivals = replace(default_arrivals(round_, PASS_SIZE), lengths=(record.length,))
        Question(record.card, rack, round_, arrivals=arrivals, seen=seen)


def _price(records: list[Record]) -> Price:
    each = [reviewing(record).inside("records", index) for index, record in enumerate(records)]
    # The odds of a card are estimated once.
    of_cards = {record.card: estimating(record).inside("records", at) for at, record in enumerate(records)}
    return total([*each, *of_cards.values()]).by(("records",), words.counted(len(records), "record"))


@operation("/v1/reviews", ReviewsRequest, reads=_records, price=_price, problems=(Kind.LIMITS_CLASH,))
def reviews(records: list[Record]) -> ReviewsAnswer:
    """Grades for recorded Charlestons.

    Each pass is graded against the best at that moment, with what was known then. Hindsight stands apart and
    is not graded. Records that cannot have happened are refused.
    """
    made = []
    for index, record in enumerate(records):
        try:
            made.append(review(replace(record, fit=fit_or_estimate(record))))
        except ClashError as error:
            raise clash_problem(error, "records", index) from None
    return ReviewsAnswer(
        reviews=[ReviewBody.of(each) for each in made],
        session=SessionBody.model_validate(session_of([_figures(each) for each in made])),
    )


def _figures(lap: Review) -> Figures:
    passes = lap.passes
    return Figures(
        passes=len(passes),
        seconds=lap.seconds,
        given_up=lap.given_up,
        best=sum(graded.best.strength for graded in passes),
        within_resolution=sum(graded.within_resolution for graded in passes) / len(passes),
        tiles_away=lap.tiles_away,
    )


def _meant_for(member: str) -> WithJsonSchema:
    says = f"`{member}` as `/v1/reviews` takes it, or what is meant to be that"
    return WithJsonSchema({"title": member.capitalize(), "description": says})


class CheckRecordsRequest(Request):
    """Records to check."""

    # Any value may be checked: what is wrong with it is the answer, not a refusal.
    records: Annotated[SkipValidation[object], _meant_for("records")] = None
    text: Annotated[SkipValidation[object], _meant_for("text")] = None
    card: Annotated[SkipValidation[object], _meant_for("card")] = DEFAULT_CARD
    objective: Annotated[SkipValidation[object], _meant_for("objective")] = Objective.STRENGTH.value


class RecordsAnswer(Answer):
    """What a check of records found."""

    ok: bool = Field(description="Whether they can be graded")
    faults: list[ProblemItem]
    records: list[Any] = Field(description="The records; those of a text written out")


@operation("/v1/records/check", CheckRecordsRequest, reads=itself, price=bounded)
def check_records(task: Task) -> RecordsAnswer:
    """Check recorded Charlestons.

    The answer has all faults of records, and the records that a text stands for. A fault is no error here.
    """
    request = read_shape(CheckRecordsRequest, task.written)
    parts, texts, _ = _read(task.written, task.cards)
    sent = request.records if isinstance(request.records, list) else []
    records = [each.record for each in texts] or sent
    return RecordsAnswer(ok=not parts.faults, faults=items_of(parts.faults), records=records)
