"""What most requests ask: rack, round, card, limits and arrivals; and what an answer assumes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.metadata import version
from typing import TYPE_CHECKING, Annotated, Any, Generic, TypeVar

from pydantic import Field, create_model

from api import words
from api.answers.cards import (
    DEFAULT_CARD,
    CardAsWritten,
    CardShelf,
    FitAsWritten,
    NamedCard,
    checked,
    read_card,
)
from api.operations import Task, bounded, itself, operation
from api.reading import Answer, AnyRound, Name, Number, Parts, RackTiles, Request, Tiles
from patterns.card import Trait, content_id
from patterns.card_file import MAX_HANDS, MAX_WEIGHT
from patterns.fit_file import read_fit
from patterns.tiles import SET_SIZE
from solver.arrivals import Arrivals, Fit, Make, Odds, Source
from solver.coach.review import Record
from solver.limits import LIMITS, AtLeast, Choice, Limit, Limits, Sort, hand_weights
from solver.odds import estimate
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE, Drill, Round
from solver.situation import Objective, Question, question_faults

# A situation without a round is that of the vote: the next pass would be the second left.
VOTED_ON = Round.SECOND_LEFT
_Coming = Annotated[int, Field(ge=0, le=SET_SIZE)]
_Names = Annotated[list[Name], Field(max_length=MAX_HANDS)]
_Traits = Annotated[list[Annotated[Trait, Field(strict=False)]], Field(max_length=len(Trait))]
_Weight = Annotated[float, Field(ge=0, le=MAX_WEIGHT, allow_inf_nan=False)]


class ArrivalsBody(Request):
    """Tiles still to come."""

    charleston: _Coming = Field(description="From exchanges, this one included")
    draws: _Coming = Field(description="From the wall")
    claims: _Coming = Field(description="Discards of others that could be called")


class DrillBody(Request):
    """A one-person drill: 14 tiles and a heap without jokers."""

    exchanges_left: int = Field(ge=1, le=MAX_EXCHANGES, description="Exchanges left, this one included")
    then_draws: int = Field(
        Drill.then_draws, ge=0, le=MAX_THEN_DRAWS, description="Tiles drawn once they are over; 0: none"
    )


AskedObjective = Annotated[
    Objective,
    Field(
        strict=False,
        description="What passes are compared by: `strength`, all chances added up, the likelier hands"
        " counting for more; or `sum`, the plain sum of chances",
    ),
]
LaterArrivals = Annotated[
    ArrivalsBody | None,
    Field(description="Draws and claims after the exchanges; `charleston` is ignored. null: defaults"),
]


class ChoiceBody(Request):
    """Families, hands and traits by name."""

    families: _Names = Field(default_factory=list)
    hands: _Names = Field(default_factory=list)
    traits: _Traits = Field(default_factory=list)


class AtLeastBody(Request):
    """At least so many with at least such a reach."""

    count: int = Field(ge=1, le=MAX_HANDS)
    reach: float = Field(gt=0, le=1, allow_inf_nan=False)


class WhichHandsBody(Request):
    """Which hands count, and how much."""

    only: ChoiceBody = Field(default_factory=ChoiceBody, description="If any is named, only these count")
    without: ChoiceBody = Field(default_factory=ChoiceBody, description="Hands that do not count")
    weights: dict[Name, _Weight] = Field(
        default_factory=dict, max_length=MAX_HANDS, description="How much hands count, by name"
    )


def _field(kind: type[Limit]) -> tuple[object, object]:
    """Return the type and the default of a limit's member, by the sort of its value."""
    match kind.sort:
        case Sort.YES_NO:
            return bool, Field(default=False, description=kind.sentence)
        case Sort.TILES:
            twice = f"{kind.sentence}; twice the same: two of it"
            return Tiles, Field(default_factory=tuple, description=twice)
        case Sort.AT_LEAST:
            return AtLeastBody | None, Field(default=None, description=kind.sentence)


if TYPE_CHECKING:
    LimitsBody = WhichHandsBody
else:
    LimitsBody = create_model(
        "LimitsBody",
        __base__=WhichHandsBody,
        __doc__="Limits on one pass, and which hands count; nothing is limited by default.",
        **{kind.name: _field(kind) for kind in LIMITS},
    )


# Where one set of limits is for many racks.
LimitsOfMany = Annotated[
    LimitsBody,
    Field(
        default_factory=LimitsBody,
        description="Of every pass; no tiles can be named, as no one rack has them",
    ),
]


