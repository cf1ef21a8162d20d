"""What should I pass? Advice, and whether the service lives and works."""

from __future__ import annotations

from dataclasses import replace
from time import perf_counter
from typing import Literal

from pydantic import AliasPath, Field

from api import words
from api.answers.question import (
    Asked,
    AssumedArrivals,
    AssumptionsBody,
    OddsBody,
    QuestionRequest,
    assumptions,
    fit_or_estimate,
    odds_of,
    question_of,
)
from api.operations import Task, bounded, itself, operation
from api.problems import Kind
from api.reading import Answer, Number, Pass, Resolution, Spoken, Tiles, Words
from patterns.card_file import MAX_HANDS
from patterns.tiles import Tile
from solver.advice import Advice, Closeness, advise
from solver.gives import receivers
from solver.passes import Valued
from solver.price import Price, advising, estimating, explaining, giving, total
from solver.rounds import RULES, Round
from solver.situation import MAX_ALTERNATIVES
from solver.why import sensitivity


class AdviceRequest(QuestionRequest):
    """What should I pass?"""

    alternatives: int = Field(2, ge=0, le=MAX_ALTERNATIVES, description="Runner-up passes wanted")
    hands: int = Field(10, ge=0, le=MAX_HANDS, description="How many kept and given-up hands to list")
    why: bool = Field(default=False, description="Whether to tell what each other tile would cost")
    gives_away: bool = Field(
        default=False, description="Whether to tell how much the pass helps whoever gets it"
    )
    mine: Tiles | None = Field(
        None, description="A pass of your own, to be held against the best; null: none"
    )


class ProofBody(Answer):
    """How sure the best pass is."""

    # Table and model agree on every pass that is given, or there is no answer.
    status: Literal["optimal"] = "optimal"
    bound: Number = Field(description="No pass that keeps the limits leaves more strength than this")
    gap: Number = Field(default=0.0, description="Bound less what the pass leaves")
    resolution: Resolution = Field(description="Differences up to this are not told apart")


class LimitsCostBody(Answer):
    """What the limits cost, against the best pass without them."""

    strength: Number
    expected_hands: Number = Field(
        validation_alias="expected", description="How many more that pass leaves; it may be fewer"
    )
    share: Number = Field(description="The strength as a share of the best pass without them")
    words: str


class _OfHand(Spoken):
    name: str = Field(validation_alias=AliasPath("hand", "name"))
    id: str = Field(validation_alias=AliasPath("hand", "id"), description="As `GET /v1/cards/{name}` has it")
    family: str = Field(validation_alias=AliasPath("hand", "family"))


class HandBody(_OfHand):
    """A hand that the pass keeps within reach, by its best target."""

    reach: Number = Field(description="Chance of completing the target, as it counts", ge=0, le=1)
    alone: Number | None = Field(
        description="Chance of completing the hand, by whichever of its targets is likeliest then, for a"
        " player who from now on goes for nothing else, as it came true in simulated games; null where `odds`"
        " say why, or when so little is unseen that play cannot last as long as it would",
        ge=0,
        le=1,
    )
    reach_before: Number = Field(
        validation_alias="before", description="The same with the whole rack", ge=0, le=1
    )
    tiles_away: int
    concealed: bool = Field(validation_alias=AliasPath("hand", "concealed"))
    target: list[Tile] = Field(
        validation_alias=AliasPath("target", "tiles"), description="The 14 tiles in the order of the card"
    )
    served_by: list[Tile]
    missing: list[Tile]
    jokers_used: int

    def _said(self) -> Words:
        same = words.percent(self.reach_before) == words.percent(self.reach)
        before = None if same else f"was {words.percent(self.reach_before)}"
        away = "complete" if not self.tiles_away else f"{words.counted(self.tiles_away, 'tile')} away"
        known = self.alone is not None and self.tiles_away > 0
        alone = f"{words.percent(self.alone or 0.0)} alone" if known else None
        return {
            "chance": words.percent(self.reach),
            "before": before,
            "alone": alone,
            "away": away,
            "jokers": f"{words.counted(self.jokers_used, 'joker')} used" if self.jokers_used else None,
            "concealed": "concealed" if self.concealed else None,
            "facts": ", ".join(filter(None, (away, before, alone))),
        }


