"""Where a player loses, by groups of graded passes, each against the rest; and which to play again, and when.

Losses are shares of what the best pass keeps. A group is said to cost more only where it and the rest are
large enough and the interval of their difference lies above zero; the intervals of all groups hold together
(Bonferroni), so that a report with anything false in it is at most one in twenty.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import Enum
from statistics import NormalDist

import numpy as np
from fsrs import Card, Rating, Scheduler
from numpy.typing import NDArray

from patterns.tiles import Suit, Tile
from solver.rounds import RULES, Round

FEWEST = 20
LEVEL = 0.95
_THIRDS = ("quick", "middling", "slow")
# Days; a weak spot is seen again at least once a year.
_LONGEST = 365


class By(Enum):
    """What passes are grouped by."""

    ROUND = "round"
    SECONDS = "seconds"
    GIVEN = "given"
    DIRECTION = "direction"


@dataclass(frozen=True)
class Played:
    """A pass that was made and graded.

    Attributes:
        at: When, with its zone.
        seen: Own tiles passed before, not come back.
        left: Exchanges left in a drill, this one among them; None at a table.
        best: Own tiles of the best pass, or None when that was not kept.
        blind: Incoming tiles passed on unseen, 0-3.
        seconds: None when no time was taken.
        share: What was lost as a share of the best, 0 to 1.
        family: That of the hand which the pass gave up most of, or None when nothing was lost.
    """

    at: datetime
    card: str
    rack: Sequence[Tile]
    seen: Sequence[Tile]
    round: Round
    left: int | None
    given: Sequence[Tile]
    best: Sequence[Tile] | None
    blind: int
    seconds: float | None
    share: float
    family: str | None

    @property
    def asked(self) -> tuple[Hashable, ...]:
        """What was asked: the same whatever the order of tiles."""
        rack, seen = (
            tuple(sorted(tiles, key=lambda tile: tile.position)) for tiles in (self.rack, self.seen)
        )
        return (self.card, rack, seen, self.round, self.left)


@dataclass(frozen=True)
class Group:
    """Passes with something in common, against the other passes that might have had it.

    Attributes:
        name: A round, a third of the times, what was given, or a family.
        mean: Their mean loss.
        seconds: The shortest and the longest time among them, where they are grouped by it.
        interval: Of the mean, at 95 %; None where they or the others are too few, as are the next two.
        rest: Mean loss of the others.
        difference: Interval of mean less rest; those of all groups hold together at 95 %.
    """

    by: By
    name: str
    passes: int
    mean: float
    seconds: tuple[float, float] | None = None
    interval: tuple[float, float] | None = None
    rest: float | None = None
    difference: tuple[float, float] | None = None

    @property
    def costs(self) -> bool:
        """Whether its passes are known to lose more than the rest."""
        return self.difference is not None and self.difference[0] > 0

    @property
    def excess(self) -> float:
        """How much more all its passes lose than as many of the rest, 0 where that is not known."""
        return 0.0 if self.rest is None else self.passes * (self.mean - self.rest)


def groups_of(passes: Sequence[Played]) -> list[Group]:
    """Return the groups of passes: those that cost more first, the costliest at the top.

    Directions are compared among passes that lost something, times among those timed, and what was given
    among those that might have given it.
    """
    shares = np.array([each.share for each in passes])
    # Where there is no rest there is nothing to compare.
    found = [each for each in _grouped(passes) if {0, 1} <= set(each[2].tolist())]
    enough = [min((inside == 1).sum(), (inside == 0).sum()) >= FEWEST for _, _, inside in found]
    level = 1 - (1 - LEVEL) / max(1, sum(enough))
    groups: list[Group] = []
    for (by, name, inside), told in zip(found, enough, strict=True):
        group, rest = shares[inside == 1], shares[inside == 0]
        seconds = _span(passes, inside) if by is By.SECONDS else None
        made = Group(by, name, len(group), float(group.mean()), seconds)
        if told:
            interval, difference = mean_interval(group, LEVEL), welch_interval(group, rest, level)
            made = replace(made, interval=interval, rest=float(rest.mean()), difference=difference)
        groups.append(made)
    order = list(By)
    return sorted(groups, key=lambda each: (not each.costs, -each.excess * each.costs, order.index(each.by)))


# For each pass 1 if it is in a group, 0 if it is of the rest, and -1 if it could be neither.
_Inside = NDArray[np.int8]


def _grouped(passes: Sequence[Played]) -> Iterator[tuple[By, str, _Inside]]:
    def inside(told: Iterable[bool | None]) -> _Inside:
        return np.array([-1 if each is None else int(each) for each in told], np.int8)

    times = sorted(each.seconds for each in passes if each.seconds is not None)
    edges = [times[len(times) * third // 3] for third in (1, 2)] if times else []
    thirds = [
        None if s is None else _THIRDS[sum(s >= edge for edge in edges)]
        for s in (each.seconds for each in passes)
    ]
    families = [each.family for each in passes]
    for by, names, values in (
        (By.ROUND, [each.value for each in Round], [each.round.value for each in passes]),
        (By.SECONDS, _THIRDS, thirds),
        (By.DIRECTION, sorted(set(filter(None, families))), families),
    ):
        for name in names:
            yield by, name, inside(None if value is None else value == name for value in values)
    given = [_given_of(each) for each in passes]
    for name in given[0] if given else ():
        yield By.GIVEN, name, inside(each[name] for each in given)


def _span(passes: Sequence[Played], inside: _Inside) -> tuple[float, float]:
    times = [each.seconds or 0.0 for each, is_in in zip(passes, inside, strict=True) if is_in == 1]
    return min(times), max(times)


def _given_of(played: Played) -> dict[str, bool | None]:
    """Return whether something was given, by its name, and None where it could not be."""
    held: Counter[Tile] = Counter(tile for tile in played.rack if tile is not Tile.JOKER)
    suited = Counter(tile.rank for tile in held)
    flowers: set[Tile] = {tile for tile in held if tile is Tile.FLOWER}
    once, twice = ({tile for tile in held if held[tile] == copies} for copies in (1, 2))
    could = {
        "pair": twice - flowers,
        "flower": flowers,
        "lone": {tile for tile in once - flowers if tile.suit is None},
        "rank": {tile for tile in once if tile.suit is not None and suited[tile.rank] == len(Suit)},
    }
    told = {name: not kinds.isdisjoint(played.given) if kinds else None for name, kinds in could.items()}
    return {**told, "blind": played.blind > 0 if RULES[played.round].blind else None}


def mean_interval(values: NDArray[np.float64], level: float) -> tuple[float, float]:
    """Return Student's interval of the mean of (n,) values, two or more; not below 0, as no loss is."""
    half = t_quantile((1 + level) / 2, len(values) - 1) * math.sqrt(values.var(ddof=1) / len(values))
    return max(0.0, float(values.mean()) - half), float(values.mean()) + half


