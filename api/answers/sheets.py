"""Answer keys: racks of one's own or dealt, all of them answered, and the files to print them from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Annotated, Any

from pydantic import AfterValidator, ConfigDict, Field, SkipValidation

from api import words
from api.answers.advice import HandBody
from api.answers.cards import DEFAULT_CARD, CardAsWritten, NamedCard
from api.answers.deals import DealChoice, check_choice, chosen_deals
from api.answers.question import (
    ArrivalsBody,
    AskedObjective,
    DrillBody,
    LimitsOfMany,
    arrivals_of,
    card_and_limits,
    drill_of,
    limits_in_words,
    versions,
)
from api.operations import Task, operation
from api.problems import Kind, Later, Reply
from api.reading import (
    Answer,
    AnyRound,
    Parts,
    RackTiles,
    Request,
    Seed,
    Text,
    read_rack,
    read_shape,
    rounded,
)
from api.words import in_order
from patterns.card_file import MAX_NAME
from patterns.faults import Fault, FaultyInputError
from patterns.rack import RACK_SIZES, Rack, count_faults
from patterns.tiles import Tile
from solver.advice import Advice, ClashError, Closeness, advise
from solver.deals import DealWish, Difficulty, find_deals
from solver.limits import Limits, hand_weights
from solver.passes import Score, score
from solver.price import Price, advising, dealing, total
from solver.rounds import PASS_SIZE, Round
from solver.situation import Question, tables_of
from solver.why import HandLoss, reasons

MAX_RACKS = 50
MAX_PROBLEMS = 500
# A PDF of the key takes about a quarter of a second and three megabytes for each.
MAX_PRINTED = 50
MAX_SENTENCE = 1_000
# Units of work for one problem: a PDF, in a process of its own; or HTML or CSV.
_PRINTED, _WRITTEN = 240_000.0, 2_000.0
RUNNER_UPS, KEPT, GIVEN_UP = 2, 3, 2
_OF_DEALS = tuple(name for name in DealChoice.model_fields if name not in ("drill", "objective"))
_PLAIN = r"^[^\x00-\x1f\x7f]*$"

_Tile = Annotated[Tile, Field(strict=False)]
_Line = Annotated[str, Field(max_length=MAX_SENTENCE, pattern=_PLAIN)]
_Name = Annotated[str, Field(min_length=1, max_length=MAX_NAME, pattern=_PLAIN)]
_Worth = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1e9), AfterValidator(rounded)]
_Reach = Annotated[float, Field(allow_inf_nan=False, ge=0, le=1), AfterValidator(rounded)]
_Count = Annotated[int, Field(ge=0, le=2**63)]
_Pass = Annotated[list[_Tile], Field(max_length=PASS_SIZE)]
_Target = Annotated[list[_Tile], Field(min_length=14, max_length=14)]
_Number = Annotated[int, Field(ge=1, le=1_000_000, description="The number of the problem")]


class RackBody(Request):
    """A rack of one's own, and its round if that is another than the sheet's."""

    rack: RackTiles
    round: AnyRound | None = Field(None, description="null: the round of the sheet")


# Read by `_own_rack`, so that the faults of all racks are told in one go.
RackAsWritten = SkipValidation[Text | Annotated[list[Text], Field(max_length=100)] | RackBody]


class SheetRequest(DealChoice):
    """Racks of one's own, or racks dealt from a seed, all of them to be answered."""

    racks: Annotated[list[RackAsWritten], Field(min_length=1, max_length=MAX_RACKS)] | None = Field(
        None, description="Racks of one's own; the members for dealing are then not allowed"
    )
    round: AnyRound = Field(Round.FIRST_RIGHT, description="Of every problem; difficulty is measured in it")
    card: CardAsWritten = Field(DEFAULT_CARD)
    arrivals: ArrivalsBody | None = Field(None, description="null: the defaults of the round")
    limits: LimitsOfMany
    key: bool = Field(
        default=True, description="Whether to answer; without, racks are checked and listed, the key is empty"
    )