class LossBody(_OfHand):
    """A hand that the pass makes less likely."""

    reach_before: Number = Field(validation_alias="before")
    reach: Number = Field(validation_alias="after")
    lost: Number

    def _said(self) -> Words:
        return {
            "lost": f"-{words.percent(self.lost)}",
            "from": words.percent(self.reach_before),
            "to": words.percent(self.reach),
        }


class AlternativeBody(Answer):
    """A runner-up pass."""

    passed: Pass = Field(serialization_alias="pass")
    strength: Number
    expected_hands: Number = Field(validation_alias="expected")
    gap: Number = Field(description="Strength that it costs against the best")
    words: Words


class ClosenessBody(Answer):
    """How close the choice is."""

    word: Closeness | None = Field(description="null: no alternatives were asked for")
    gap: Number | None = Field(description="The runner-up's gap")
    share: Number | None = Field(description="The gap as a share of the best pass's worth")
    words: str


class NumberBody(Answer):
    """The best pass of one number of own tiles."""

    give: int
    blind: int
    passed: Pass = Field(serialization_alias="pass")
    strength: Number
    expected_hands: Number = Field(validation_alias="expected")
    gain: Number = Field(description="Strength above that of the fewest compared")
    words: Words


class TileCostBody(Answer):
    """What it costs to give one tile, the rest of the pass chosen best."""

    tile: Tile
    passed: Pass | None = Field(serialization_alias="pass", description="null: the limits allow none")
    strength: Number | None
    expected_hands: Number | None = Field(validation_alias="expected")
    cost: Number | None = Field(description="Strength that it costs against the best")
    words: Words


class FamilyBody(Spoken):
    """How much of the rack strength the hands of a family have."""

    name: str
    before: Number = Field(description="Share with the whole rack", ge=0, le=1)
    after: Number = Field(description="Share after the pass", ge=0, le=1)

    def _said(self) -> Words:
        return {"before": words.percent(self.before), "after": words.percent(self.after)}


class KeepBody(Answer):
    """What a kind of tile of the rack is worth to keep."""

    tile: Tile
    loss: Number | None = Field(
        description="Strength that the best pass with it costs against the best; null: your limits allow none"
    )
    share: Number | None = Field(description="The same as a share of the best")
    words: Words


class ComparedHandBody(Answer):
    """A hand that one of two passes keeps better."""

    name: str = Field(validation_alias=AliasPath("hand", "name"))
    family: str = Field(validation_alias=AliasPath("hand", "family"))
    reach_best: Number = Field(validation_alias="before", description="After the best pass")
    reach: Number = Field(validation_alias="after", description="After your own")


class OwnPassBody(Answer):
    """A pass of the asker's own, held against the best."""

    passed: Pass = Field(serialization_alias="pass")
    strength: Number
    expected_hands: Number = Field(validation_alias="expected")
    gap: Number = Field(
        description="Strength that it costs against the best; below 0: better, but not within your limits"
    )
    share: Number = Field(description="The same as a share of the best")
    rank: int = Field(description="Its place among all passes, whatever the limits; 1 is best")
    places: int = Field(
        validation_alias="of", serialization_alias="of", description="How many passes there are"
    )
    keeps: list[ComparedHandBody] = Field(description="Hands that it keeps better, at most three")
    loses: list[ComparedHandBody] = Field(description="Hands that the best pass keeps better, at most three")
    within_limits: bool
    words: Words


class SensitivityBody(Answer):
    """The answer under fewer or more draws and claims."""

    share: Number
    arrivals: AssumedArrivals
    passed: Pass = Field(serialization_alias="pass")
    same: bool
    regret: Number = Field(description="Strength by which the advised pass is then behind")
    words: str


class WhyBody(Answer):
    """Why this pass."""

    costs: list[TileCostBody]
    sensitivity: list[SensitivityBody]
    sentence: str


class GivesAwayBody(Answer):
    """How much stronger the pass makes the rack of whoever gets it, on average; her rack is not known."""

    gain: Number = Field(description="Share by which her rack strength grows, on racks dealt for it", ge=0)
    usual: Number = Field(description="The same of three tiles as others pass them", ge=0)
    words: str


