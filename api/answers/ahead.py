"""Looking ahead: the vote on the second Charleston, and plans over several rounds."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

from pydantic import Field

from api import words
from api.answers.question import (
    RACK,
    Asked,
    AssumptionsBody,
    LaterArrivals,
    LimitsBody,
    QuestionRequest,
    SituationRequest,
    assumptions,
    question_of,
)
from api.operations import WITH_A_BODY, Operation, Task
from api.problems import Kind
from api.reading import Answer, Number, Seed
from api.words import in_order
from patterns.faults import Fault, FaultyInputError
from patterns.tiles import Tile
from solver.ahead import DEFAULT_SAMPLES, Verdict, Vote, vote
from solver.limits import Limits
from solver.model import Status
from solver.plan import MAX_ROUNDS, Plan, plan
from solver.rounds import ORDER, PASS_SIZE, SECOND_CHARLESTON, Round
from solver.situation import Question

MAX_SAMPLES = 100


class VoteRequest(SituationRequest):
    """Stop after the first Charleston, or go on? The rack is that after the first left pass."""

    arrivals: LaterArrivals = None
    limits: LimitsBody = Field(
        default_factory=lambda: LimitsBody(),
        description="Which hands count and how much; limits on the tiles of a pass do not hold here",
    )
    courtesy: int = Field(
        2,
        ge=0,
        le=PASS_SIZE,
        description="Tiles exchanged at the courtesy pass, which may follow either Charleston: the smaller"
        " wish of the two players decides",
    )
    samples: int = Field(DEFAULT_SAMPLES, ge=2, le=MAX_SAMPLES, description="Most samples to take")
    seed: Seed = Field(0, description="The same number gives the same samples")


class VoteWords(Answer):
    """The vote in words."""

    verdict: str
    stop: str
    go_on: str
    difference: str
    samples: str
    rule: str = Field(description="What a vote does")
    strength_note: str = Field(description="What rack strength is")


class VoteAnswer(Answer):
    """Both values and how sure the difference is."""

    verdict: Verdict
    stop: Number = Field(description="Mean expected hands at the end without a second Charleston")
    go_on: Number = Field(description="The same with one")
    difference: Number
    error: Number = Field(description="Standard error of the difference, from paired samples")
    samples: int
    words: VoteWords
    assumptions: AssumptionsBody = Field(
        description="With the arrivals and the limits that hold once the exchanges are over"
    )


class PlanRequest(QuestionRequest):
    """What goes now, and what goes next if nothing better comes?"""

    rounds: int = Field(2, ge=1, le=MAX_ROUNDS, description="Rounds to plan, as far as they can be played")


class PlannedWords(Answer):
    """One round of a plan in words."""

    round: str
    passed: str = Field(serialization_alias="pass")
    strength: str


class PlannedRoundBody(Answer):
    """One round of a plan."""

    round: Round | None = Field(description="null in a drill, where the heap is in any player's place")
    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number = Field(description="Within reach once these have gone")
    words: PlannedWords


class PlanProofBody(Answer):
    """How sure the plan is."""

    # Every plan is the best there is: the recursion is exact.
    status: Literal[Status.OPTIMAL] = Status.OPTIMAL
    gap: Number = 0.0
    resolution: Number = Field(description="Differences in the total up to this are rounding")


class PlanWords(Answer):
    """A plan in words."""

    proof: str
    note: str | None = Field(description="From which round on a second Charleston is assumed; null: none is")
    strength_note: str = Field(description="What rack strength is")


class PlanAnswer(Answer):
    """The rounds in order."""

    rounds: list[PlannedRoundBody]
    total: Number = Field(description="Sum of the rounds' expected hands, which the plan makes the most of")
    proof: PlanProofBody
    words: PlanWords


def check_incoming(question: Question, wanted: int) -> None:
    """Refuse to sample more incoming tiles than are unseen.

    Args:
        question: The question.
        wanted: Tiles that come in, in one sample.

    Raises:
        FaultyInputError: so many are not unseen.
    """
    naturals = question.situation.outlook.naturals
    if naturals < wanted:
        detail = f"{wanted} tiles come in: only {naturals} that are not jokers are unseen"
        raise FaultyInputError([Fault("range", ("seen",), detail)])


def _vote(task: Task) -> VoteAnswer:
    asked = question_of(task.written, task.cards, VoteRequest)
    question, body = asked.question, asked.body
    check_incoming(question, PASS_SIZE * len(SECOND_CHARLESTON) + body.courtesy)
    result = vote(
        question, courtesy=body.courtesy, samples=body.samples, seed=body.seed, stopper=task.stopper
    )
    return _vote_answer(result, question, asked.card_name)


def _vote_answer(result: Vote, question: Question, card_name: str) -> VoteAnswer:
    """Return the body of an answer; its assumptions are those that hold at the end of either way."""
    limits, arrivals = question.limits, question.situation.arrivals.after(0)
    which_hands = Limits.of(only=limits.only, without=limits.without, weights=limits.weights)
    return VoteAnswer(
        verdict=result.verdict,
        stop=result.stop,
        go_on=result.go_on,
        difference=result.difference,
        error=result.error,
        samples=result.samples,
        words=VoteWords(
            verdict=words.verdict_words(result),
            stop=f"{words.strength(result.stop)} when the passes are over",
            go_on=f"{words.strength(result.go_on)} when the passes are over",
            difference=words.difference_words(result),
            samples=words.samples_words(result.samples),
            rule=words.STOP_RULE,
            strength_note=words.STRENGTH_NOTE,
        ),
        assumptions=assumptions(
            replace(question, limits=which_hands), arrivals, None, card_name, exchanges=False
        ),
    )


def _rounds_to_plan(asked: Asked[PlanRequest]) -> int:
    """Return how many rounds to plan: those asked for, or by default no more than can still be played.

    Raises:
        FaultyInputError: more are asked for than can be played.
    """
    question, rounds = asked.question, asked.body.rounds
    left = len(ORDER) - ORDER.index(question.round)
    if question.drill is not None:
        left = question.drill.exchanges_left
    if rounds > left and "rounds" in asked.body.model_fields_set:
        raise FaultyInputError([Fault("range", ("rounds",), f"only {left} can still be played")])
    return min(rounds, left)


def _plan(task: Task) -> PlanAnswer:
    asked = question_of(task.written, task.cards, PlanRequest)
    return _plan_answer(plan(asked.question, _rounds_to_plan(asked), task.stopper), asked.question)


def _plan_answer(made: Plan, question: Question) -> PlanAnswer:
    begin = ORDER.index(question.round)
    names = ORDER[begin : begin + len(made.rounds)] if question.drill is None else ()
    return PlanAnswer(
        rounds=[
            PlannedRoundBody(
                round=names[turn] if names else None,
                passed=in_order(each.passed),
                expected_hands=each.expected,
                words=PlannedWords(
                    round=words.round_words(names[turn]) if names else words.turn_words(turn),
                    passed=words.tiles_words(each.passed),
                    strength=f"{words.strength(each.expected)} once these have gone",
                ),
            )
            for turn, each in enumerate(made.rounds)
        ],
        total=made.total,
        proof=PlanProofBody(resolution=made.resolution),
        words=PlanWords(
            proof=words.plan_proof_words(limited=bool(question.limits.on_pass)),
            note=words.second_charleston_words(names),
            strength_note=words.STRENGTH_NOTE,
        ),
    )


_VOTES: Final[dict[str, object]] = {
    "vote": {"rack": RACK, "card": "small", "seen": "9b 9c 9d", "samples": 8, "seed": 3}
}
_PLANS: Final[dict[str, object]] = {
    "two_rounds": {"rack": RACK, "round": "first_right", "card": "small", "rounds": 2}
}

OPERATIONS = (
    Operation(
        "/v1/votes",
        "votes",
        "ahead",
        "Stop after the first Charleston, or go on?",
        "Compare both by sampled incoming tiles, the same for both, with the best pass each time.\n\n"
        "The first Charleston is compulsory; any one player may stop the second, so this says whether to be"
        " the one who does. A courtesy pass may follow either.",
        _vote,
        takes=VoteRequest,
        gives=VoteAnswer,
        problems=(*WITH_A_BODY, Kind.NO_ANSWER),
        examples=_VOTES,
    ),
    Operation(
        "/v1/plans",
        "plans",
        "ahead",
        "What goes now, and what goes next",
        "Order one's own tiles over the next rounds, in case nothing better comes.",
        _plan,
        takes=PlanRequest,
        gives=PlanAnswer,
        problems=(*WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
        examples=_PLANS,
    ),
)