class _Part(Request):
    """A part of a sheet: given by one operation, taken by the other."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)


class SheetCard(_Part):
    """The card."""

    name: _Name
    title: _Name


class SheetVersions(_Part):
    """What computed the key."""

    threepass: _Name
    ortools: _Name


class SheetProblem(_Part):
    """One rack to choose from."""

    number: _Number
    index: _Count | None = Field(description="With the seed, names the deal; null for a rack of one's own")
    rack: Annotated[list[_Tile], Field(min_length=RACK_SIZES[0], max_length=RACK_SIZES[1])]
    round: AnyRound


class SheetRunnerUp(_Part):
    """Another pass and what it costs."""

    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    gap: _Worth = Field(description="Strength that it costs against the best")


class SheetChoice(_Part):
    """The best pass of one number of own tiles, where the round leaves a choice."""

    give: int = Field(ge=0, le=PASS_SIZE)
    blind: int = Field(ge=0, le=PASS_SIZE)
    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    gap: _Worth = Field(description="Strength that it costs against the best number")


class SheetTarget(_Part):
    """A hand that is named."""

    name: _Name
    family: _Name
    target: _Target = Field(description="The one of its targets that is likeliest, in the order of the card")


class SheetHand(SheetTarget):
    """A hand kept within reach."""

    reach: _Reach
    tiles_away: int = Field(ge=0, le=14)


class SheetLoss(SheetTarget):
    """A hand made less likely, or less likely by the next best pass than by the best."""

    reach_before: _Reach
    reach: _Reach


class SheetAnswer(_Part):
    """The answer to one problem."""

    number: _Number
    passed: _Pass = Field(validation_alias="pass", serialization_alias="pass")
    blind: int = Field(ge=0, le=PASS_SIZE, description="Incoming tiles that go on unseen")
    strength: _Worth = Field(description="Rack strength after the pass")
    expected_hands: _Worth
    limits_cost: _Worth | None = Field(
        description="Strength that limits on the pass cost; null without such limits"
    )
    gap: _Worth | None = Field(description="The runner-up's gap; null where there is none")
    closeness: Annotated[Closeness, Field(strict=False)] | None = Field(description="How close it is")
    runner_ups: Annotated[list[SheetRunnerUp], Field(max_length=RUNNER_UPS)]
    by_number: Annotated[list[SheetChoice], Field(max_length=PASS_SIZE + 1)]
    hands: Annotated[list[SheetHand], Field(max_length=KEPT)]
    given_up: Annotated[list[SheetLoss], Field(max_length=GIVEN_UP)]
    reasons: Annotated[list[SheetLoss], Field(max_length=GIVEN_UP)] = Field(
        description="What the sentence says that the next best pass leaves"
    )
    sentence: _Line


class SheetBody(_Part):
    """Problems and their key."""

    seed: Seed | None = Field(description="null: racks of one's own")
    card: SheetCard
    round: AnyRound
    drill: DrillBody | None
    arrivals: ArrivalsBody | None
    objective: AskedObjective
    limits: Annotated[list[_Line], Field(max_length=1_000, description="The limits in words")]
    versions: SheetVersions
    difficulty: Annotated[Difficulty, Field(strict=False)] | None
    problems: Annotated[list[SheetProblem], Field(max_length=MAX_PROBLEMS)]
    key: Annotated[
        list[SheetAnswer],
        Field(max_length=MAX_PROBLEMS, description="One answer a problem, in order, or none at all"),
    ]
    complete: bool = Field(description="Whether as many problems were found as were wanted")
    tried: _Count = Field(description="Deals tried, or racks of one's own")


class SheetsAnswer(Answer):
    """The sheet."""

    sheet: SheetBody


class Form(Enum):
    """Forms of a file."""

    HTML = "html"
    PDF = "pdf"
    CSV = "csv"


class Part(Enum):
    """Parts of a sheet, each a document of its own."""

    PROBLEMS = "problems"
    KEY = "key"


class Paper(Enum):
    """Sizes of paper."""

    LETTER = "letter"
    A4 = "a4"


class PagesRequest(Request):
    """A sheet to make a file of, and which."""

    sheet: SheetBody
    format: Annotated[Form, Field(strict=False)]
    part: Annotated[Part, Field(strict=False)]
    paper: Annotated[Paper, Field(strict=False)] = Paper.LETTER
    heading: Annotated[list[_Name], Field(max_length=3)] = Field(
        default_factory=list, description="Lines above a page to print, such as a title, a class and a date"
    )


@dataclass(frozen=True)
class _AskedSheet:
    """What a request asks for: questions about racks of one's own, or else a wish for deals."""

    body: SheetRequest
    named: NamedCard
    limits: Limits
    questions: list[Question]
    wish: DealWish | None


