"""The question and the answer of `POST /v1/advice`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.settings import DEFAULT_EFFORT, MAX_EFFORT
from api.wire.base import Answer, Number, Request, Seed
from api.wire.cards import CardAsWritten
from api.wire.limits import LimitsBody, Tiles
from patterns.card_file import MAX_HANDS
from patterns.tiles import SET_SIZE, Tile
from solver.advice import Closeness
from solver.look_ahead import DEFAULT_SAMPLES, MAX_SAMPLES
from solver.model import Status
from solver.rounds import MAX_EXCHANGES, MAX_THEN_DRAWS, PASS_SIZE, Drill, Round
from solver.situation import MAX_ALTERNATIVES

DEFAULT_CARD = "full"
_Coming = Annotated[int, Field(ge=0, le=SET_SIZE)]


class ArrivalsBody(Request):
    """Tiles still to come."""

    charleston: _Coming = Field(description="From exchanges, this one included")
    draws: _Coming = Field(description="From the wall")
    claims: _Coming = Field(description="Discards of others that could be claimed")


class DrillBody(Request):
    """A one-person drill: 14 tiles and a heap without jokers."""

    exchanges_left: int = Field(ge=1, le=MAX_EXCHANGES, description="Still to come, this one included")
    then_draws: int = Field(
        Drill.then_draws, ge=0, le=MAX_THEN_DRAWS, description="Tiles drawn once they are over; 0: none"
    )


LaterArrivals = Annotated[
    ArrivalsBody | None,
    Field(description="Draws and claims after the exchanges; `charleston` is ignored. null: defaults"),
]
Effort = Annotated[
    float,
    Field(
        gt=0,
        le=MAX_EFFORT,
        allow_inf_nan=False,
        description="Cap on the solver's work for one pass, in its deterministic units",
    ),
]


class SituationRequest(Request):
    """A rack, a card, and what else is known."""

    rack: Tiles = Field(description="13 or 14 tiles: one text (`455c 18d N F J white`) or a list of tokens")
    card: CardAsWritten = Field(DEFAULT_CARD)
    seen: Tiles = Field(default_factory=list, description="Tiles seen outside the rack, own passes included")
    arrivals: ArrivalsBody | None = Field(None, description="null: the defaults of the round")
    limits: LimitsBody = Field(default_factory=lambda: LimitsBody())
    effort: Effort = DEFAULT_EFFORT


class QuestionRequest(SituationRequest):
    """One rack in one round."""

    round: Annotated[Round, Field(strict=False)]
    give: int | None = Field(
        None, ge=0, le=PASS_SIZE, description="Own tiles to give; null: the best number allowed"
    )
    drill: DrillBody | None = Field(None, description="null: a table of four")


class LookAheadBody(Request):
    """How far to sample what comes in."""

    samples: int = Field(DEFAULT_SAMPLES, ge=2, le=MAX_SAMPLES, description="Most samples to take")
    seed: Seed = Field(0, description="Names the luck")


class AdviceRequest(QuestionRequest):
    """What should I pass?"""

    alternatives: int = Field(2, ge=0, le=MAX_ALTERNATIVES, description="Runner-up passes wanted")
    hands: int = Field(10, ge=0, le=MAX_HANDS, description="How many kept and given-up hands to list")
    why: bool = Field(default=False, description="Whether to tell what each other tile would cost")
    look_ahead: LookAheadBody | None = Field(
        None, description="Compare the best passes by what is reached when the exchanges are over"
    )


class ProofBody(Answer):
    """How sure the best pass is."""

    status: Status
    bound: Number = Field(description="No pass is worth more expected hands than this")
    gap: Number = Field(description="Bound less what the pass is worth; 0 when optimal")
    resolution: Number = Field(description="Differences up to this are not told apart")


class HandBody(Answer):
    """A hand that the pass keeps within reach, by its best target."""

    name: str
    family: str
    reach: Number = Field(description="Chance of completing the target, as it counts in the sum", ge=0, le=1)
    alone: Number | None = Field(
        description="Chance of completing the target for a player who from now on goes for nothing else, as"
        " it came true at simulated tables; null in a drill, when arrivals were named, or when so little is"
        " unseen that play cannot last as long as it would",
        ge=0,
        le=1,
    )
    reach_before: Number = Field(description="The same with the whole rack", ge=0, le=1)
    tiles_away: int
    concealed: bool
    target: list[Tile] = Field(description="The 14 tiles in the order of the card")
    served_by: list[Tile]
    missing: list[Tile]
    jokers_used: int


class LossBody(Answer):
    """A hand that the pass makes less likely."""

    name: str
    family: str
    reach_before: Number
    reach: Number
    lost: Number


class AlternativeBody(Answer):
    """A runner-up pass."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    gap: Number = Field(description="Expected hands that it costs against the best")


