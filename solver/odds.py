"""Odds on a card that nobody has played: an estimate, from racks after quickly played Charlestons."""

from __future__ import annotations

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, once_a_card
from patterns.stopping import check_stop
from patterns.tiles import Tile
from solver.arrivals import CHOOSING, Arrivals, Fit, Length, Play, Sharpness, Source
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.passes import PassTable, score
from solver.rounds import ORDER, PASS_SIZE, Round
from solver.situation import CardTables, Question, Situation, greatest_first, tables_of, tiles_away
from solver.table.charleston import Seat, kept_after, play_charleston
from solver.table.game import deal_seats
from solver.table.players import Careful
from solver.why import union

# What an advised player wins at a table of three careful ones, as a share of games, where none of the ten
# targets nearest as play begins is concealed, and how much less where all are: discards that nobody may call
# leave more games without a winner. And how far apart chances lie beside what reach says. Provenance: 7,184
# games of ten cards, rounded (tests/benchmarks/RESULTS.md).
WINS, WINS_LESS, _NEAR = 0.295, 0.08, 10
SHARPNESS = 0.85
# For one hand alone play is so many claims long, and three draws for each, times a factor by `Make` and a
# power of the factor for some hand: it differs less from card to card. What is completed by a last tile that
# nobody could have called before is not in reach; longer play than there is stands for that. Provenance:
# 1,694 games of players bound to one target when play begins, on eight cards, and 5,969 of the games of
# `SHARPNESS` (tests/benchmarks/RESULTS.md); exchanges as fitted to 680 others (seed 1701, full card).
_CLAIMS_ALONE, _ALONE_POWER = 8, 1 / 3
_ALONE_SHARES = (1.0, 0.96, 0.96, 0.96)
_LATER_ALONE = (6, 4, 3, 3, 1, -1, -3)
# What an estimate costs, in microseconds, nowhere much too little: at all, for a hand, and for a target by
# how many kinds it wants both in singles or pairs and in groups (four such are more than 14 tiles). Measured
# on 16 cards. One that costs more than `_MOST` is not made.
_AT_ALL, _HAND = 1_300_000.0, 5_000.0
_TARGET = np.array([1_500.0, 4_500.0, 100_000.0, 150_000.0])
_MOST = 8_500_000.0
# An estimate that needs lengths of play far from those of cards that were played is not to be trusted.
LEAST_FACTOR, GREATEST_FACTOR = 0.6, 2.0
GRAIN = 0.05
_SEED = 20_261_128
# Tables whose Charleston is played, and deals to tell how their racks compare with others.
_TABLES, _DEALS = 20, 120
# Passes after which later exchanges are valued; those between by interpolation.
_ANCHORS = (Round.FIRST_RIGHT, Round.FIRST_LEFT, Round.SECOND_ACROSS, Round.COURTESY)
_MOST_LATER = 30
_MOST_KEPT = 200
_kept: OrderedDict[str, Fit | None] = OrderedDict()
_lock = Lock()


@dataclass(frozen=True)
class Moment:
    """A rack of which the chance is to be stated: what it keeps, and hands' likeliest targets in order."""

    tables: CardTables
    situation: Situation
    targets: NDArray[np.intp]

    @classmethod
    def of(cls, card: Card, situation: Situation) -> Moment:
        """Find the likeliest targets."""
        found = score(situation, tables_of(card), hand_weights(card, Limits()), ())
        order = greatest_first(found.reach)
        return cls(tables_of(card), situation, found.target[order[found.reach[order] > 0]])

    def concealed(self) -> float:
        """Return the share (0-1) of the nearest targets that are concealed."""
        away = tiles_away(self.tables, self.situation.held, self.situation.outlook.jokers_held)
        return float(self.tables.concealed[np.argsort(away, kind="stable")[:_NEAR]].mean())

    def reach(self, coming: Arrivals) -> NDArray[np.float64]:
        """Return the reach of each of the targets."""
        return replace(self.situation, arrivals=coming).reach(self.tables, self.situation.held, self.targets)

    def some_hand(self, coming: Arrivals) -> float:
        """Return the chance of some hand, hands taken to be independent."""
        return sum(share * float(union(self.reach(part))) for share, part in coming.parts)


class _Quick:
    """Passes what the advice would miss least tile by tile, which costs little."""

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, luck: Luck) -> tuple[Tile, ...]:
        """Return the tiles whose loss alone costs least."""
        check_stop()
        table = PassTable.of(Question(card, seat.rack, round_, seen=seat.seen()), size=1)
        cheapest = (tile for index in table.order.tolist() for tile in table.tiles(index))
        ranked = [tile for kind in cheapest for tile in [kind] * seat.tiles[kind]]
        return tuple(ranked[:count])

    def wish(self, card: Card, seat: Seat, luck: Luck) -> int:
        """Return a usual number."""
        return 2


@dataclass(frozen=True)
class _Sample:
    """Moments of one stage, one a table, and the (tables,) chance of each as dealt less the mean of deals."""

    moments: list[Moment]
    luck: NDArray[np.float64]

    def mean(self, coming: Arrivals) -> float:
        """Return the mean chance of some hand, freed of the luck of the deals by linear regression."""
        chances = np.array([each.some_hand(coming) for each in self.moments])
        slope = np.cov(chances, self.luck)[0, 1] / max(float(self.luck.var(ddof=1)), 1e-12)
        return float(chances.mean() - slope * self.luck.mean())