def _asked_sheet(task: Task, shape: type[SheetRequest]) -> _AskedSheet:
    """Read a request for a sheet; FaultyInputError with every fault of every part."""
    parts = Parts(task.written)
    body = parts.shape(shape)
    racks = enumerate(parts.items("racks", MAX_RACKS))
    rows = [parts.read(_own_rack, each, "racks", index) for index, each in racks]
    no_tiles = "tiles that must stay or go are of one rack: a sheet has many"
    named, limits = card_and_limits(parts, task.cards, body.card, body.limits, no_tiles=no_tiles)
    if body.racks is not None:
        for name in _OF_DEALS:
            if name in body.model_fields_set:
                parts.add("no-use", (name,), "it is for dealt racks, and racks of your own were sent")
    else:
        if not parts.has("seed") and not parts.has("racks"):
            parts.add("missing", ("seed",), "a seed deals racks; without one, send racks of your own")
        check_choice(parts, body, named)
    questions = list[Question]()
    terms: dict[str, Any] = {
        "limits": limits,
        "arrivals": arrivals_of(body.arrivals),
        "objective": body.objective,
        "drill": drill_of(body.drill),
        "alternatives": RUNNER_UPS,
    }
    for index, row in enumerate(rows):
        if named is None or row is None:
            continue
        try:
            questions.append(Question(named.card, row[0], row[1] or body.round, **terms))
        except FaultyInputError as error:
            # What is not of a rack is the same for all of them.
            told = {(fault.kind, fault.place) for fault in parts.faults}
            for fault in error.faults:
                placed = fault.inside("racks", index) if fault.place[:1] == ("rack",) else fault
                if (placed.kind, placed.place) not in told:
                    parts.faults.append(placed)
    parts.check()
    assert named is not None  # or there would have been a fault
    wish = None
    if body.seed is not None:
        more = {"seed": body.seed, "round": body.round, "limits": limits, "arrivals": terms["arrivals"]}
        wish = chosen_deals(named, body, **more)
    return _AskedSheet(body, named, limits, questions, wish)


def _own_rack(written: object) -> tuple[Rack, Round | None]:
    """Read one rack of one's own, with its round if it names one."""
    if not isinstance(written, dict):
        return read_rack(written), None
    body = read_shape(RackBody, written)
    return body.rack, body.round


def _advices(asked: _AskedSheet) -> list[Advice]:
    advices, faults = [], []
    for index, question in enumerate(asked.questions):
        try:
            advices.append(advise(question))
        except ClashError as error:
            faults.append(Fault("limits-clash", ("racks", index), str(error)))
    if faults:
        raise FaultyInputError(faults)
    return advices


def answer_of(number: int, advice: Advice) -> SheetAnswer:
    """Return the entry of a key."""
    told, gaps = _reasons(advice), [advice.behind(other) for other in advice.runner_ups]
    return SheetAnswer(
        number=number,
        passed=in_order(advice.passed),
        blind=advice.blind,
        strength=advice.strength,
        expected_hands=advice.expected,
        limits_cost=None if advice.limits_cost is None else advice.limits_cost.strength,
        gap=gaps[0] if gaps else None,
        closeness=advice.closeness,
        runner_ups=[
            SheetRunnerUp(passed=in_order(other.passed), gap=gap)
            for other, gap in zip(advice.runner_ups, gaps, strict=True)
        ],
        by_number=[
            SheetChoice(
                give=len(value.passed),
                blind=advice.question.blind_beside(value.passed),
                passed=in_order(value.passed),
                gap=advice.behind(value),
            )
            for value in advice.by_number
        ],
        hands=[
            SheetHand.model_validate(HandBody.of(hand), from_attributes=True) for hand in advice.hands[:KEPT]
        ],
        given_up=[_loss(advice, advice.hands.before, each) for each in advice.given_up[:GIVEN_UP]],
        reasons=[_loss(advice, advice.hands.after, each) for each in told],
        sentence=words.key_sentence(advice, [(each.hand.name, each.before, each.after) for each in told]),
    )


def _loss(advice: Advice, likely: Score, loss: HandLoss) -> SheetLoss:
    card = advice.question.card
    target = tables_of(card).targets[likely.target[card.hands.index(loss.hand)]]
    return SheetLoss(
        name=loss.hand.name,
        family=loss.hand.family,
        target=target.tiles,
        reach_before=loss.before,
        reach=loss.after,
    )


def _reasons(advice: Advice) -> list[HandLoss]:
    """Return what the next best pass leaves less likely than the best, as far as it shows."""
    if not advice.runner_ups or advice.behind(advice.runner_ups[0]) <= advice.resolution:
        return []
    question, other = advice.question.giving(len(advice.passed)), advice.runner_ups[0]
    weights = hand_weights(question.card, question.limits)
    next_best = score(question.situation, tables_of(question.card), weights, other.passed)
    kept = reasons(question, advice.hands.after, next_best)
    return [each for each in kept if words.chance(each.before) != words.chance(each.after)][:GIVEN_UP]


