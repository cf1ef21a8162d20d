"""What work costs, told before it is done, in units of about a microsecond of one core.

Nearly all work is valuing tables of passes: a table costs something for each target and for each loss of a
target, and the losses can be counted beforehand. The rest is the model, which grows with the hands and with
the passes that it is asked for one after another. Measured against seconds by `tests.benchmarks.hostile`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from patterns.card import Card
from solver.coach.compose import Composition, Near, hands_called
from solver.coach.review import Record
from solver.deals import DealWish, Difficulty, deal, question_of
from solver.gives import RACKS
from solver.limits import hand_weights
from solver.odds import cost
from solver.passes import RackBits, loss_counts
from solver.rounds import PASS_SIZE, Round
from solver.situation import Question, tables_of

Place = tuple[str | int, ...]
_TABLE, _TARGET, _LOSS = 3_000.0, 5.0, 0.5
_SOLVE, _OPTION_PAIR = 1_000.0, 0.1
_PLAN = 30_000.0
_COMPOSED, _NEAR = 60_000.0, 300.0
_RECEIVED = 2.0
_GAME, _GAME_TARGET = 200_000.0, 200.0
# Each sample plays two more exchanges and values one; two tables are the same for all.
_TABLES_A_SAMPLE, _TABLES_FOR_ALL = 3, 2


@dataclass(frozen=True)
class Price:
    """What some work costs, in about microseconds of one core, and what makes it dear.

    The reasons are parts of the question, each with its place and in words.
    """

    units: float
    because: tuple[tuple[Place, str], ...] = ()

    def times(self, count: int, place: Place, words: str) -> Price:
        """Return the price of doing it several times, as a part of the question says in so many words."""
        return replace(self.by(place, f"{count:,} {words}"), units=self.units * count)

    def by(self, place: Place, words: str) -> Price:
        """Return the same price, made dear first of all by one part of the question."""
        return replace(self, because=((place, words), *self.because))

    def inside(self, *outer: str | int) -> Price:
        """Return the same price seen from an enclosing part."""
        return replace(self, because=tuple(((*outer, *place), words) for place, words in self.because))


def total(prices: Iterable[Price]) -> Price:
    """Return the price of doing several things; the dearest says why."""
    every = list(prices)
    dearest = max(every, key=lambda price: price.units, default=Price(0.0))
    return Price(sum(price.units for price in every), dearest.because)


def valuing(question: Question, size: int = PASS_SIZE) -> Price:
    """Return the price of one table of passes of so many tiles."""
    tables = tables_of(question.card)
    rows = hand_weights(question.card, question.limits)[tables.hand] > 0
    losses = int(loss_counts(tables, RackBits.of(question.situation.held), size, rows.nonzero()[0]).sum())
    targets = int(rows.sum())
    says = f"{targets:,} targets that the passes take {losses:,} different sets of tiles from"
    return Price(_TABLE + _TARGET * targets + _LOSS * losses).by(("card",), says)


def estimating(asked: Question | Record) -> Price:
    """Return the price of estimating the odds of a card that has no fit, as if none were kept."""
    units = None if asked.fit is not None or not asked.measured else cost(asked.card)
    if units is None:
        return Price(0.0)
    says = f"{asked.card.target_count:,} targets of a card without a fit, whose odds are estimated"
    return Price(units).by(("card",), says)


def playing(card: Card, games: int) -> Price:
    """Return the price of simulated games for a fit."""
    price = Price(_GAME + _GAME_TARGET * card.target_count)
    return price.times(games, ("count",), f"games with {card.target_count:,} targets")


def advising(question: Question) -> Price:
    """Return the price of advice: for each number of tiles a table, and a model solved for each pass."""
    hands, wanted = len(question.card.hands), question.alternatives + 1
    solving = Price(wanted * (_SOLVE + _OPTION_PAIR * (hands * wanted) ** 2))
    solving = solving.by(("card",), f"{hands:,} hands, for which {wanted:,} passes are proved best in turn")
    sizes = question.numbers_to_compare
    return total([*(valuing(question, size) for size in sizes), *[solving] * len(sizes)])


def explaining(question: Question) -> Price:
    """Return the price of `why`: the table under fewer and under more arrivals."""
    return valuing(question).times(2, ("why",), "tables more to explain it")


def giving(question: Question) -> Price:
    """Return the price of what a pass gives away: the racks that may get it, once a card."""
    targets = question.card.target_count
    says = f"{targets:,} targets of {RACKS} racks that may get the pass"
    return Price(RACKS * (_TABLE / 3 + _RECEIVED * targets)).by(("gives_away",), says)


def planning(question: Question, rounds: int) -> Price:
    """Return the price of a plan: tables of all that may be gone after each round."""
    first = question.tiles_given
    tables = total(valuing(question, first + PASS_SIZE * later) for later in range(rounds))
    return replace(tables.by(("rounds",), f"{rounds:,} rounds"), units=_PLAN + tables.units)


def passing(card: Card, passes: int) -> Price:
    """Return the price of so many passes at a table, each chosen by three careful players."""
    return Price((passes + 1) * (_TABLE + 2 * card.target_count))


def voting(question: Question, samples: int) -> Price:
    """Return the price of a vote."""
    tables = _TABLES_A_SAMPLE * samples + _TABLES_FOR_ALL
    price = valuing(question)
    return replace(price.times(samples, ("samples",), "samples"), units=price.units * tables)


def reviewing(record: Record) -> Price:
    """Return the price of grading a record: advice and hindsight at each exchange."""
    each = []
    for exchange in record.exchanges:
        give = len(exchange.given) if exchange.round is Round.COURTESY else None
        asked = Question(record.card, record.rack, exchange.round, give, limits=record.limits, alternatives=0)
        each.append(total([advising(asked), valuing(asked)]))
    return total(each).by(("exchanges",), f"{len(each):,} exchanges")


def dealing(wish: DealWish, each: float = 0.0) -> Price:
    """Return the price of deals, each as dear as the first: all that may be tried, unless every one fits.

    What one costs beside its advice is added.
    """
    fits = wish.difficulty is Difficulty.ANY and wish.family is None and not wish.limits.on_pass
    first = advising(question_of(wish, deal(wish.seed, wish.start, wish.size)))
    first = replace(first, units=first.units + each)
    if fits and wish.jokers is None:
        return first.times(min(wish.count, wish.budget), ("count",), "deals")
    return first.times(wish.budget, ("budget",), "deals to try")


def composing(asked: Composition) -> Price:
    """Return the price of racks composed to wishes, which grows with the targets that they are to be near."""
    card = asked.deals.card
    near = [hands_called(card, wish.name) for wish in asked.wishes if isinstance(wish, Near)]
    targets = sum(len(card.hands[hand].targets) for hands in near for hand in hands)
    return dealing(asked.deals, _COMPOSED + _NEAR * targets)
