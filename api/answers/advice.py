"""What should I pass? Advice, and whether the service lives and works."""

from __future__ import annotations

from time import perf_counter
from typing import Final, Literal

from pydantic import Field

from api import words
from api.answers.cards import OWN_CARD
from api.answers.question import (
    RACK,
    Asked,
    AssumedArrivals,
    AssumptionsBody,
    QuestionRequest,
    assumed_arrivals,
    assumptions,
    question_of,
)
from api.operations import WITH_A_BODY, Operation, Task
from api.problems import Kind
from api.reading import Answer, Number
from api.words import in_order
from patterns.card_file import MAX_HANDS
from patterns.tiles import Tile
from solver.advice import Advice, Closeness, advise
from solver.model import Status
from solver.rounds import Round
from solver.why import HandLoss, HandStanding, Why, why


class AdviceRequest(QuestionRequest):
    """What should I pass?"""

    hands: int = Field(10, ge=0, le=MAX_HANDS, description="How many kept and given-up hands to list")
    why: bool = Field(default=False, description="Whether to tell what each other tile would cost")


class ProofBody(Answer):
    """How sure the best pass is."""

    status: Status
    bound: Number = Field(description="No pass that keeps the limits is worth more expected hands than this")
    gap: Number = Field(description="Bound less what the pass is worth; 0 when optimal")
    resolution: Number = Field(description="Differences up to this are not told apart")


class LimitsCostBody(Answer):
    """What the limits cost, against the best pass without them."""

    expected_hands: Number
    share: Number = Field(description="The same as a share of the best pass without them")
    words: str


class HandWords(Answer):
    """A hand within reach in words."""

    chance: str
    before: str | None = Field(description="Its chance with the whole rack; null where that reads the same")
    alone: str | None
    away: str
    jokers: str | None
    concealed: str | None
    facts: str = Field(description="Tiles away, and the chance before and alone, joined")