def scaled(play: Play, factor: float) -> Play:
    """Return lengths of play times a factor, rounded to whole tiles; exchanges are worth the same."""
    lengths = tuple(
        Length(round(each.draws * factor), round(each.claims * factor), each.share) for each in play.lengths
    )
    return replace(play, lengths=lengths)


def alone_play(factor: float) -> Play:
    """Return play for one hand alone, times a factor; what lies between whole claims is mixed of both."""
    claims, share = divmod(round(_CLAIMS_ALONE * factor, 2), 1)
    parts = ((int(claims), round(1 - share, 2)), (int(claims) + 1, round(share, 2)))
    return Play(tuple(Length(3 * each, each, part) for each, part in parts if part), _LATER_ALONE)


def alone_factors(factor: float) -> tuple[float, ...]:
    """Return what to expect of each `Make` alone where lengths for some hand are scaled by a factor."""
    return tuple(share * factor**_ALONE_POWER for share in _ALONE_SHARES)


@once_a_card
def cost(card: Card) -> float | None:
    """Return what an estimate costs in microseconds of one core; None where it would be too much."""
    tables = tables_of(card)
    twofold = ((tables.plain > 0) & (tables.grouped > 0)).sum(axis=1)
    found = _AT_ALL + _HAND * len(card.hands) + float(_TARGET[twofold].sum())
    return found if found <= _MOST else None


def estimate(card: Card) -> Fit | None:
    """Return what makes odds about true on a card, without games of it; the same every time.

    Lengths of play are scaled by one factor, so that when play begins the mean chance of some hand is what an
    advised player wins; then later exchanges are valued so that it is the same after every pass, as
    no pass can change what is to be expected; last, chances are drawn together. It takes some seconds, but
    for the cards asked for last. None for a card that would take too long, or needs lengths that cannot be
    believed.
    """
    with _lock:
        if card.digest in _kept:
            _kept.move_to_end(card.digest)
            return _kept[card.digest]
    found = None if cost(card) is None else _estimate(card)
    with _lock:
        _kept[card.digest] = found
        while len(_kept) > _MOST_KEPT:
            _kept.popitem(last=False)
    return found


def _estimate(card: Card) -> Fit | None:
    stages = _stages(card)
    begins = stages[None]
    wins = WINS - WINS_LESS * float(np.mean([moment.concealed() for moment in begins.moments]))

    def at(steps: int) -> float:
        return begins.mean(scaled(CHOOSING, steps * GRAIN).coming(None, 0))

    shortest, longest = (round(factor / GRAIN) for factor in (LEAST_FACTOR, GREATEST_FACTOR))
    found = _nearest(at, wins, shortest, longest)
    if found in (shortest, longest):
        return None
    factor = found * GRAIN
    some = scaled(CHOOSING, factor)
    alone = tuple(map(alone_play, alone_factors(factor)))
    anchors = [_later(stages[round_], some, wins) for round_ in _ANCHORS]
    between = np.interp(range(len(ORDER)), [ORDER.index(round_) for round_ in _ANCHORS], anchors)
    # An exchange that is over is worth nothing any more.
    later = np.maximum.accumulate(np.rint(between)[::-1])[::-1].astype(int).tolist()
    return Fit(
        replace(some, later=tuple(later)), alone, Source.ESTIMATE, sharpness=Sharpness(wins, SHARPNESS)
    )


def _later(sample: _Sample, some: Play, wins: float) -> int:
    """Return how many tiles from later exchanges bring the mean after a pass nearest to the share won."""

    def mean(later: int) -> float:
        return sample.mean(Arrivals(PASS_SIZE + later, some.lengths))

    return _nearest(mean, wins, -PASS_SIZE, _MOST_LATER)


def _nearest(mean: Callable[[int], float], wins: float, low: int, high: int) -> int:
    """Return the whole number for which a mean that grows with it is nearest to the share won."""
    missed = cache(lambda number: mean(number) - wins)
    above = low + bisect_left(range(low, high), 0.0, key=missed)
    return min(max(low, above - 1), above, key=lambda number: abs(missed(number)))


def _stages(card: Card) -> dict[Round | None, _Sample]:
    """Play Charlestons; return what was kept after some of the passes, and (None) held when play begins."""
    opening = CHOOSING.coming(Round.FIRST_RIGHT, PASS_SIZE)
    as_dealt = []
    for number in range(_DEALS):
        check_stop()
        seat = deal_seats(_SEED, number)[0][number % 4]
        as_dealt.append(Moment.of(card, Situation(seat.rack, (), opening)).some_hand(opening))
    luck = np.array(as_dealt[:_TABLES]) - np.mean(as_dealt)
    moments: dict[Round | None, list[Moment]] = {stage: [] for stage in (*_ANCHORS, None)}
    for number in range(_TABLES):
        seats, mine = deal_seats(_SEED, number)[0], number % 4
        rules = [_Quick() if seat == mine else Careful() for seat in range(4)]
        made = play_charleston(card, seats, rules, Luck(_SEED, number, 1))
        held = seats[mine]
        kept: dict[Round | None, Situation] = {
            None: Situation(held.rack, held.seen(), CHOOSING.coming(None, 0))
        }
        for each, pile, seen in kept_after(made, mine):
            give = PASS_SIZE if each.given else 0
            kept[each.round] = Situation(pile, seen, CHOOSING.coming(each.round, give))
        for stage, some in moments.items():
            some.append(Moment.of(card, kept[stage]))
    return {stage: _Sample(some, luck) for stage, some in moments.items()}
