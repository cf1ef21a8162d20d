"""Looking ahead: the vote on the second Charleston, and plans over several rounds."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from pydantic import Field

from api import words
from api.answers.question import (
    Asked,
    AssumptionsBody,
    LaterArrivals,
    LimitsBody,
    QuestionRequest,
    SituationRequest,
    assumptions,
    question_of,
)
from api.operations import Task, operation
from api.problems import Kind
from api.reading import Answer, Number, Pass, Resolution, Seed, Spoken, Words
from patterns.faults import Fault, FaultyInputError
from solver.ahead import DEFAULT_SAMPLES, Verdict, vote
from solver.plan import MAX_ROUNDS, plan
from solver.price import planning, voting
from solver.rounds import ORDER, PASS_SIZE, SECOND_CHARLESTON, Round

MAX_SAMPLES = 100


class VoteRequest(SituationRequest):
    """Stop after the first Charleston, or go on? The rack is that after the first left pass."""

    arrivals: LaterArrivals = None
    limits: LimitsBody = Field(
        default_factory=LimitsBody,
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


class VoteChancesBody(Answer):
    """Chances of some hand as the courtesy pass is made."""

    stop: Number
    go_on: Number
    low: Number = Field(description="Going on has at least this chance, and")
    high: Number = Field(
        description="at most this: right at every look, however often one looks, in 19 of 20 votes"
    )


class VoteAnswer(Spoken):
    """Both values and how sure the difference is."""

    verdict: Verdict = Field(
        description="By the chance of some hand; called wrongly in one of twenty votes at most"
    )
    stop: Number = Field(description="Strength after the best courtesy pass without a second Charleston")
    go_on: Number = Field(description="The same with one, on average")
    difference: Number
    error: Number = Field(description="Standard error of the difference")
    some_hand: VoteChancesBody | None = Field(description="null where nothing was measured")
    samples: int
    assumptions: AssumptionsBody = Field(
        description="With the arrivals and the limits that hold once the exchanges are over"
    )

    def _said(self) -> Words:
        some = self.some_hand
        return {
            "verdict": words.VERDICTS[self.verdict.value],
            "stop": words.way_words(self.stop, None if some is None else some.stop),
            "go_on": words.way_words(self.go_on, None if some is None else some.go_on),
            "difference": words.difference_words(self.stop, self.go_on, self.error),
            "samples": f"{words.counted(self.samples, 'sample')}; {words.SAMPLES_NOTE}",
            "rule": words.STOP_RULE,
            "strength_note": words.STRENGTH_NOTES[self.assumptions.objective.value],
        }


class PlanRequest(QuestionRequest):
    """What goes now, and what goes next if nothing better comes?"""

    rounds: int = Field(2, ge=1, le=MAX_ROUNDS, description="Rounds to plan, as far as they can be played")


class PlannedRoundBody(Answer):
    """One round of a plan."""

    round: Round | None = Field(description="null in a drill, where the heap is in any player's place")
    passed: Pass = Field(serialization_alias="pass")
    strength: Number = Field(description="What the rack is worth once these have gone")
    expected_hands: Number = Field(validation_alias="expected")
    words: Words


class PlanProofBody(Answer):
    """How sure the plan is."""

    # Every plan is the best there is: the recursion is exact.
    status: Literal["optimal"] = "optimal"
    gap: Number = 0.0
    resolution: Resolution = Field(description="Differences in the total up to this are rounding")


class PlanAnswer(Answer):
    """The rounds in order."""

    rounds: list[PlannedRoundBody]
    total: Number = Field(description="Sum of the rounds' strength, which the plan makes the most of")
    proof: PlanProofBody
    words: Words


def _rounds_to_plan(asked: Asked[PlanRequest]) -> int:
    """Return how many rounds to plan; FaultyInputError if more are asked for than can still be played."""
    question, rounds = asked.question, asked.body.rounds
    left = len(ORDER) - ORDER.index(question.round)
    if question.drill is not None:
        left = question.drill.exchanges_left
    if rounds > left and "rounds" in asked.body.model_fields_set:
        raise FaultyInputError([Fault("range", ("rounds",), f"only {left} can still be played")])
    return min(rounds, left)


def _vote_asked(task: Task, shape: type[VoteRequest]) -> Asked[VoteRequest]:
    asked = question_of(task, shape)
    wanted = PASS_SIZE * len(SECOND_CHARLESTON) + asked.body.courtesy
    naturals = asked.question.situation.outlook.naturals
    if naturals < wanted:
        detail = f"{wanted} tiles come in: only {naturals} that are not jokers are unseen"
        raise FaultyInputError([Fault("range", ("seen",), detail)])
    return asked


@operation(
    "/v1/votes",
    VoteRequest,
    reads=_vote_asked,
    price=lambda asked: voting(asked.question, asked.body.samples),
)
def votes(asked: Asked[VoteRequest]) -> VoteAnswer:
    """Stop after the first Charleston, or go on?

    Both are compared by sampled incoming tiles, the same for both, with the best pass each time. The first
    Charleston is compulsory; any one player may stop the second, so this says whether to be the one who does.
    A courtesy pass may follow either.
    """
    question, body = asked.question, asked.body
    made = vote(question, courtesy=body.courtesy, samples=body.samples, seed=body.seed)
    arrivals = question.situation.arrivals.after(0)
    at_the_end = replace(question, limits=replace(question.limits, on_pass=()))
    assumed = assumptions(at_the_end, arrivals, None, asked.card_name, exchanges=False)
    some = VoteChancesBody.of(made, stop=made.stop.chance, go_on=made.go_on.chance)
    return VoteAnswer.of(
        made,
        stop=made.stop.value,
        go_on=made.go_on.value,
        some_hand=some if made.stop.measured else None,
        assumptions=assumed,
    )


@operation(
    "/v1/plans",
    PlanRequest,
    reads=question_of,
    price=lambda asked: planning(asked.question, _rounds_to_plan(asked)),
    problems=(Kind.LIMITS_CLASH,),
)
def plans(asked: Asked[PlanRequest]) -> PlanAnswer:
    """What goes now, and what goes next.

    An order for one's own tiles over the next rounds, in case nothing better comes.
    """
    question = asked.question
    made = plan(question, _rounds_to_plan(asked))
    within = " within your limits" if question.limits.on_pass else ""
    begin = ORDER.index(question.round)
    names = ORDER[begin : begin + len(made.rounds)] if question.drill is None else ()
    return PlanAnswer(
        rounds=[
            PlannedRoundBody.of(
                each,
                round=names[turn] if names else None,
                words={
                    "round": words.round_words(names[turn]) if names else words.turn_words(turn),
                    "pass": words.tiles_words(each.passed),
                    "strength": f"{words.strength(each.strength)} once these have gone",
                },
            )
            for turn, each in enumerate(made.rounds)
        ],
        total=made.total,
        proof=PlanProofBody(resolution=made.resolution),
        words={
            "proof": f"proved best{within}: no plan adds up to more",
            "note": words.second_charleston_words(names),
            "strength_note": words.STRENGTH_NOTES[question.objective.value],
        },
    )
