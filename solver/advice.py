"""Advice: the one road from a question to its answer, by the table of all passes and by the model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from itertools import islice

from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.arrivals import Arrivals
from solver.limits import Limit
from solver.model import MismatchError, PassModel, around, clash_of
from solver.passes import PassTable, Score, Valued
from solver.situation import Objective, Question
from solver.why import (
    FamilyShare,
    HandLoss,
    Standings,
    best_with_each,
    family_shares,
    hand_losses,
    reasons,
)

# A hand that lost no more than this is not worth naming among those given up.
_NOTEWORTHY_LOSS = 1e-6
# Close below the first, clear from the second on. By strength about two in five of random racks are closer
# than the first (42 %), one in five further apart than the second (21 %; 400 racks on each practice card);
# the bounds of the sum were set likewise on earlier cards.
_BOUNDS = {Objective.STRENGTH: (0.01, 0.04), Objective.SUM: (0.005, 0.02)}


class Closeness(Enum):
    """How close the choice is, by the runner-up's gap as a share of the best pass's strength.

    Exact, as the proof is: of every pass that is named model and table agree, or there is no answer.
    """

    ONLY = "only pass"
    TOSS_UP = "toss-up"
    CLOSE = "close"
    FAIR = "fair"
    CLEAR = "clear"


@dataclass(frozen=True)
class LimitsCost:
    """By how much the best pass without the limits is better than the best within them.

    Strength is told as a share of the better one, too, 0 when that is worth nothing; of expected hands it may
    leave fewer.
    """

    strength: float
    expected: float
    share: float


@dataclass(frozen=True)
class OwnPass(Valued):
    """A pass of the asker's own, held against the best.

    Attributes:
        gap: How much less strength it leaves; below 0 where the limits rule it out and it is better.
        share: The same as a share of the best; 0 when that is worth nothing.
        rank: Its place among all ``of`` passes compared, whatever the limits; passes alike have one place.
        keeps: The few hands that it keeps better than the best pass, what counts most first.
        loses: Those that the best pass keeps better; of both, ``after`` is their reach after this pass.
        breaks: Limits that it does not keep.
    """

    gap: float
    share: float
    rank: int
    of: int
    keeps: tuple[HandLoss, ...]
    loses: tuple[HandLoss, ...]
    breaks: tuple[Limit, ...]


@dataclass(frozen=True)
class Advice(Valued):
    """The answer to a question: no pass within the limits leaves more strength than the one it names.

    Attributes:
        resolution: Differences in strength up to this are rounding.
        hands: Every hand that counts and has any reach left.
        given_up: Hands made less likely, what counts most first.
        runner_ups: The next best passes, in order.
        by_number: The best pass of each number of own tiles compared, ascending.
        with_each: As of `best_with_each`.
    """

    question: Question
    resolution: float
    hands: Standings
    given_up: tuple[HandLoss, ...]
    runner_ups: tuple[Valued, ...]
    arrivals: Arrivals
    by_number: tuple[Valued, ...]
    limits_cost: LimitsCost | None
    with_each: Mapping[Tile, Valued | None]
    families: tuple[FamilyShare, ...]
    mine: OwnPass | None

    @property
    def blind(self) -> int:
        """Incoming tiles passed on unseen beside it, 0-3."""
        return self.question.blind_beside(self.passed)

    @property
    def closeness(self) -> Closeness | None:
        """How close the choice is; None when no runner-up was asked for."""
        if not self.runner_ups:
            return Closeness.ONLY if self.question.alternatives else None
        gap = self.behind(self.runner_ups[0])
        if gap <= self.resolution:
            return Closeness.TOSS_UP
        share, (close, fair) = gap / self.strength, _BOUNDS[self.question.objective]
        return Closeness.CLOSE if share < close else Closeness.FAIR if share < fair else Closeness.CLEAR

    def behind(self, other: Valued) -> float:
        """Return how much less strength another pass leaves."""
        return max(0.0, self.strength - other.strength)


class ClashError(Exception):
    """No pass keeps all limits; ``clashing`` are limits that contradict one another."""

    def __init__(self, clashing: tuple[Limit, ...]) -> None:
        self.clashing = clashing
        super().__init__("no pass keeps all of: " + "; ".join(limit.says for limit in clashing))


def advise(question: Question, *, diagnose: bool = True) -> Advice:
    """Return the best pass within the limits, found by the model and by the table, with what it keeps.

    Where the round lets a player give fewer than three (blind or courtesy) and the question leaves the
    number open, every number is solved with the arrivals it leaves, and the best returned; of equals,
    the one that gives more. Numbers at which the limits contradict are left out; which limits clash at all of
    them is worked out if asked.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
        ClashError: the limits contradict, at every number of tiles.
        StoppedError: the work is to end.
        MismatchError: table and model do not agree.
    """
    limits, wanted = question.limits.on_pass, question.alternatives + 1
    answered: list[tuple[PassTable, list[int]]] = []
    clashing: tuple[Limit, ...] = ()
    compared: dict[int, PassTable] = {}
    for give in question.numbers_to_compare:
        check_stop()
        table = compared[give] = PassTable.of(question.giving(give))
        best = list(islice(table.ranked(limits), wanted))
        if best:
            _confirm(table, best, wanted, limits)
            answered.append((table, best))
        elif diagnose:
            clashing = clash_of(table, limits)
    if not answered:
        raise ClashError(clashing)
    by_number = tuple(table.valued(best[0]) for table, best in answered)
    most = max(by_number, key=lambda value: (value.strength, len(value.passed)))
    table, best = answered[by_number.index(most)]
    after = table.score(best[0])
    odds = question.giving(len(most.passed)).odds
    return Advice(
        *most.parts,
        question,
        table.resolution,
        Standings(table.situation, table.tables, table.before, after, odds),
        tuple(loss for _, loss in hand_losses(question, table.before, after) if loss.lost > _NOTEWORTHY_LOSS),
        tuple(table.valued(other) for other in best[1:]),
        table.situation.arrivals,
        by_number,
        _limits_cost(compared, most) if limits else None,
        best_with_each(table, limits, best[0]),
        family_shares(table, after),
        None if question.mine is None else _own_pass(question, question.mine, compared, most, after),
    )


def _limits_cost(compared: Mapping[int, PassTable], best: Valued) -> LimitsCost:
    tops = [table.valued(int(table.order[0])) for table in compared.values()]
    unlimited = max(tops, key=lambda top: (top.strength, top.expected))
    lost = max(0.0, unlimited.strength - best.strength)
    share = lost / unlimited.strength if unlimited.strength > 0 else 0.0
    return LimitsCost(lost, unlimited.expected - best.expected, share)


def _own_pass(
    question: Question, mine: tuple[Tile, ...], compared: Mapping[int, PassTable], best: Valued, after: Score
) -> OwnPass:
    """Hold a pass of the asker's own against the best, and what that leaves."""
    table = compared[len(mine)]
    index = table.index_of(mine)
    value, made = table.valued(index), table.score(index)
    gap = best.strength - value.strength
    if abs(gap) <= table.resolution:
        gap = 0.0
    better = sum(int((each.strength > value.strength + table.resolution).sum()) for each in compared.values())
    return OwnPass(
        *value.parts,
        gap,
        gap / best.strength if best.strength > 0 else 0.0,
        better + 1,
        sum(len(each.masks) for each in compared.values()),
        tuple(HandLoss(each.hand, each.after, each.before) for each in reasons(question, made, after)),
        reasons(question, after, made),
        tuple(limit for limit in question.limits.on_pass if not table.keeps(index, (limit,))),
    )


def _confirm(table: PassTable, best: list[int], wanted: int, limits: tuple[Limit, ...]) -> None:
    """Hold the best passes under limits against those that the model picks, one after another.

    Of equals the model may pick any; the table names the first in the order of tiles. Where the limits leave
    fewer passes than wanted, the model has to find so too.
    """
    model = PassModel(table, around(table, best), limits)
    model.maximize()
    for index in best:
        picked, right = model.solve(), int(table.units[index])
        at = table.index_of(table.bits.tiles(picked[0])) if picked else index
        if picked is None or not picked[1] == right == int(table.units[at]) or not table.keeps(at, limits):
            raise MismatchError(f"model {picked}, table {right}")
        model.exclude(int(table.masks[index]))
    if len(best) < wanted and (more := model.solve()) is not None:
        raise MismatchError(f"model {more}, table none")
