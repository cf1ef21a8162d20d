"""What a question is: a card as arrays, a rack with what else was seen and is to come, and what is asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, Target, once_a_card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Pile, Rack, count_faults
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals, Fit, Make, Odds, default_arrivals, drill_arrivals
from solver.limits import Limits
from solver.reach.counting import Outlook
from solver.reach.evaluate import Demands, missing, reach_of
from solver.rounds import (
    DRILL_RACK,
    PASS_SIZE,
    RULES,
    Drill,
    Round,
    pass_faults,
)

NATURALS = KINDS[:-1]
N_NATURALS = len(NATURALS)
assert KINDS[-1] is Tile.JOKER
MAX_ALTERNATIVES = 10
# As answers are rounded: libraries of linear algebra differ in the digits beyond.
DECIMALS = 12
# What a hand's chance is raised to. Powers from 1.5 to 2 tell best who wins at simulated tables; on the full
# card 1.5 wins more than 1, no other difference is shown (tests/benchmarks/RESULTS.md).
POWER = 1.5
_COPIES = np.array([tile.copies for tile in KINDS], np.int8)


class Objective(Enum):
    """What the strength of a rack is: what its hands count for, times their weights, added up."""

    STRENGTH = "strength"
    SUM = "sum"

    def counted(self, reach: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return what hands of some reach count for, 0-1: likelier ones more, in the sum all alike."""
        counted: NDArray[np.float64] = reach if self is Objective.SUM else reach**POWER
        return counted


@dataclass(frozen=True, eq=False)
class CardTables:
    """Targets of a card as (T, 35) arrays: wanted in singles and pairs, and in groups of three or more.

    And (T,) index of the hand that each belongs to, ascending, and whether that is concealed.
    """

    card: Card
    plain: NDArray[np.int8]
    grouped: NDArray[np.int8]
    hand: NDArray[np.int32]
    concealed: NDArray[np.bool_]
    targets: tuple[Target, ...]

    @cached_property
    def makes(self) -> NDArray[np.intp]:
        """(T,) what each target is made of, as its place in `Make`."""
        makes = (Make.PAIRS_ONLY, Make.CONCEALED, Make.SOME_PAIRS, Make.GROUPS)
        pairs_only, groups_only = ~self.grouped.any(axis=1), ~self.plain.any(axis=1)
        return np.select(
            [pairs_only, self.concealed, ~groups_only, groups_only],
            [list(Make).index(make) for make in makes],
        )

    def first_of_hand(self) -> NDArray[np.intp]:
        """Return the index of each hand's first target, for `numpy.maximum.reduceat`."""
        return np.searchsorted(self.hand, np.arange(len(self.card.hands)))


@once_a_card
def tables_of(card: Card) -> CardTables:
    """Return the arrays of a card."""
    targets = tuple(target for hand in card.hands for target in hand.targets)
    plain = np.zeros((len(targets), N_NATURALS), np.int8)
    grouped = np.zeros_like(plain)
    for row, target in enumerate(targets):
        for tile, in_plain, in_groups in target.needs:
            plain[row, tile.position] = in_plain
            grouped[row, tile.position] = in_groups
    sizes = [len(hand.targets) for hand in card.hands]
    hand = np.repeat(np.arange(len(card.hands), dtype=np.int32), sizes)
    concealed = np.repeat(np.array([hand.concealed for hand in card.hands]), sizes)
    return CardTables(card, plain, grouped, hand, concealed, targets)


def counts_of(tiles: Iterable[Tile]) -> NDArray[np.int8]:
    """Return (36,) copies of each kind in the fixed order."""
    counter = Counter(tiles)
    return np.array([counter[tile] for tile in KINDS], np.int8)


def still_elsewhere(passed: Iterable[Tile], held: Mapping[Tile, int]) -> tuple[Tile, ...]:
    """Return tiles passed, as far as they can still be elsewhere, in the fixed order.

    A tile of a kind passed before may come back; it is taken for another one as long as the set has enough
    of them beside those held.
    """
    return tuple(
        tile
        for tile, count in sorted(Counter(passed).items(), key=lambda item: item[0].position)
        for _ in range(min(count, tile.copies - held.get(tile, 0)))
    )