class CallBody(Answer):
    """How close the call is."""

    word: Closeness | None = Field(
        description="null: no alternatives were asked for, or the effort found none"
    )
    gap: Number | None = Field(description="The runner-up's gap")
    share: Number | None = Field(description="The gap as a share of the best pass's worth")


class LengthBody(Answer):
    """One length that play may have."""

    draws: int
    claims: int
    share: Number = Field(description="Its share of all; the shares sum to 1")


class AssumedArrivals(Answer):
    """The arrivals that were assumed."""

    charleston: int = Field(description="Tiles from exchanges: what they are worth, if not named")
    draws: Number = Field(description="Tiles from the wall, on average over the lengths")
    claims: Number = Field(description="Discards of others that could be claimed, on average")
    lengths: list[LengthBody] = Field(description="Lengths that play may have; one if arrivals were named")


class AssumedCard(Answer):
    """The card that was used."""

    name: str
    title: str
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

    arrivals: AssumedArrivals
    arrivals_alone: AssumedArrivals | None = Field(
        description="The same for a player who goes for one target only; null where nothing was measured"
    )
    card: AssumedCard
    unseen: UnseenBody
    limits: list[str] = Field(description="The limits in words")
    versions: VersionsBody


class NumberBody(Answer):
    """The best pass of one number of own tiles."""

    give: int
    blind: int
    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    gain: Number = Field(description="Expected hands above those of the fewest compared")


class TileCostBody(Answer):
    """What it costs to give one tile, the rest of the pass chosen best."""

    tile: Tile
    passed: list[Tile] | None = Field(serialization_alias="pass", description="null: the limits allow none")
    expected_hands: Number | None
    cost: Number | None


class SensitivityBody(Answer):
    """The answer under fewer or more draws and claims."""

    share: Number
    arrivals: AssumedArrivals
    passed: list[Tile] = Field(serialization_alias="pass")
    same: bool
    regret: Number = Field(description="How far the advised pass is then behind")


class WhyBody(Answer):
    """Why this pass."""

    costs: list[TileCostBody]
    sensitivity: list[SensitivityBody]
    sentence: str


class AheadPassBody(Answer):
    """One pass and what it leads to."""

    passed: list[Tile] = Field(serialization_alias="pass")
    mean: Number = Field(description="Mean expected hands when the exchanges are over")
    behind: Number
    error: Number = Field(description="Standard error of `behind`, from paired samples")


class LookAheadAnswer(Answer):
    """The deeper answer."""

    passes: list[AheadPassBody]
    chosen: int = Field(description="Index of the pass to give")
    changed: bool = Field(description="Whether that is another than the plain answer")
    samples: int
    exchanges: int


class AdviceAnswer(Answer):
    """The best pass, what it keeps, what it gives up, and how close the call is."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number = Field(description="Weighted expected hands within reach after the pass")
    expected_hands_before: Number = Field(description="The same for the whole rack")
    some_hand: Number | None = Field(
        description="Chance of completing some hand that counts, as it came true at simulated tables; null in"
        " a drill or when arrivals were named",
        ge=0,
        le=1,
    )
    proof: ProofBody
    hands: list[HandBody] = Field(description="Likeliest first; as many as asked for")
    hands_in_reach: int = Field(description="How many hands have any reach left")
    given_up: list[LossBody] = Field(description="Greatest loss first; as many as asked for")
    alternatives: list[AlternativeBody]
    call: CallBody
    by_number: list[NumberBody] = Field(description="One entry where the number is given or leaves no choice")
    why: WhyBody | None
    look_ahead: LookAheadAnswer | None
    rack: list[Tile] = Field(description="The rack in the fixed order of tiles")
    round: Round
    assumptions: AssumptionsBody
