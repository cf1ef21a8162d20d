"""Looking ahead on the wire: the vote and plans."""

from __future__ import annotations

from pydantic import Field

from api.wire.advice import AssumptionsBody, LaterArrivals, QuestionRequest, SituationRequest
from api.wire.base import Answer, Number, Seed
from api.wire.limits import LimitsBody
from patterns.tiles import Tile
from solver.ahead import DEFAULT_SAMPLES, Verdict
from solver.model import Status
from solver.plan import MAX_ROUNDS
from solver.rounds import PASS_SIZE

MAX_VOTE_SAMPLES = 100


class VoteRequest(SituationRequest):
    """Stop after the first Charleston, or go on? The rack is that after the first left pass."""

    arrivals: LaterArrivals = None
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Which hands count and how much; limits on the tiles of a pass do not hold here",
    )
    courtesy: int = Field(2, ge=0, le=PASS_SIZE, description="Tiles exchanged at the courtesy pass")
    samples: int = Field(DEFAULT_SAMPLES, ge=2, le=MAX_VOTE_SAMPLES, description="Most samples to take")
    seed: Seed = Field(0, description="Names the luck")


class VoteAnswer(Answer):
    """Both values and how sure the difference is."""

    verdict: Verdict
    stop: Number = Field(description="Mean expected hands at the end without a second Charleston")
    go_on: Number = Field(description="The same with one")
    difference: Number
    error: Number = Field(description="Standard error of the difference, from paired samples")
    samples: int
    assumptions: AssumptionsBody = Field(
        description="With the arrivals and the limits that hold once the exchanges are over"
    )


class PlanRequest(QuestionRequest):
    """What goes now, and what goes next if nothing better comes?"""

    rounds: int = Field(2, ge=1, le=MAX_ROUNDS, description="Rounds to plan, as far as they can be played")


class PlannedRoundBody(Answer):
    """One round of a plan."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number = Field(description="Within reach once these have gone")


class PlanProofBody(Answer):
    """How sure the plan is."""

    status: Status
    gap: Number
    resolution: Number


class PlanAnswer(Answer):
    """The rounds in order."""

    rounds: list[PlannedRoundBody]
    total: Number = Field(description="Sum of the rounds' expected hands, which the plan maximises")
    proof: PlanProofBody
