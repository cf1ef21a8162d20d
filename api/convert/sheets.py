"""Racks to be answered from the wire, problems and their key to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pydantic import ValidationError

from api.cards import CardShelf, NamedCard
from api.convert.advice import call_body, in_order, versions
from api.convert.card_and_limits import CardAndLimits
from api.convert.deals import check_choice, chosen_deals
from api.convert.key_sentence import key_sentence
from api.convert.limits import limits_in_words
from api.convert.parts import Parts, allowed_effort, read_rack
from api.convert.question import arrivals_of, drill_of
from api.wire.deals import DealChoice
from api.wire.sheets import (
    GIVEN_UP,
    KEPT,
    MAX_RACKS,
    RUNNER_UPS,
    RackBody,
    SheetAnswer,
    SheetBody,
    SheetCard,
    SheetChoice,
    SheetHand,
    SheetLoss,
    SheetProblem,
    SheetRequest,
    SheetRunnerUp,
    SheetsAnswer,
    SheetVersions,
)
from patterns.card_file import faults_of
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Rack
from solver.advice import Advice
from solver.deals import DealWish, FoundDeal
from solver.limits import Limits
from solver.model import Status
from solver.rounds import Round
from solver.situation import Question

_OF_DEALS = tuple(DealChoice.model_fields)


@dataclass(frozen=True)
class AskedSheet:
    """What a request asks for: questions about racks of one's own, or else a wish for deals.

    Attributes:
        body: The request.
        named: The card.
        limits: The limits on every pass.
        questions: One a rack.
        wish: The wish, or None where there are questions.
    """

    body: SheetRequest
    named: NamedCard
    limits: Limits
    questions: tuple[Question, ...]
    wish: DealWish | None


def sheet_of(written: object, shelf: CardShelf, max_effort: float) -> AskedSheet:
    """Read a request for a sheet.

    Raises:
        FaultyInputError: every fault of every part.
    """
    parts = Parts(written)
    body = parts.shape(SheetRequest)
    rows = [_row(parts, index) for index in range(min(parts.length("racks"), MAX_RACKS))]
    both = CardAndLimits.read(parts, shelf)
    both.refuse_tiles(parts, "tiles that must stay or go are of one rack: a sheet has many")
    if body is None:
        raise FaultyInputError(parts.faults)
    limits, named = both.limits(parts, body.limits), both.named
    effort = allowed_effort(parts, body.effort, max_effort, named="effort" in body.model_fields_set)
    if body.racks is None:
        if body.seed is None:
            detail = "a seed deals racks; without one, send racks of your own"
            parts.faults.append(Fault("missing", ("seed",), detail))
        check_choice(parts, body, named, drill=body.drill is not None)
    else:
        for name in _OF_DEALS:
            if name in body.model_fields_set:
                detail = "it is for racks that are dealt, and racks of your own were sent"
                parts.faults.append(Fault("no-use", (name,), detail))
    questions = [
        _question(parts, named, limits, body, effort, index, row) for index, row in enumerate(rows) if row
    ]
    parts.check()
    assert named is not None  # or there would have been a fault
    wish = None if body.seed is None else _wish(named, limits, body, effort, body.seed)
    return AskedSheet(body, named, limits, tuple(each for each in questions if each), wish)


def _row(parts: Parts, index: int) -> tuple[Rack, Round | None] | None:
    """Read one rack of one's own, with its round if it names one."""
    whole = parts.part(("racks", index), lambda found: found)
    if not isinstance(whole, dict):
        rack = parts.part(("racks", index), read_rack)
        return None if rack is None else (rack, None)
    rack = parts.part(("racks", index, "rack"), read_rack)
    try:
        named = RackBody.model_validate(whole)
    except ValidationError as error:
        parts.faults += [fault.inside("racks", index) for fault in faults_of(error)]
        return None
    return None if rack is None else (rack, named.round)