class HandBody(Answer):
    """A hand that the pass keeps within reach, by its best target."""

    name: str
    family: str
    reach: Number = Field(description="Chance of completing the target, as it counts in the sum", ge=0, le=1)
    alone: Number | None = Field(
        description="Chance of completing the target for a player who from now on goes for nothing else, as"
        " it came true in simulated games; null in a drill, when arrivals were named, or when so little is"
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
    words: HandWords


class LossWords(Answer):
    """A loss in words."""

    lost: str
    before: str = Field(serialization_alias="from")
    after: str = Field(serialization_alias="to")


class LossBody(Answer):
    """A hand that the pass makes less likely."""

    name: str
    family: str
    reach_before: Number
    reach: Number
    lost: Number
    words: LossWords


class OtherWords(Answer):
    """Another pass in words."""

    passed: str = Field(serialization_alias="pass")
    strength: str
    loss: str


class AlternativeBody(Answer):
    """A runner-up pass."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    gap: Number = Field(description="Expected hands that it costs against the best")
    words: OtherWords


class ClosenessBody(Answer):
    """How close the choice is."""

    word: Closeness | None = Field(description="null: no alternatives were asked for, or none was found")
    gap: Number | None = Field(description="The runner-up's gap")
    share: Number | None = Field(description="The gap as a share of the best pass's worth")
    words: str


class NumberWords(OtherWords):
    """The best pass of one number in words."""

    give: str


class NumberBody(Answer):
    """The best pass of one number of own tiles."""

    give: int
    blind: int
    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number
    gain: Number = Field(description="Expected hands above those of the fewest compared")
    words: NumberWords


class CostWords(Answer):
    """The cost of a tile in words."""

    tile: str
    loss: str
    passed: str | None = Field(serialization_alias="pass")


class TileCostBody(Answer):
    """What it costs to give one tile, the rest of the pass chosen best."""

    tile: Tile
    passed: list[Tile] | None = Field(serialization_alias="pass", description="null: the limits allow none")
    expected_hands: Number | None
    cost: Number | None
    words: CostWords


class SensitivityBody(Answer):
    """The answer under fewer or more draws and claims."""

    share: Number
    arrivals: AssumedArrivals
    passed: list[Tile] = Field(serialization_alias="pass")
    same: bool
    regret: Number = Field(description="How far the advised pass is then behind")
    words: str


class WhyBody(Answer):
    """Why this pass."""

    costs: list[TileCostBody]
    sensitivity: list[SensitivityBody]
    sentence: str


class AdviceWords(Answer):
    """The answer in words."""

    round: str
    passed: str = Field(serialization_alias="pass")
    strength: str = Field(description="Rack strength before and after")
    strength_note: str = Field(description="What rack strength is")
    some_hand: str | None
    proof: str
    closeness: str
    kept: str
    alone_note: str | None = Field(description="What `alone` is, where a hand listed has it")


class AdviceAnswer(Answer):
    """The best pass, what it keeps, what it gives up, and how close the choice is."""

    passed: list[Tile] = Field(serialization_alias="pass")
    expected_hands: Number = Field(description="Rack strength: weighted hands within reach after the pass")
    expected_hands_before: Number = Field(description="The same for the whole rack")
    some_hand: Number | None = Field(
        description="Chance of completing some hand that counts, as measured in simulated games; null in a"
        " drill or when arrivals were named",
        ge=0,
        le=1,
    )
    proof: ProofBody
    limits_cost: LimitsCostBody | None = Field(description="null: no limits on the pass")
    hands: list[HandBody] = Field(description="Likeliest first; as many as asked for")
    hands_in_reach: int = Field(description="How many hands have any reach left")
    given_up: list[LossBody] = Field(description="Greatest loss first; as many as asked for")
    alternatives: list[AlternativeBody]
    closeness: ClosenessBody
    by_number: list[NumberBody] = Field(description="One entry where the number is given or leaves no choice")
    why: WhyBody | None
    rack: list[Tile] = Field(description="The rack in the fixed order of tiles")
    round: Round
    words: AdviceWords
    assumptions: AssumptionsBody


def advice_answer(advice: Advice, asked: Asked[AdviceRequest], reasons: Why | None) -> AdviceAnswer:
    """Return the body of an answer.

    Args:
        advice: The advice.
        asked: What was asked.
        reasons: Why, if that was asked for.
    """
    question, proof, shown = advice.question, advice.proof, asked.body.hands
    hands = [hand_body(standing) for standing in advice.hands[:shown]]
    closeness = closeness_body(advice)
    return AdviceAnswer(
        passed=in_order(advice.passed),
        expected_hands=advice.expected,
        expected_hands_before=advice.expected_before,
        some_hand=advice.hands.some_hand,
        proof=ProofBody(status=proof.status, bound=proof.bound, gap=proof.gap, resolution=proof.resolution),
        limits_cost=_limits_cost(advice),
        hands=hands,
        hands_in_reach=len(advice.hands),
        given_up=[_loss(loss) for loss in advice.given_up[:shown]],
        alternatives=_alternatives(advice),
        closeness=closeness,
        by_number=_by_number(advice),
        why=None if reasons is None else _why(reasons, advice),
        rack=list(question.rack.tiles),
        round=question.round,
        words=AdviceWords(
            round=words.round_words(question.round),
            passed=words.tiles_words(advice.passed, _blind(advice)),
            strength=words.strength_words(advice.expected_before, advice.expected),
            strength_note=words.STRENGTH_NOTE,
            some_hand=words.some_hand_words(advice.hands.some_hand),
            proof=words.proof_words(advice),
            closeness=closeness.words,
            kept=words.kept_words(len(hands), len(advice.hands), len(question.card.hands)),
            alone_note=words.ALONE_NOTE if any(hand.words.alone for hand in hands) else None,
        ),
        assumptions=assumptions(question, advice.arrivals, advice.hands.arrivals_alone, asked.card_name),
    )


def _blind(advice: Advice) -> int:
    return next(value.blind for value in advice.by_number if value.give == len(advice.passed))


def _limits_cost(advice: Advice) -> LimitsCostBody | None:
    cost = advice.limits_cost
    if cost is None:
        return None
    return LimitsCostBody(expected_hands=cost.expected, share=cost.share, words=words.limits_cost_words(cost))


def _alternatives(advice: Advice) -> list[AlternativeBody]:
    # Runner-ups give as many tiles as the best, so as many go on unseen.
    blind = _blind(advice)
    return [
        AlternativeBody(
            passed=in_order(other.passed),
            expected_hands=other.expected,
            gap=other.gap,
            words=OtherWords(
                passed=words.tiles_words(other.passed, blind),
                strength=words.strength(other.expected),
                loss=words.loss(other.gap, advice.expected),
            ),
        )
        for other in advice.runner_ups
    ]


def _by_number(advice: Advice) -> list[NumberBody]:
    return [
        NumberBody(
            give=value.give,
            blind=value.blind,
            passed=in_order(value.passed),
            expected_hands=value.expected,
            gain=value.gain,
            words=NumberWords(
                give=words.number_words(value.give, value.blind),
                passed=words.tiles_words(value.passed),
                strength=words.strength(value.expected),
                loss="best"
                if value.give == len(advice.passed)
                else words.loss(max(0.0, advice.expected - value.expected), advice.expected),
            ),
        )
        for value in advice.by_number
    ]


def _why(reasons: Why, advice: Advice) -> WhyBody:
    return WhyBody(
        costs=[
            TileCostBody(
                tile=cost.tile,
                passed=None if cost.passed is None else in_order(cost.passed),
                expected_hands=cost.expected,
                cost=cost.cost,
                words=CostWords(
                    tile=cost.tile.word,
                    loss=words.cost_words(cost, advice.passed, advice.expected),
                    passed=None if cost.passed is None else words.tiles_words(cost.passed),
                ),
            )
            for cost in reasons.costs
        ],
        sensitivity=[
            SensitivityBody(
                share=each.share,
                arrivals=assumed_arrivals(each.arrivals),
                passed=in_order(each.passed),
                same=each.same,
                regret=each.regret,
                words=words.sensitivity_words(each),
            )
            for each in reasons.sensitivity
        ],
        sentence=words.why_sentence(reasons, advice.expected),
    )


def hand_body(standing: HandStanding) -> HandBody:
    """Return how a hand stands."""
    jokers = standing.jokers_used
    before = words.was_words(standing.before, standing.reach)
    alone, away = words.alone_words(standing), words.away_words(standing.tiles_away)
    return HandBody(
        name=standing.hand.name,
        family=standing.hand.family,
        reach=standing.reach,
        alone=standing.alone,
        reach_before=standing.before,
        tiles_away=standing.tiles_away,
        concealed=standing.hand.concealed,
        target=[group.tile for group in standing.target.groups for _ in range(group.count)],
        served_by=list(standing.served_by),
        missing=list(standing.missing),
        jokers_used=jokers,
        words=HandWords(
            chance=words.percent(standing.reach),
            before=before,
            alone=alone,
            away=away,
            jokers=f"{words.counted(jokers, 'joker')} used" if jokers else None,
            concealed="concealed" if standing.hand.concealed else None,
            facts=", ".join(filter(None, (away, before, alone))),
        ),
    )


def _loss(loss: HandLoss) -> LossBody:
    lost = loss.before - loss.after
    return LossBody(
        name=loss.hand.name,
        family=loss.hand.family,
        reach_before=loss.before,
        reach=loss.after,
        lost=lost,
        words=LossWords(
            lost=f"-{words.percent(lost)}",
            before=words.percent(loss.before),
            after=words.percent(loss.after),
        ),
    )


def closeness_body(advice: Advice) -> ClosenessBody:
    """Say how close the choice is."""
    gap = advice.runner_ups[0].gap if advice.runner_ups else None
    share = gap / advice.expected if gap is not None and advice.expected > 0 else None
    return ClosenessBody(word=advice.closeness, gap=gap, share=share, words=words.closeness_words(advice))


class Alive(Answer):
    """The process answers."""

    status: Literal["alive"] = "alive"


class Ready(Answer):
    """A real small solve went well."""

    status: Literal["ready"] = "ready"
    solve_ms: int = Field(description="Milliseconds that the solve took", ge=0)


def _advice(task: Task) -> AdviceAnswer:
    asked = question_of(task.written, task.cards, AdviceRequest)
    advice = advise(asked.question, task.stopper)
    reasons = why(advice.question, advice.passed, task.stopper) if asked.body.why else None
    return advice_answer(advice, asked, reasons)


def _ready(task: Task) -> Ready:
    begun = perf_counter()
    body = {"rack": RACK, "round": "first_right", "card": "small"}
    advise(question_of(body, task.cards, AdviceRequest).question, task.stopper)
    return Ready(solve_ms=round((perf_counter() - begun) * 1000))


_EXAMPLES: Final[dict[str, object]] = {
    "first_right": {"rack": RACK, "round": "first_right"},
    "with_limits": {
        "rack": RACK.split(),
        "round": "courtesy",
        "give": 2,
        "card": "small",
        "seen": ["9b", "white"],
        "limits": {"stay": "F F", "without": {"traits": ["pairs-only"]}, "no_pairs": True},
        "alternatives": 4,
    },
    "own_arrivals": {
        "rack": RACK,
        "round": "second_right",
        "give": 1,
        "card": "small",
        "arrivals": {"charleston": 1, "draws": 12, "claims": 20},
        "hands": 3,
    },
    "own_card": {"rack": RACK, "round": "first_left", "card": OWN_CARD},
    "with_reasons": {
        "rack": RACK,
        "round": "first_across",
        "card": "small",
        "drill": {"exchanges_left": 2, "then_draws": 8},
        "why": True,
    },
}

OPERATIONS = (
    Operation(
        "/v1/advice",
        "advice",
        "advice",
        "The best pass for a rack",
        "Return the pass that keeps the most expected hands within reach, with proof and reasons.\n\n"
        "The same question gives the same bytes, whatever the order of its tiles.",
        _advice,
        takes=AdviceRequest,
        gives=AdviceAnswer,
        problems=(*WITH_A_BODY, Kind.LIMITS_CLASH, Kind.NO_ANSWER),
        examples=_EXAMPLES,
    ),
    Operation(
        "/livez",
        "alive",
        "health",
        "Alive?",
        "Answer as soon as the process can.",
        lambda _: Alive(),
        gives=Alive,
        example={"status": "alive"},
        at_once=True,
    ),
    Operation(
        "/readyz",
        "ready",
        "health",
        "Ready?",
        "Solve one small question in the same queue as everything else, and tell how long it took.",
        _ready,
        gives=Ready,
        problems=(Kind.BUSY, Kind.NO_ANSWER),
        example={"status": "ready", "solve_ms": 25},
    ),
)