class AdviceAnswer(Answer):
    """The best pass, what it keeps, what it gives up, and how close the choice is."""

    passed: Pass = Field(serialization_alias="pass")
    strength: Number = Field(
        description="Rack strength after the pass: what the objective makes the most of; people read it"
        " times 1,000"
    )
    strength_before: Number = Field(description="The same for the whole rack")
    expected_hands: Number = Field(
        description="The plain sum of reach after the pass, each hand by its weight"
    )
    expected_hands_before: Number = Field(description="The same for the whole rack")
    some_hand: Number | None = Field(
        description="Chance of completing some hand that counts, as it came true in simulated games; null"
        " where `odds` say why",
        ge=0,
        le=1,
    )
    odds: OddsBody
    proof: ProofBody
    limits_cost: LimitsCostBody | None = Field(description="null: no limits on the pass")
    hands: list[HandBody] = Field(description="Likeliest first; as many as asked for")
    hands_in_reach: int = Field(description="How many hands have any reach left")
    given_up: list[LossBody] = Field(description="What counts most first; as many as asked for")
    alternatives: list[AlternativeBody]
    closeness: ClosenessBody
    by_number: list[NumberBody] = Field(description="One entry where the number is given or leaves no choice")
    why: WhyBody | None
    gives_away: GivesAwayBody | None = Field(description="null: not asked for, or a drill")
    mine: OwnPassBody | None = Field(description="null: the question has no pass of your own")
    families: list[FamilyBody] = Field(description="The direction of the rack; the greatest share first")
    keep: list[KeepBody] = Field(
        description="What each kind of tile that may go is worth to keep, by passes as large as the best"
    )
    rack: list[Tile] = Field(description="The rack in the fixed order of tiles")
    round: Round
    words: Words
    assumptions: AssumptionsBody


def closeness_body(advice: Advice) -> ClosenessBody:
    """Say how close the choice is."""
    gap = advice.behind(advice.runner_ups[0]) if advice.runner_ups else None
    share = gap / advice.strength if gap is not None and advice.strength > 0 else None
    return ClosenessBody(word=advice.closeness, gap=gap, share=share, words=words.closeness_words(advice))


def _words_of(value: Valued, advice: Advice, blind: int = 0) -> Words:
    return {
        "pass": words.tiles_words(value.passed, blind),
        "strength": words.strength(value.strength),
        "loss": words.loss(advice.behind(value), advice.strength),
    }


def _alternative(other: Valued, advice: Advice) -> AlternativeBody:
    # As many go on unseen as with the best.
    return AlternativeBody.of(other, gap=advice.behind(other), words=_words_of(other, advice, advice.blind))


def _number(value: Valued, advice: Advice) -> NumberBody:
    give, blind = len(value.passed), advice.question.blind_beside(value.passed)
    gain = value.strength - advice.by_number[0].strength
    said = {"give": f"{give} and {blind} blind" if blind else str(give), **_words_of(value, advice)}
    if give == len(advice.passed):
        said["loss"] = "best"
    return NumberBody.of(value, give=give, blind=blind, gain=gain, words=said)


def _keep(tile: Tile, advice: Advice) -> KeepBody:
    best = advice.with_each[tile]
    loss = None if best is None else advice.behind(best)
    share = None if loss is None else loss / advice.strength if advice.strength > 0 else 0.0
    worth = words.keep_words(share, passed=tile in advice.passed)
    return KeepBody(tile=tile, loss=loss, share=share, words={"worth": worth})


def _why(advice: Advice) -> WhyBody:
    hangs_on = sensitivity(advice.question, advice.passed)
    return WhyBody(
        costs=[_cost(tile, best, advice) for tile, best in advice.with_each.items()],
        sensitivity=[SensitivityBody.of(each, words=words.sensitivity_words(each)) for each in hangs_on],
        sentence=words.why_sentence(advice, hangs_on),
    )


def _gives_away(advice: Advice) -> GivesAwayBody:
    objective, who = advice.question.objective, receivers(advice.question.card)
    gain, usual = who.gain(advice.passed, objective), who.usual[objective]
    direction = RULES[advice.question.round].direction
    return GivesAwayBody(gain=gain, usual=usual, words=words.gives_away_words(gain, usual, direction))