class SituationRequest(Request):
    """A rack, a card, and what else is known."""

    rack: RackTiles = Field(
        description="13 or 14 tiles: one text (`455c 18d N F J white`) or a list of tokens"
    )
    card: CardAsWritten = Field(DEFAULT_CARD)
    seen: Tiles = Field(default_factory=tuple, description="Tiles seen outside the rack, own passes included")
    fit: FitAsWritten = None
    arrivals: ArrivalsBody | None = Field(None, description="null: the defaults of the round")
    limits: LimitsBody = Field(default_factory=LimitsBody)
    objective: AskedObjective = Objective.STRENGTH


class QuestionRequest(SituationRequest):
    """One rack in one round."""

    round: AnyRound
    give: int | None = Field(
        None, ge=0, le=PASS_SIZE, description="Own tiles to give; null: the best number allowed"
    )
    drill: DrillBody | None = Field(None, description="null: a table of four")


class LengthBody(Answer):
    """One length that play may have."""

    draws: int
    claims: int
    share: Number = Field(description="Its share of all; the shares sum to 1")


class OddsBody(Answer):
    """Where the odds come from: `some_hand`, and `alone` of each hand."""

    source: Source = Field(description="Games with this card, an estimate without any, or no odds at all")
    id: str | None = Field(description="Names the content of the fit or estimate; null without odds")
    games: int = Field(description="Simulated games that they were fitted to")
    error: Number | None = Field(
        description="Expected calibration error of `some_hand` when play begins, on games held back"
    )
    words: str = Field(description="The same for people, or why no odds are stated")


class AssumedArrivals(Answer):
    """The arrivals that were assumed."""

    charleston: int = Field(description="Tiles from exchanges: what they are worth, if not named")
    draws: Number = Field(
        validation_alias="mean_draws", description="Tiles from the wall, on average over the lengths"
    )
    claims: Number = Field(
        validation_alias="mean_claims", description="Discards of others that could be called, on average"
    )
    lengths: list[LengthBody] = Field(description="Lengths that play may have; one if arrivals were named")


class AssumedCard(Answer):
    """The card that was used."""

    name: str
    title: str
    id: str = Field(description="Names its content")
    hands: int
    targets: int


class UnseenBody(Answer):
    """The pool that arrivals come from."""

    naturals: int
    jokers: int


class VersionsBody(Answer):
    """What computed the answer."""

    threepass: str
    ortools: str


class AssumptionsBody(Answer):
    """What the answer rests on."""

    objective: Objective = Field(description="What passes were compared by")
    arrivals: AssumedArrivals
    arrivals_some_hand: AssumedArrivals | None = Field(
        description="The same for the chance of some hand; null where it is not stated"
    )
    arrivals_alone: dict[Make, AssumedArrivals] | None = Field(
        description="The same for a player who goes for one hand only, by what it is made of; null where no"
        " odds are stated"
    )
    card: AssumedCard
    unseen: UnseenBody
    limits: list[str] = Field(description="The limits in words")
    versions: VersionsBody
    words: list[str] = Field(description="All of it, a sentence each")


def _choice(body: ChoiceBody) -> Choice:
    return Choice(tuple(body.families), tuple(body.hands), tuple(body.traits))


def limits_in_words(limits: Limits) -> list[str]:
    """Return one sentence a limit, in a fixed order."""
    says = [limit.says for limit in limits.on_pass]
    for choice, start in ((limits.only, "only hands of"), (limits.without, "no hands of")):
        if choice:
            says.append(f"{start} {_named(choice)} count")
    return says + [f"{name!r} weighs {weight:g}" for name, weight in sorted(limits.weights)]


def _named(choice: Choice) -> str:
    parts = [
        ("the families", [repr(name) for name in choice.families]),
        ("the names", [repr(name) for name in choice.hands]),
        ("the traits", [trait.value for trait in choice.traits]),
    ]
    return " or ".join(f"{sort} {', '.join(names)}" for sort, names in parts if names)


def drill_of(body: DrillBody | None) -> Drill | None:
    """Return the solver's drill."""
    return None if body is None else Drill(body.exchanges_left, body.then_draws)


def arrivals_of(body: ArrivalsBody | None) -> Arrivals | None:
    """Return the arrivals that are stated."""
    return None if body is None else Arrivals.of(body.charleston, body.draws, body.claims)


def card_and_limits(
    parts: Parts,
    shelf: CardShelf,
    card: object,
    body: LimitsBody,
    fit: object = None,
    no_tiles: str | None = None,
) -> tuple[NamedCard | None, Limits]:
    """Read a card with its fit, and limits; a card that cannot be read is None, and among the faults.

    `no_tiles` says why limits may name no tiles, where there is not one rack that has them.
    """
    named = parts.read(partial(read_card, shelf=shelf), card, "card")
    if named is not None and fit is not None:
        with parts.collecting("fit"):
            named = replace(named, fit=checked(read_fit(fit), named.card))
    values: dict[str, Any] = {kind.name: getattr(body, kind.name) for kind in LIMITS}
    for kind in LIMITS:
        if no_tiles is not None and kind.sort is Sort.TILES and values[kind.name]:
            parts.add("no-use", ("limits", kind.name), no_tiles)
        if isinstance(least := values[kind.name], AtLeastBody):
            values[kind.name] = AtLeast(least.count, least.reach)
    weights = tuple(body.weights.items())
    limits = Limits.of(only=_choice(body.only), without=_choice(body.without), weights=weights, **values)
    if named is not None:
        with parts.collecting("limits"):
            hand_weights(named.card, limits)
    return named, limits