def pages_of(written: object) -> PagesRequest:
    """Read a request for pages.

    Raises:
        FaultyInputError: every fault of shape, or else every place where the sheet contradicts itself.
    """
    body, parts = read_shape(PagesRequest, written), Parts(written)
    for index, problem in enumerate(body.sheet.problems):
        with parts.collecting("sheet", "problems", index, "rack"):
            if faults := count_faults(problem.rack):
                raise FaultyInputError(faults)
    numbers = [problem.number for problem in body.sheet.problems]
    if len(set(numbers)) < len(numbers):
        parts.add("numbers", ("sheet", "problems"), "two problems have the same number")
    answered = [answer.number for answer in body.sheet.key]
    if answered and answered != numbers:
        parts.add("numbers", ("sheet", "key"), "the key must answer every problem in order, or none")
    if body.format is Form.PDF and len(numbers) > MAX_PRINTED:
        detail = f"a PDF has at most {MAX_PRINTED} problems: send the sheet in parts, or ask for html"
        parts.add("too-long", ("sheet", "problems"), detail)
    if body.part is Part.KEY and numbers and not answered:
        parts.add("no-key", ("part",), "this sheet has no key")
    parts.check()
    return body


def _price_of_pages(asked: PagesRequest) -> Price:
    one = _PRINTED if asked.format is Form.PDF else _WRITTEN
    return Price(one).times(1 + len(asked.sheet.problems), ("sheet", "problems"), "problems and a title")


MEDIA_TYPES = {
    Form.HTML: "text/html; charset=utf-8",
    Form.PDF: "application/pdf",
    Form.CSV: "text/csv; charset=utf-8",
}


def _price(asked: _AskedSheet) -> Price:
    if asked.wish is not None:
        return dealing(asked.wish)
    racks = words.counted(len(asked.questions), "rack")
    return total(advising(question) for question in asked.questions if asked.body.key).by(("racks",), racks)


@operation("/v1/sheets", SheetRequest, reads=_asked_sheet, price=_price)
def sheets(asked: _AskedSheet) -> SheetsAnswer:
    """Problems and their answer key.

    Many racks are answered at once: those sent, or those dealt from a seed; the same request, the same bytes.
    When the budget ends before enough deals were found, `complete` is false and those found are returned.
    """
    body = asked.body
    racks: list[tuple[int | None, Rack, Round]]
    if asked.wish is None:
        racks = [(None, question.rack, question.round) for question in asked.questions]
        complete, tried = True, len(racks)
        advices = _advices(asked) if body.key else []
    else:
        found, tried = find_deals(asked.wish)
        racks = [(each.deal.index, each.deal.rack, body.round) for each in found]
        complete = len(racks) == body.count
        advices = [each.advice for each in found] if body.key else []
    return SheetsAnswer(
        sheet=SheetBody(
            seed=body.seed,
            card=SheetCard(name=asked.named.name, title=asked.named.card.name),
            round=body.round,
            drill=body.drill,
            arrivals=body.arrivals,
            objective=body.objective,
            limits=limits_in_words(asked.limits),
            versions=SheetVersions.model_validate(versions(), from_attributes=True),
            difficulty=None if asked.wish is None else body.difficulty,
            problems=[
                SheetProblem(number=number, index=index, rack=list(rack.tiles), round=round_)
                for number, (index, rack, round_) in enumerate(racks, 1)
            ],
            key=[answer_of(number, advice) for number, advice in enumerate(advices, 1)],
            complete=complete,
            tried=tried,
        )
    )


@operation(
    "/v1/sheets/pages",
    PagesRequest,
    reads=lambda task, _: pages_of(task.written),
    price=_price_of_pages,
    files=("text/html", "application/pdf", "text/csv"),
    problems=(Kind.NOT_INSTALLED,),
)
def sheet_pages(body: PagesRequest) -> Reply | Later:
    """A sheet as a file to print or to calculate with.

    One file is made of a sheet: its problems or its key. Nothing is kept; the same sheet, the same bytes.
    """
    from api.sheets.files import file_of
    from api.sheets.printing import pdf

    headers = {
        "content-disposition": f'attachment; filename="{body.part.value}.{body.format.value}"',
        # A page opened from here runs nothing and loads nothing, whatever is in the sheet.
        "content-security-policy": "default-src 'none'; img-src data:; style-src 'unsafe-inline'; sandbox",
        "x-content-type-options": "nosniff",
    }
    made, media_type = file_of(body), MEDIA_TYPES[body.format]
    if body.format is Form.PDF:
        return Later(lambda: Reply(200, pdf(made), media_type, headers))
    return Reply(200, made, media_type, headers)
