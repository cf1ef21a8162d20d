"""Deals: reproducible racks from a seed and an index, filtered by what the solver says of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TypeVar

import numpy as np

from patterns.card import HAND_SIZE, Card, once_a_card
from patterns.rack import Pile, Rack
from patterns.stopping import check_stop
from patterns.tiles import KINDS, Tile
from solver.advice import Advice, ClashError, Closeness, advise
from solver.arrivals import Arrivals, default_arrivals
from solver.limits import Limits
from solver.rounds import DRILL_RACK, PASS_SIZE, Drill, Round
from solver.situation import Objective, Question, Situation, tables_of

T = TypeVar("T")
_SPAN = 1 << 64


class Luck:
    """A stream of random choices named by integers from 0 to 2**64 - 1, such as a seed and an index."""

    def __init__(self, *seed: int) -> None:
        self._bits = np.random.PCG64(np.random.SeedSequence(seed))

    def below(self, limit: int) -> int:
        """Return an integer from 0 to ``limit`` - 1, all equally likely (by rejection)."""
        fair = _SPAN - _SPAN % limit
        while (raw := int(self._bits.random_raw())) >= fair:
            pass
        return raw % limit

    def shuffled(self, items: Sequence[T]) -> list[T]:
        """Return the items in random order (Fisher and Yates)."""
        order = list(items)
        for last in range(len(order) - 1, 0, -1):
            other = self.below(last + 1)
            order[last], order[other] = order[other], order[last]
        return order


MAX_BUDGET = 200


class Difficulty(Enum):
    """How far the best pass stands out."""

    ANY = "any"
    CLEAR = "clear"
    CLOSE = "close"

    def fits(self, advice: Advice) -> bool:
        """Return whether a deal is of this difficulty, by the gap to the runner-up."""
        if self is Difficulty.CLEAR:
            return advice.closeness in (Closeness.CLEAR, Closeness.ONLY)
        return self is Difficulty.ANY or advice.closeness in (Closeness.CLOSE, Closeness.TOSS_UP)


@dataclass(frozen=True)
class Deal:
    """One rack and, for a drill, the heap in order: all other tiles of the set but jokers."""

    index: int
    rack: Rack
    heap: tuple[Tile, ...]


@dataclass(frozen=True)
class DealWish:
    """What deals are wanted; drill, limits, round, arrivals and objective are of the pass that measures them.

    Attributes:
        seed: 0 to 2**63 - 1.
        start: First index to try, 0 or more.
        size: Tiles in the rack, 13 or 14; a drill has 14.
        family: The likeliest hand after the best pass must be of this family.
        jokers: Exactly so many jokers in the rack, or None for any number.
        budget: Most deals to try, 1 to 200: some seconds of work with a full card.
    """

    card: Card
    seed: int
    count: int
    start: int = 0
    size: int = DRILL_RACK
    difficulty: Difficulty = Difficulty.ANY
    family: str | None = None
    jokers: int | None = None
    drill: Drill | None = None
    budget: int = MAX_BUDGET
    limits: Limits = field(default_factory=Limits)
    round: Round = Round.FIRST_RIGHT
    arrivals: Arrivals | None = None
    objective: Objective = Objective.STRENGTH


@dataclass(frozen=True)
class FoundDeal:
    """A deal that fits, and the advice it was measured with."""

    deal: Deal
    advice: Advice


def deal(seed: int, index: int, size: int = DRILL_RACK) -> Deal:
    """Deal a rack of 13 or 14 from a full set, the same on every machine and version."""
    order = shuffled_wall(seed, index)
    return Deal(index, Rack(tuple(order[:size])), tuple(t for t in order[size:] if t is not Tile.JOKER))


def shuffled_wall(seed: int, index: int) -> list[Tile]:
    """Return the whole set in the order in which a deal takes its tiles."""
    return Luck(seed, index).shuffled([tile for tile in KINDS for _ in range(tile.copies)])


def question_of(wish: DealWish, dealt: Deal) -> Question:
    """Return the question a deal is measured by: the first right pass unless another is wished for."""
    return Question(
        wish.card,
        dealt.rack,
        wish.round,
        arrivals=wish.arrivals,
        limits=wish.limits,
        drill=wish.drill,
        objective=wish.objective,
    )


def find_deals(wish: DealWish) -> tuple[list[FoundDeal], int]:
    """Return deals that fit, in order of index, and how many were tried.

    They are at most as many as wished for and as the budget allows.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
    """
    found: list[FoundDeal] = []
    tried = 0
    while tried < wish.budget and len(found) < wish.count:
        check_stop()
        dealt = deal(wish.seed, wish.start + tried, wish.size)
        tried += 1
        if wish.jokers is None or dealt.rack.tiles.count(Tile.JOKER) == wish.jokers:
            found += measured(wish, dealt)
    return found, tried


def measured(wish: DealWish, dealt: Deal) -> list[FoundDeal]:
    """Return a deal with its advice, if that is of the difficulty and of the family wished for."""
    try:
        advice = advise(question_of(wish, dealt), diagnose=False)
    except ClashError:
        return []
    likeliest = advice.hands[0].hand.family if advice.hands else None
    fits = wish.difficulty.fits(advice) and wish.family in (None, likeliest)
    return [FoundDeal(dealt, advice)] if fits else []


@once_a_card
def chances_from_deal(card: Card) -> tuple[float, ...]:
    """Return, for each hand, the chance of completing its best target from a random deal.

    By the model: 14 tiles dealt, then the default arrivals of a first right pass, every useful tile kept
    from the start for the one target: so 14 more draws, with nothing held.
    """
    later = default_arrivals(Round.FIRST_RIGHT, PASS_SIZE)
    lengths = tuple(replace(each, draws=HAND_SIZE + each.draws) for each in later.lengths)
    situation = Situation(Pile(()), (), replace(later, lengths=lengths))
    tables = tables_of(card)
    reach = np.maximum.reduceat(situation.reach(tables, situation.held), tables.first_of_hand())
    return tuple(reach.tolist())