Body = TypeVar("Body", bound=SituationRequest)


@dataclass(frozen=True)
class Asked(Generic[Body]):
    """A question, the card's name, and the body it came from."""

    question: Question
    card_name: str
    body: Body


def question_of(task: Task, model: type[Body]) -> Asked[Body]:
    """Read a question from the body.

    Raises:
        FaultyInputError: every fault of every part that can be read without the faulty ones.
    """
    parts = Parts(task.written)
    body = parts.shape(model)
    named, limits = card_and_limits(parts, task.cards, body.card, body.limits, body.fit)
    asked = body if isinstance(body, QuestionRequest) else None
    round_ = VOTED_ON if asked is None else asked.round
    rest: dict[str, Any] = {
        "give": PASS_SIZE if asked is None else asked.give,
        "arrivals": arrivals_of(body.arrivals),
        "seen": body.seen,
        "limits": limits,
        "drill": None if asked is None else drill_of(asked.drill),
        # Only who asks for advice may have a pass of their own, or want runner-ups.
        "mine": getattr(body, "mine", None),
    }
    parts.faults += question_faults(rack=body.rack, round_=round_, **rest)
    parts.check()
    assert named is not None  # or there would have been a fault
    rest |= {"alternatives": getattr(body, "alternatives", 0), "objective": body.objective}
    return Asked(Question(named.card, body.rack, round_, **rest, fit=named.fit), named.name, body)


def odds_of(asked: Question | Record) -> OddsBody:
    """Say where odds come from."""
    fit = asked.fit if asked.measured else None
    return OddsBody(
        source=Source.NONE if fit is None else fit.source,
        id=None if fit is None else content_id(fit.some_hand, fit.alone, fit.sharpness),
        games=0 if fit is None else fit.games,
        error=None if fit is None else fit.error,
        words=words.odds_words(fit, told=asked.measured, chosen=asked.limits.choose_hands),
    )


def fit_or_estimate(asked: Question | Record) -> Fit | None:
    """Return the fit, or where odds can be told and there is none an estimate, if it is to be trusted."""
    if asked.fit is not None or not asked.measured:
        return asked.fit
    return estimate(asked.card)


def assumptions(
    question: Question, arrivals: Arrivals, odds: Odds | None, card_name: str, *, exchanges: bool = True
) -> AssumptionsBody:
    """Return what an answer rests on; whether tiles by `exchanges` are among what was assumed."""
    card, limits, computed = question.card, limits_in_words(question.limits), versions()
    return AssumptionsBody.of(
        question,
        arrivals=arrivals,
        arrivals_some_hand=None if odds is None else odds.some_hand,
        arrivals_alone=None if odds is None else dict(zip(Make, odds.alone, strict=True)),
        card=AssumedCard.of(
            card, name=card_name, title=card.name, hands=len(card.hands), targets=card.target_count
        ),
        unseen=question.situation.outlook,
        limits=limits,
        versions=computed,
        words=words.assumed_sentences(
            question, arrivals, odds, card_name, limits, computed, exchanges=exchanges
        ),
    )


class LimitDescription(Answer):
    """One limit that a request may set."""

    name: str = Field(description="The member of `limits`")
    sentence: str
    sort: Sort = Field(description="`yes-no`: true or false; `tiles`: text or list; `at-least`: count, reach")


class TraitDescription(Answer):
    """One trait by which hands are left in or out."""

    name: Trait
    sentence: str


class LimitsAnswer(Answer):
    """The limits there are, in the order of controls, and the traits."""

    limits: list[LimitDescription]
    traits: list[TraitDescription]


@operation("/v1/limits", reads=itself, price=bounded, at_once=True)
def list_limits(_task: Task) -> LimitsAnswer:
    """The limits that a request may set.

    What controls for limits are made from, and the traits that hands are left in or out by.
    """
    return LimitsAnswer(
        limits=[LimitDescription.of(kind) for kind in LIMITS],
        traits=[TraitDescription(name=trait, sentence=words.TRAITS[trait.value]) for trait in Trait],
    )


@cache
def versions() -> VersionsBody:
    """Return what computes answers."""
    return VersionsBody(threepass=version("threepass"), ortools=version("ortools"))
