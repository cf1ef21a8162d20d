"""A recorded Charleston: whether it can have happened, its grade, hindsight and pace."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from enum import Enum

import numpy as np

from patterns.card import Card
from patterns.faults import Fault, FaultyInputError
from patterns.rack import Pile, Rack, count_faults
from patterns.tiles import KINDS, Tile, counted, number_word
from solver.advice import Advice, OwnPass, advise
from solver.arrivals import Arrivals, Fit, Length, default_arrivals
from solver.limits import Limits, hand_weights
from solver.passes import PassTable, Valued, score
from solver.rounds import (
    DRILL_RACK,
    MAX_EXCHANGES,
    ORDER,
    PASS_SIZE,
    Drill,
    Round,
    may_follow,
    pass_faults,
)
from solver.situation import Objective, Question, Situation, still_elsewhere, tables_of, tiles_away
from solver.why import Standings

MAX_SECONDS = 86_400.0
# Passes from which on a Charleston counts as whole: both parts of it, with or without the courtesy pass.
WHOLE_CHARLESTON = 6


@dataclass(frozen=True)
class Exchange:
    """One exchange as it was played; ``blind`` tiles that came in were passed on unseen.

    As many came in as own tiles were given; None: not known, as may be so of the last exchange only. Seconds
    are 0 to `MAX_SECONDS`, or None when no time was taken.
    """

    round: Round
    given: tuple[Tile, ...]
    received: tuple[Tile, ...] | None
    blind: int = 0
    seconds: float | None = None

    @property
    def came(self) -> tuple[Tile, ...]:
        """What is known to have come in."""
        return self.received or ()


@dataclass(frozen=True)
class Record:
    """A rack and the exchanges played with it, 1 or more.

    Attributes:
        drill: Whether it was a drill with a heap; its exchanges may then be of any rounds, 1 to 12.
        length: Draws and claims to assume, or None for the defaults.
        seen: For a part of a Charleston, which may begin with any round: own tiles passed before, as far as
            they are still elsewhere. None for one recorded from its start.
        follow: Exchanges of the drill that follow those recorded, 0-11; for a table it is not looked at.

    Raises:
        FaultyInputError: on construction, everything that cannot have happened, each with its place.
    """

    card: Card
    rack: Rack
    exchanges: tuple[Exchange, ...]
    drill: bool = False
    length: Length | None = None
    limits: Limits = field(default_factory=Limits)
    objective: Objective = Objective.STRENGTH
    fit: Fit | None = None
    seen: tuple[Tile, ...] | None = None
    follow: int = 0

    def __post_init__(self) -> None:
        faults = self._order_faults()
        faults += [fault.inside("seen") for fault in count_faults((*self.rack.tiles, *(self.seen or ())))]
        rack = Counter(self.rack.tiles)
        for index, exchange in enumerate(self.exchanges):
            faults += [fault.inside("exchanges", index) for fault in _exchange_faults(exchange, rack)]
            rack = rack - Counter(exchange.given)
            rack.update(exchange.came)
            if exchange.received is None and index < len(self.exchanges) - 1:
                detail = "what came in is not known: that may be so of the last pass only"
                faults.append(Fault("unknown-tiles", ("exchanges", index, "received"), detail))
        if faults:
            raise FaultyInputError(faults)

    @property
    def measured(self) -> bool:
        """Whether games were played as this one: odds are then told of how it ends."""
        return self.length is None and not self.drill and self.exchanges[-1].received is not None

    @property
    def left(self) -> list[int | None]:
        """For each exchange of a drill how many are still to come, itself among them; None at a table."""
        whole = len(self.exchanges) + self.follow
        return [whole - index if self.drill else None for index in range(len(self.exchanges))]

    def moments(self) -> list[tuple[Pile, tuple[Tile, ...]]]:
        """Return the tiles held, and those passed and not come back, before each exchange and at the end.

        Those held are a rack, but for the end where it is not known what came in last.
        """
        passed, rack = list(self.seen or ()), Counter(self.rack.tiles)
        moments: list[tuple[Pile, tuple[Tile, ...]]] = [(self.rack, still_elsewhere(passed, rack))]
        for exchange in self.exchanges:
            rack.subtract(exchange.given)
            rack.update(exchange.came)
            passed += exchange.given
            held = tuple((+rack).elements())
            pile = Pile(held) if exchange.received is None else Rack(held)
            moments.append((pile, still_elsewhere(passed, rack)))
        return moments

    @property
    def then_draws(self) -> int:
        """Tiles drawn once the exchanges of a drill are over."""
        return Drill.then_draws if self.length is None else self.length.draws

    def _order_faults(self) -> list[Fault]:
        if self.drill and len(self.exchanges) + self.follow > MAX_EXCHANGES:
            return [Fault("range", ("follow",), f"a drill has at most {MAX_EXCHANGES} exchanges in all")]
        if self.drill:
            if len(self.rack.tiles) != DRILL_RACK:
                return [Fault("wrong-count", ("rack",), f"a drill has {DRILL_RACK} tiles")]
            return []
        faults = []
        before: Round | None = None
        for index, exchange in enumerate(self.exchanges):
            may = ORDER if before is None and self.seen is not None else may_follow(before)
            if exchange.round not in may:
                words = " or ".join(round_.words for round_ in may) or "nothing"
                after = "at the start" if before is None else f"after {before.words}"
                detail = f"{exchange.round.words} {after}: only {words} can be played"
                faults.append(Fault("round-order", ("exchanges", index, "round"), detail))
            before = exchange.round
        return faults


def _exchange_faults(exchange: Exchange, rack: Counter[Tile]) -> list[Fault]:
    given, received = Counter(exchange.given), exchange.came
    faults = pass_faults(exchange.round, given, exchange.blind, rack)
    if exchange.received is not None and len(received) != given.total():
        detail = f"{len(received)} received for {given.total()} given"
        faults.append(Fault("wrong-count", ("received",), detail))
    if Tile.JOKER in received:
        faults.append(Fault("joker", ("received",), "no joker comes in by an exchange"))
    after = rack - given
    after.update(received)
    for tile in KINDS:
        if after[tile] > tile.copies and tile in received:
            detail = f"{counted(tile, after[tile])} ({tile.value}) after this: the set holds "
            faults.append(Fault("too-many-copies", ("received",), detail + number_word(tile.copies)))
    return faults


class Pace(Enum):
    """Pace of one whole Charleston, from seeing the rack to the last pass, as commonly told apart."""

    ADVANCED = "advanced"
    INTERMEDIATE = "intermediate"
    BEGINNER = "beginner"
    SLOWER = "slower than beginner"

    @classmethod
    def of(cls, seconds: float) -> Pace:
        """Return the band: up to 2 minutes advanced, 3 intermediate, 4 beginner."""
        bands = ((120.0, cls.ADVANCED), (180.0, cls.INTERMEDIATE), (240.0, cls.BEGINNER))
        return next((pace for most, pace in bands if seconds <= most), cls.SLOWER)


@dataclass(frozen=True)
class Hindsight(Valued):
    """What would have been best, of as many tiles, had one known what came in. It is no part of the grade.

    Strengths are those with what came in; ``made`` is that of the pass that was made.
    """

    made: float
    received: tuple[Tile, ...]


def hindsight(question: Question, given: tuple[Tile, ...], received: tuple[Tile, ...]) -> Hindsight:
    """Value all passes again with what came in already there; only tiles of the old rack may go.

    The question is the one before the pass that was made, of its number of tiles; its limits on the pass do
    not count.
    """
    before = question.situation
    arrivals = before.arrivals.after(max(0, before.arrivals.charleston - len(received)))
    pile = Pile((*before.rack.tiles, *received))
    # What came in may be a tile passed before: it is then no longer elsewhere.
    seen = still_elsewhere(before.seen, Counter(pile.tiles))
    situation = Situation(pile, seen, arrivals, before.jokers_in_wall)
    table = PassTable.of(question, situation=situation)
    best, made = table.valued(int(table.order[0])), table.valued(table.index_of(given))
    return Hindsight(*best.parts, made.strength, received)


@dataclass(frozen=True)
class GradedPass:
    """One pass and its grade.

    Attributes:
        best: The advice at that moment, and the pass that was ``made`` held against it.
        hindsight: None where it is not known what came in.
    """

    exchange: Exchange
    best: Advice
    made: OwnPass
    hindsight: Hindsight | None

    @property
    def given_up(self) -> float:
        """How much less strength it leaves than the best; 0 when the difference is rounding."""
        return max(0.0, self.made.gap)

    @property
    def share(self) -> float:
        """The same as a share of the best; 0 when the best is 0."""
        return max(0.0, self.made.share)

    @property
    def within_resolution(self) -> bool:
        """Whether the pass cannot be told from the best, or is better but not within the limits."""
        return self.given_up == 0.0


@dataclass(frozen=True)
class Review:
    """A graded Charleston; hands are those at the end, draws and claims to come.

    Attributes:
        costliest: Index of the pass that gave up most, or None when none gave up anything.
        tiles_away: Fewest tiles any target of a hand that counts lacks at the end.
        seconds: Time of all passes, or None when one was not taken.
    """

    record: Record
    passes: tuple[GradedPass, ...]
    given_up: float
    costliest: int | None
    hands: Standings
    tiles_away: int
    seconds: float | None

    @property
    def share(self) -> float:
        """What was given up as a share of what the best passes keep; 0 when that is nothing."""
        best = sum(graded.best.strength for graded in self.passes)
        return self.given_up / best if best > 0 else 0.0

    @property
    def pace(self) -> Pace | None:
        """The pace band of a whole Charleston; None when it was shorter or a pass was not timed."""
        if self.seconds is None or len(self.passes) < WHOLE_CHARLESTON:
            return None
        return Pace.of(self.seconds)


def review(record: Record) -> Review:
    """Grade a record.

    The best pass at each moment is what the advice says of the rack as it was, own tiles passed before
    being known. Where blind passing is allowed the number of blind tiles is part of the choice; at the
    courtesy pass the number is not, as it is the smaller of two wishes.
    """
    *before, (pile, seen) = record.moments()
    passes = tuple(_graded(record, index, *moment) for index, moment in enumerate(before))
    lost = [graded.given_up for graded in passes]
    costliest = int(np.argmax(lost))
    situation = Situation(pile, seen, _at_the_end(record), jokers_in_wall=not record.drill)
    tables, weights = tables_of(record.card), hand_weights(record.card, record.limits)
    end = score(situation, tables, weights, (), record.objective)
    away = tiles_away(tables, situation.held, situation.outlook.jokers_held)
    odds = None
    if record.fit is not None and record.measured:
        odds = record.fit.odds(None, 0, of_some=not record.limits.choose_hands)
    times = [exchange.seconds for exchange in record.exchanges]
    timed = [seconds for seconds in times if seconds is not None]
    return Review(
        record,
        passes,
        float(sum(lost)),
        None if passes[costliest].within_resolution else costliest,
        Standings(situation, tables, end, end, odds),
        int(away[weights[tables.hand] > 0].min()),
        sum(timed) if len(timed) == len(times) else None,
    )


def _graded(record: Record, index: int, pile: Pile, seen: tuple[Tile, ...]) -> GradedPass:
    exchange, left = record.exchanges[index], record.left[index]
    assert isinstance(pile, Rack)  # only what came last may be unknown
    # The number by courtesy is the smaller of two wishes.
    give = len(exchange.given) if exchange.round is Round.COURTESY else None
    arrivals = None
    if record.length is not None and not record.drill:
        defaults = default_arrivals(exchange.round, PASS_SIZE if give is None else give)
        arrivals = replace(defaults, lengths=(record.length,))
    question = Question(
        record.card,
        pile,
        exchange.round,
        give,
        arrivals,
        seen,
        record.limits,
        alternatives=0,
        drill=None if left is None else Drill(left, record.then_draws),
        objective=record.objective,
        mine=exchange.given,
    )
    best = advise(question)
    assert best.mine is not None
    later = None
    if exchange.received is not None:
        later = hindsight(question.giving(len(exchange.given)), exchange.given, exchange.received)
    return GradedPass(exchange, best, best.mine, later)


def _at_the_end(record: Record) -> Arrivals:
    """Return what is to come once the exchanges are over: draws, claims, and tiles that came in unknown."""
    last = record.exchanges[-1]
    unknown = len(last.given) if last.received is None else 0
    if record.drill:
        return Arrivals.of(unknown, record.then_draws, 0)
    return Arrivals(unknown, default_arrivals(None).lengths if record.length is None else (record.length,))