def greatest_first(values: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the indexes of (n,) values, the greatest first; those alike to twelve decimals as they come."""
    return np.argsort(-np.round(values, DECIMALS), kind="stable")


def tiles_away(tables: CardTables, held: NDArray[np.int8], jokers: int) -> NDArray[np.int64]:
    """Return (T,) how many tiles targets lack, with (35,) naturals held and jokers, of use only in groups."""
    lack = missing(tables.plain, tables.grouped, held)
    in_plain, in_groups = lack.sum(axis=2, dtype=np.int64)
    away: NDArray[np.int64] = in_plain + np.maximum(in_groups - jokers, 0)
    return away


@dataclass(frozen=True, eq=False)
class Situation:
    """Rack, other tiles seen and arrivals: everything reach depends on besides the card.

    The pool is every tile not seen: passing a tile does not put it back, the player knows that it went. In
    hindsight the rack has also what came in. A drill's heap has no jokers.
    """

    rack: Pile
    seen: tuple[Tile, ...]
    arrivals: Arrivals
    jokers_in_wall: bool = True

    @cached_property
    def held(self) -> NDArray[np.int8]:
        """(35,) naturals in the rack."""
        return counts_of(self.rack.tiles)[:N_NATURALS]

    @cached_property
    def unseen(self) -> NDArray[np.int8]:
        """(36,) tiles of each kind that are neither in the rack nor seen elsewhere."""
        return _COPIES - counts_of((*self.rack.tiles, *self.seen))

    @cached_property
    def outlook(self) -> Outlook:
        """Pool sizes, jokers held and arrivals."""
        return Outlook(
            naturals=int(self.unseen[:N_NATURALS].sum()),
            jokers=int(self.unseen[N_NATURALS]) if self.jokers_in_wall else 0,
            jokers_held=self.rack.tiles.count(Tile.JOKER),
            arrivals=self.arrivals,
        )

    def reach(
        self, tables: CardTables, kept: NDArray[np.int8], targets: NDArray[np.intp] | slice = slice(None)
    ) -> NDArray[np.float64]:
        """Return the (..., T) reach of targets, by index or all, when only (..., 35) naturals are kept."""
        unseen, hidden = self.unseen[:N_NATURALS], tables.concealed[targets]
        lack = missing(tables.plain[targets], tables.grouped[targets], kept[..., None, :])
        lack = lack.reshape(2, -1, N_NATURALS)
        concealed = np.resize(hidden, lack.shape[1])
        reach = reach_of(Demands.of(lack, concealed, unseen), self.outlook, unseen)
        return reach.reshape(*kept.shape[:-1], len(hidden))


def _arrivals_of(round_: Round, give: int, arrivals: Arrivals | None, drill: Drill | None) -> Arrivals:
    """Return the arrivals that hold: those stated, or the defaults of the drill or the round."""
    if arrivals is not None:
        return arrivals
    return default_arrivals(round_, give) if drill is None else drill_arrivals(drill, give)


def question_faults(
    rack: Rack | None,
    round_: Round | None,
    give: int | None,
    arrivals: Arrivals | None,
    seen: tuple[Tile, ...],
    limits: Limits,
    drill: Drill | None,
    mine: tuple[Tile, ...] | None,
) -> list[Fault]:
    """Return everything that the rules do not allow of a question, at the names of its parts.

    Those are as in `Question`, each in the range stated there, but a rack or a round that could not be read
    is None, and hides nothing of the others.
    """
    faults = _give_faults(round_, give)
    known = () if rack is None else rack.tiles
    faults += [fault.inside("seen") for fault in count_faults((*known, *seen))]
    faults += [fault.inside("limits") for fault in limits.faults(None if rack is None else Counter(known))]
    if drill is not None and rack is not None and len(rack.tiles) != DRILL_RACK:
        faults.append(Fault("wrong-count", ("rack",), f"a drill has {DRILL_RACK} tiles"))
    if mine is not None:
        faults += _mine_faults(mine, rack, round_, give)
    if faults or rack is None or round_ is None:
        return faults
    coming = _arrivals_of(round_, PASS_SIZE if give is None else give, arrivals, drill)
    naturals = Situation(rack, seen, coming).outlook.naturals
    if coming.most <= naturals:
        return []
    detail = f"{coming.most} tiles to come: only {naturals} that are not jokers are unseen"
    return [Fault("range", ("arrivals",), detail)]


def _give_faults(round_: Round | None, give: int | None) -> list[Fault]:
    allowed = range(PASS_SIZE + 1) if round_ is None else RULES[round_].allowed
    if give is None or give in allowed:
        return []
    may = f"{allowed[0]} to {allowed[-1]}" if len(allowed) > 1 else f"exactly {allowed[0]}"
    of = "a pass" if round_ is None else round_.words
    return [Fault("give", ("give",), f"{give} tiles: {of} gives {may}")]


def _mine_faults(
    mine: tuple[Tile, ...], rack: Rack | None, round_: Round | None, give: int | None
) -> list[Fault]:
    # Without a round or a rack what any allows passes.
    rule_of = round_ or Round.COURTESY
    blind = max(0, PASS_SIZE - len(mine)) if RULES[rule_of].blind else 0
    faults = pass_faults(rule_of, Counter(mine), blind, Counter(mine if rack is None else rack.tiles))
    if not faults and give is not None and len(mine) != give:
        faults = [Fault("wrong-count", (), f"{len(mine)} tiles: the question is about giving {give}")]
    return [replace(fault, place=("mine",)) for fault in faults]


@dataclass(frozen=True)
class Question:
    """One rack, one round, one card: what should I pass?

    Attributes:
        give: Own tiles to give (0-3), or None for whatever number is best of those the round allows.
        arrivals: None for the defaults of the round.
        seen: Tiles seen outside the rack: own earlier passes, shown groups, discards.
        alternatives: Runner-up passes wanted, 0-10.
        drill: None at a table.
        mine: A pass of the asker's own, to be held against the best.
        fit: None to state no odds.

    Raises:
        FaultyInputError: on construction, every part that the rules do not allow, each with its place.
    """

    card: Card
    rack: Rack
    round: Round
    give: int | None = None
    arrivals: Arrivals | None = None
    seen: tuple[Tile, ...] = ()
    limits: Limits = field(default_factory=Limits)
    alternatives: int = 2
    drill: Drill | None = None
    objective: Objective = Objective.STRENGTH
    mine: tuple[Tile, ...] | None = None
    fit: Fit | None = None

    def __post_init__(self) -> None:
        faults = question_faults(
            self.rack, self.round, self.give, self.arrivals, self.seen, self.limits, self.drill, self.mine
        )
        if faults:
            raise FaultyInputError(faults)

    @property
    def tiles_given(self) -> int:
        """Own tiles that go in this pass, 0-3; three when the number is left open."""
        return PASS_SIZE if self.give is None else self.give

    @cached_property
    def situation(self) -> Situation:
        """The rack, the tiles seen and the arrivals that hold."""
        coming = _arrivals_of(self.round, self.tiles_given, self.arrivals, self.drill)
        return Situation(self.rack, self.seen, coming, jokers_in_wall=self.drill is None)

    @property
    def measured(self) -> bool:
        """Whether games were played as this one: at a table, with nothing said of what comes."""
        return self.arrivals is None and self.drill is None

    @property
    def odds(self) -> Odds | None:
        """What makes odds true; None without a fit, in a drill, and when arrivals are named."""
        if self.fit is None or not self.measured:
            return None
        return self.fit.odds(self.round, self.tiles_given, of_some=not self.limits.choose_hands)

    def blind_beside(self, passed: Sequence[Tile]) -> int:
        """Return how many incoming tiles go on unseen beside so many own ones, 0-3."""
        return PASS_SIZE - len(passed) if RULES[self.round].blind else 0

    @property
    def numbers_to_compare(self) -> tuple[int, ...]:
        """Numbers of own tiles to compare, ascending: the one named, or all that the round allows."""
        return RULES[self.round].allowed if self.give is None else (self.give,)

    def giving(self, give: int) -> Question:
        """Return the question with the number of tiles named, and the arrivals that number leaves.

        Arrivals that a question states with its number left open are those of giving three: fewer given
        are as many fewer to come in.
        """
        arrivals = self.arrivals
        if arrivals is not None:
            fewer = self.tiles_given - give
            arrivals = arrivals.after(max(0, arrivals.charleston - fewer))
        return replace(self, give=give, arrivals=arrivals, mine=None)