def _question(
    parts: Parts,
    named: NamedCard | None,
    limits: Limits,
    body: SheetRequest,
    effort: float,
    index: int,
    row: tuple[Rack, Round | None],
) -> Question | None:
    rack, round_ = row
    if named is None:
        return None
    try:
        return Question(
            named.card,
            rack,
            round_ or body.round,
            arrivals=arrivals_of(body.arrivals),
            limits=limits,
            alternatives=RUNNER_UPS,
            drill=drill_of(body.drill),
        )
    except FaultyInputError as error:
        told = {(fault.kind, fault.place) for fault in parts.faults}
        for fault in error.faults:
            # What is not of a rack is the same for all of them.
            placed = fault.inside("racks", index) if fault.place[:1] == ("rack",) else fault
            if (placed.kind, placed.place) not in told:
                parts.faults.append(placed)
        return None


def _wish(named: NamedCard, limits: Limits, body: SheetRequest, effort: float, seed: int) -> DealWish:
    wish = chosen_deals(named, body, seed, drill_of(body.drill), limits, effort)
    return replace(wish, round=body.round, arrivals=arrivals_of(body.arrivals))


def own_sheet(asked: AskedSheet, advices: Sequence[Advice]) -> SheetsAnswer:
    """Return the sheet of racks of one's own, in their order.

    Args:
        asked: The request.
        advices: One a question, or none if no key is wanted.
    """
    problems = [
        SheetProblem(number=number, index=None, rack=list(question.rack.tiles), round=question.round)
        for number, question in enumerate(asked.questions, 1)
    ]
    return _sheet(asked, problems, advices, complete=True, tried=len(problems))


def dealt_sheet(asked: AskedSheet, found: Sequence[FoundDeal], tried: int) -> SheetsAnswer:
    """Return the sheet of deals."""
    body = asked.body
    problems = [
        SheetProblem(number=number, index=each.deal.index, rack=list(each.deal.rack.tiles), round=body.round)
        for number, each in enumerate(found, 1)
    ]
    advices = [each.advice for each in found] if body.key else []
    return _sheet(asked, problems, advices, complete=len(found) == body.count, tried=tried)


def _sheet(
    asked: AskedSheet, problems: list[SheetProblem], advices: Sequence[Advice], *, complete: bool, tried: int
) -> SheetsAnswer:
    body, computed = asked.body, versions()
    return SheetsAnswer(
        sheet=SheetBody(
            seed=body.seed,
            card=SheetCard(name=asked.named.name, title=asked.named.card.name),
            round=body.round,
            drill=body.drill,
            arrivals=body.arrivals,
            limits=limits_in_words(asked.limits),
            versions=SheetVersions(threepass=computed.threepass, ortools=computed.ortools),
            difficulty=None if asked.wish is None else body.difficulty,
            problems=problems,
            key=[_answer(number, advice) for number, advice in enumerate(advices, 1)],
            complete=complete,
            tried=tried,
        )
    )


def _answer(number: int, advice: Advice) -> SheetAnswer:
    call = call_body(advice)
    chosen = next(value for value in advice.by_number if value.give == len(advice.passed))
    return SheetAnswer(
        number=number,
        passed=in_order(advice.passed),
        blind=chosen.blind,
        expected_hands=advice.expected,
        proved=advice.proof.status is Status.OPTIMAL,
        gap=call.gap,
        call=call.word,
        runner_ups=[
            SheetRunnerUp(passed=in_order(other.passed), gap=other.gap) for other in advice.runner_ups
        ],
        by_number=[
            SheetChoice(
                give=value.give,
                blind=value.blind,
                passed=in_order(value.passed),
                gap=max(0.0, advice.expected - value.expected),
            )
            for value in advice.by_number
        ],
        hands=[
            SheetHand(
                name=each.hand.name, family=each.hand.family, reach=each.reach, tiles_away=each.tiles_away
            )
            for each in advice.hands[:KEPT]
        ],
        given_up=[
            SheetLoss(
                name=each.hand.name, family=each.hand.family, reach_before=each.before, reach=each.after
            )
            for each in advice.given_up[:GIVEN_UP]
        ],
        sentence=key_sentence(advice),
    )
