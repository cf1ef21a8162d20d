"""What the service is asked and what it answers, as types: tiles, rounds and other words are texts.

Answers name the members that are read most, all others are there under their names in the description of the
service, which says what each is; a test holds them against it. Requests name every member.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypedDict

from pydantic import Field

from threepass.problems import Answer, Fault

Round = Literal[
    "first_right", "first_across", "first_left", "second_left", "second_across", "second_right", "courtesy"
]
# As one text, "2b 4b 4c", or tile by tile.
Tiles = str | Sequence[str]
# The name of a card of the service, or a card written out, or `{"toml": ...}`.
Card = str | Mapping[str, Any]
Words = dict[str, str | None]


class Drill(TypedDict, total=False):
    """A Charleston for one: exchanges to come, and draws after them."""

    exchanges_left: int
    then_draws: int


class Common(TypedDict, total=False):
    card: Card
    limits: Mapping[str, Any]
    objective: Literal["strength", "sum"]


class AboutRack(Common, total=False):
    seen: Tiles
    arrivals: Mapping[str, int] | None
    fit: Mapping[str, Any] | None


class AboutPass(AboutRack, total=False):
    give: int | None
    drill: Drill | None


class AboutAdvice(AboutPass, total=False):
    alternatives: int
    hands: int
    why: bool
    gives_away: bool
    mine: Tiles | None


class AboutPlan(AboutPass, total=False):
    rounds: int


class AboutVote(AboutRack, total=False):
    courtesy: int
    samples: int
    seed: int


class OfDeals(Common, total=False):
    count: int
    start: int
    tiles: int
    difficulty: Literal["any", "clear", "close"]
    family: str | None
    jokers: int | None
    budget: int
    drill: Drill | None


class AboutDeals(OfDeals, total=False):
    heap: bool
    answers: bool
    round: Round


class AboutCompositions(AboutDeals, total=False):
    near: Sequence[Mapping[str, Any]]
    flowers: int | None
    holds: Tiles
    apart: int


class AboutTable(TypedDict, total=False):
    index: int
    card: Card
    exchanges: Sequence[Mapping[str, Any]]


class AboutSheet(OfDeals, total=False):
    seed: int | None
    racks: Sequence[Tiles | Mapping[str, Any]] | None
    round: Round
    arrivals: Mapping[str, int] | None
    key: bool


class AboutReviews(TypedDict, total=False):
    records: Sequence[Mapping[str, Any]]
    text: str | None
    card: Card
    objective: Literal["strength", "sum"]


class Line(TypedDict, total=False):
    id: str | int | None
    path: str
    body: Mapping[str, Any] | None


class Hand(Answer):
    """A hand within reach after the pass, by its best target."""

    name: str
    family: str
    reach: float
    alone: float | None
    reach_before: float
    tiles_away: int
    target: list[str]
    served_by: list[str]
    missing: list[str]
    words: Words


class Loss(Answer):
    name: str
    family: str
    reach_before: float
    reach: float
    lost: float


class Passed(Answer):
    passed: list[str] = Field(alias="pass")
    strength: float
    expected_hands: float


class RunnerUp(Passed):
    gap: float
    words: Words


class Own(RunnerUp):
    share: float
    rank: int
    of: int


class Proof(Answer):
    bound: float
    gap: float = 0.0
    resolution: float


class Closeness(Answer):
    word: str | None
    gap: float | None
    share: float | None
    words: str


class Why(Answer):
    sentence: str


class Assumptions(Answer):
    objective: str
    limits: list[str]
    words: list[str]


class Advice(Passed):
    strength_before: float
    some_hand: float | None
    proof: Proof
    hands: list[Hand]
    hands_in_reach: int
    given_up: list[Loss]
    alternatives: list[RunnerUp]
    closeness: Closeness
    why: Why | None
    mine: Own | None
    rack: list[str]
    round: str
    words: Words
    assumptions: Assumptions


class Chances(Answer):
    """The chance of some hand, either way, and bounds on the difference."""

    stop: float
    go_on: float
    low: float
    high: float


class Vote(Answer):
    verdict: str
    stop: float
    go_on: float
    some_hand: Chances | None
    samples: int
    words: Words


class PlannedRound(Passed):
    round: str | None
    words: Words


class Plan(Answer):
    rounds: list[PlannedRound]
    total: float
    words: Words


class GradedPass(Answer):
    """One exchange of a record, graded by what was known then."""

    rack: list[str]
    round: str
    given: list[str]
    blind: int
    best: Passed
    strength: float
    given_up: float
    share: float
    within_resolution: bool
    seconds: float | None
    why: str
    words: Words


class Review(Answer):
    passes: list[GradedPass]
    given_up: float
    share: float
    strength: float
    some_hand: float | None
    tiles_away: int
    seconds: float | None
    kept: dict[str, Any]
    words: Words


class Session(Answer):
    laps: int
    given_up: float
    share: float
    words: Words


class Reviews(Answer):
    reviews: list[Review]
    session: Session


class Progress(Answer):
    passes: int
    groups: list[dict[str, Any]]
    due: list[dict[str, Any]]
    waiting: list[dict[str, Any]]
    words: Words


class Class(Answer):
    """What a class did with the same racks; what cost it most first."""

    problems: list[dict[str, Any]]
    pupils: list[dict[str, Any]]
    csv: str | None
    html: str | None
    words: Words


class CheckedRecords(Answer):
    ok: bool
    faults: list[Fault]
    records: list[Any]


class Deal(Answer):
    index: int
    rack: list[str]
    closeness: str | None
    share: float | None
    family: str | None
    heap: list[str] | None
    passed: list[str] | None = Field(alias="pass")
    words: Words


class Deals(Answer):
    deals: list[Deal]
    complete: bool
    tried: int
    seed: int


class Table(Answer):
    rack: list[str]
    received: list[list[str]]
    stopped: bool | None
    rounds: list[str]
    most: int
    words: Words


class SheetProblem(Answer):
    number: int
    rack: list[str]
    round: str


class SheetAnswer(Answer):
    number: int
    passed: list[str] = Field(alias="pass")
    strength: float
    sentence: str


class Sheet(Answer):
    problems: list[SheetProblem]
    key: list[SheetAnswer]
    complete: bool
    tried: int


class Sheets(Answer):
    sheet: Sheet


class CardSummary(Answer):
    name: str
    title: str
    hands: int
    targets: int
    families: list[str]
    source: str


class Cards(Answer):
    cards: list[CardSummary]
    left_out: list[str]


class CardHand(Answer):
    name: str
    family: str
    groups: list[str]
    concealed: bool
    weight: float
    traits: list[str]
    example: list[str]


class WholeCard(Answer):
    name: str
    title: str
    families: list[str]
    hands: list[CardHand]
    targets: int


class CheckedCard(Answer):
    ok: bool
    faults: list[Fault]
    card: WholeCard | None
    hands: list[CardHand | None]
    toml: str | None


class Limit(Answer):
    """A limit that a request may set, or a trait of hands."""

    name: str
    sentence: str


class Limits(Answer):
    limits: list[Limit]
    traits: list[Limit]


class Alive(Answer):
    status: str = "alive"


class Ready(Alive):
    """The service can solve, which took so long just now."""

    solve_ms: int


class AnsweredLine(Answer):
    """The answer to one line of a batch: the body that the operation would answer with by itself."""

    line: int
    id: str | int | None
    status: int
    body: dict[str, Any]


class FitGames(Answer):
    games: list[dict[str, Any]]
    version: str


class Fits(Answer):
    """The fit of a card: as an object to send with questions, and as a file."""

    fit: dict[str, Any]
    toml: str
    words: list[str]