def welch_interval(one: NDArray[np.float64], other: NDArray[np.float64], level: float) -> tuple[float, float]:
    """Return the interval of the difference of two means, of unequal variances, two or more values each.

    Source: B. L. Welch, The generalization of "Student's" problem when several different population
    variances are involved, Biometrika 34 (1947), with the degrees of freedom given there.
    """
    first, second = (float(values.var(ddof=1)) / len(values) for values in (one, other))
    difference = float(one.mean() - other.mean())
    if first + second == 0:
        return difference, difference
    freedom = (first + second) ** 2 / (first**2 / (len(one) - 1) + second**2 / (len(other) - 1))
    half = t_quantile((1 + level) / 2, freedom) * math.sqrt(first + second)
    return difference - half, difference + half


def t_quantile(chance: float, freedom: float) -> float:
    """Return the quantile of Student's t, good to 5e-5 from 19 degrees of freedom on.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5.
    """
    x = NormalDist().inv_cdf(chance)
    terms = (
        (x**3 + x) / 4,
        (5 * x**5 + 16 * x**3 + 3 * x) / 96,
        (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384,
        (79 * x**9 + 776 * x**7 + 1482 * x**5 - 1920 * x**3 - 945 * x) / 92_160,
    )
    return x + sum(term / freedom**power for power, term in enumerate(terms, 1))


@dataclass(frozen=True)
class Repeat:
    """A pass on the list: the index of its latest attempt, when it is due again, how often it was tried."""

    index: int
    due: datetime
    times: int


def repeats(passes: Sequence[Played], more_than: float) -> list[Repeat]:
    """Return the passes that ever lost more than a share (0 to 1), those that are due first at the top.

    By spaced repetition, of the kept library `fsrs`.
    The first attempt that lost so much puts a pass on the list. From then on each attempt tells when it is
    due again: the less was lost, the later. Those of the same time count in the order they come in.
    """
    # Without fuzz the same attempts give the same days.
    scheduler = Scheduler(maximum_interval=_LONGEST, enable_fuzzing=False)
    cards: dict[Hashable, Card] = {}
    found: dict[Hashable, Repeat] = {}
    for index, played in sorted(enumerate(passes), key=lambda each: each[1].at):
        asked = played.asked
        if asked not in cards and played.share <= more_than:
            continue
        at = played.at.astimezone(UTC)
        # A number of its own spares the library the look at the clock by which it would make one.
        card = cards.get(asked) or Card(card_id=index, due=at)
        cards[asked], _ = scheduler.review_card(card, _rating(played.share, more_than), at)
        times = found[asked].times + 1 if asked in found else 1
        found[asked] = Repeat(index, cards[asked].due, times)
    return sorted(found.values(), key=lambda each: each.due)


def _rating(share: float, more_than: float) -> Rating:
    if share > more_than:
        return Rating.Again
    if share > more_than / 2:
        return Rating.Hard
    return Rating.Good if share > 0 else Rating.Easy