def _cost(tile: Tile, best: Valued | None, advice: Advice) -> TileCostBody:
    said = {"tile": tile.word, "loss": words.cost_words(best, advice), "pass": None}
    if best is None:
        nothing = dict.fromkeys(("passed", "strength", "expected", "cost"))
        return TileCostBody.of(None, tile=tile, words=said, **nothing)
    said["pass"] = words.tiles_words(best.passed)
    return TileCostBody.of(best, tile=tile, cost=advice.behind(best), words=said)


class Alive(Answer):
    """The process answers."""

    status: Literal["alive"] = "alive"


class Ready(Answer):
    """A real small solve went well."""

    status: Literal["ready"] = "ready"
    solve_ms: int = Field(description="Milliseconds that the solve took", ge=0)


def _price(asked: Asked[AdviceRequest]) -> Price:
    parts = [advising(asked.question), estimating(asked.question)]
    if asked.body.why:
        parts.append(explaining(asked.question))
    if asked.body.gives_away:
        parts.append(giving(asked.question))
    return total(parts).by(("alternatives",), words.counted(asked.body.alternatives, "runner-up"))


@operation("/v1/advice", AdviceRequest, reads=question_of, price=_price, problems=(Kind.LIMITS_CLASH,))
def advice(asked: Asked[AdviceRequest]) -> AdviceAnswer:
    """The best pass for a rack.

    The pass that leaves the most rack strength, with proof and reasons. The same question gives
    the same bytes, whatever the order of its tiles.
    """
    question, body = replace(asked.question, fit=fit_or_estimate(asked.question)), asked.body
    made = advise(question)
    hands, cost, mine = made.hands[: body.hands], made.limits_cost, made.mine
    before, closeness = made.hands.before, closeness_body(made)
    return AdviceAnswer.of(
        made,
        strength_before=before.strength,
        expected_hands=made.expected,
        expected_hands_before=before.expected,
        some_hand=made.hands.some_hand,
        odds=odds_of(question),
        proof=ProofBody(bound=made.strength, resolution=made.resolution),
        limits_cost=None
        if cost is None
        else LimitsCostBody.of(cost, words=f"your limits cost {words.limits_cost(cost)}"),
        hands=hands,
        hands_in_reach=len(made.hands),
        given_up=made.given_up[: body.hands],
        alternatives=[_alternative(other, made) for other in made.runner_ups],
        closeness=closeness,
        by_number=[_number(value, made) for value in made.by_number],
        why=_why(made) if body.why else None,
        gives_away=_gives_away(made) if body.gives_away and question.drill is None else None,
        mine=None
        if mine is None
        else OwnPassBody.of(mine, within_limits=not mine.breaks, words=words.own_pass_words(mine, made)),
        keep=[_keep(tile, made) for tile in made.with_each],
        rack=question.rack.tiles,
        round=question.round,
        words={
            "round": words.round_words(question.round),
            "pass": words.tiles_words(made.passed, made.blind),
            "strength": words.strength_words(before.strength, made.strength),
            "strength_note": words.STRENGTH_NOTES[question.objective.value],
            "some_hand": words.some_hand_words(made.hands.some_hand, question.fit),
            "proof": words.proof_words(made),
            "closeness": closeness.words,
            "kept": words.kept_words(len(hands), len(made.hands), len(question.card.hands)),
            "alone_note": words.ALONE_NOTE if any(hand.alone is not None for hand in hands) else None,
        },
        assumptions=assumptions(question, made.arrivals, made.hands.odds, asked.card_name),
    )


@operation("/livez", reads=itself, price=bounded, at_once=True)
def alive(_task: Task) -> Alive:
    """Alive?

    Answers as soon as the process can.
    """
    return Alive()


@operation("/readyz", reads=itself, price=bounded)
def ready(task: Task) -> Ready:
    """Ready?

    Solves one small question in the same queue as everything else, and tells how long it took.
    """
    begun = perf_counter()
    rack = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J"
    body = {"rack": rack, "round": "first_right", "card": "small"}
    advise(question_of(replace(task, written=body), AdviceRequest).question)
    return Ready(solve_ms=round((perf_counter() - begun) * 1000))
