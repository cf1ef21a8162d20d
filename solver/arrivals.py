"""Arrivals: how many tiles are still expected to come, and from where."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from solver.rounds import ORDER, PASS_SIZE, Drill, Round

# Chances nearer to 0 or 1 have the logit of this.
LEAST = 1e-6


@dataclass(frozen=True)
class Length:
    """One length that play may have, and its share among all lengths.

    Draws may be jokers; claims are discards of others, never jokers, of use only to groups of three or more
    of a hand that is not concealed.
    """

    draws: int
    claims: int
    share: float = 1.0


@dataclass(frozen=True)
class Arrivals:
    """Tiles still to come: from exchanges, never jokers, and as long as play may last; shares sum to 1."""

    charleston: int
    lengths: tuple[Length, ...]

    @classmethod
    def of(cls, charleston: int, draws: int, claims: int) -> Arrivals:
        """Return the arrivals of one length of play."""
        return cls(charleston, (Length(draws, claims),))

    @property
    def parts(self) -> tuple[tuple[float, Arrivals], ...]:
        """Each length by itself, with its share."""
        return tuple(
            (each.share, Arrivals.of(self.charleston, each.draws, each.claims)) for each in self.lengths
        )

    @property
    def most(self) -> int:
        """Tiles to come in all when play lasts longest."""
        return max(self.charleston + each.draws + each.claims for each in self.lengths)

    @property
    def mean_draws(self) -> float:
        """Draws on average."""
        return sum(each.share * each.draws for each in self.lengths)

    @property
    def mean_claims(self) -> float:
        """Claims on average."""
        return sum(each.share * each.claims for each in self.lengths)

    def after(self, charleston: int) -> Arrivals:
        """Return the same draws and claims with so many tiles from exchanges."""
        return replace(self, charleston=charleston)

    def without_claims(self) -> Arrivals:
        """Return the same, nothing to claim."""
        return replace(self, lengths=tuple(replace(each, claims=0) for each in self.lengths))

    def scaled(self, share: float, room: int) -> Arrivals:
        """Return draws and claims times a share, rounded, as far as there is room after the exchanges."""
        lengths = []
        for each in self.lengths:
            draws = min(round(each.draws * share), room - self.charleston)
            claims = min(round(each.claims * share), room - self.charleston - draws)
            lengths.append(replace(each, draws=draws, claims=claims))
        return replace(self, lengths=tuple(lengths))


@dataclass(frozen=True)
class Play:
    """How much is still to come to a player, round by round, when a question names nothing else.

    Attributes:
        lengths: Lengths of play; their shares sum to 1.
        later: For each round in the order of play, what the exchanges after it are worth, in tiles that come
            for nothing: fewer than will come, as each costs tiles of one's own, and others pass what is of
            little use. Below 0 where what comes in now is worth less than its number.
    """

    lengths: tuple[Length, ...]
    later: tuple[int, ...]

    def coming(self, round_: Round | None, give: int) -> Arrivals:
        """Return what is to come as 0-3 own tiles go in a round and as many come in; None: all are over."""
        exchanges = 0 if round_ is None else max(0, give + self.later[ORDER.index(round_)])
        return Arrivals(exchanges, self.lengths)


# What passes are chosen by, on every card. Nobody knows how long a game will last, and one number in place of
# several predicts too much for good racks and too little for poor ones.
# Provenance: simulated tables of one advised and three careful players (736 games, seed 1101, full card): the
# two lengths under which the outcomes of half of them were likeliest, shares rounded, and then the exchanges
# that bring the mean chance of some hand after each round nearest to the share of players who completed one
# (the second Charleston always played). Shorter than play is: hands share tiles, and their chances are put
# together as if they did not.
CHOOSING = Play((Length(12, 8, 0.8), Length(24, 0, 0.2)), (6, 4, 3, 2, 0, 0, 0))


class Make(Enum):
    """What a target is made of: play helps such hands unlike, by discards that may be called."""

    GROUPS = "groups"
    SOME_PAIRS = "some_pairs"
    PAIRS_ONLY = "pairs_only"
    CONCEALED = "concealed"


def logits(chances: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the logarithms of the odds of chances, 0-1."""
    inside = np.clip(chances, LEAST, 1 - LEAST)
    found: NDArray[np.float64] = np.log(inside / (1 - inside))
    return found


@dataclass(frozen=True)
class Sharpness:
    """How far apart chances lie that are true on average: on every card too far, or too near, in its own way.

    Attributes:
        share: Share of games won (0-1), about which chances are drawn together or apart.
        factor: Of the distance, in logits; 1 changes nothing.
    """

    share: float = 0.25
    factor: float = 1.0

    def of(self, chances: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return chances of the right sharpness (Platt 1999, from memory); what is certain stays so."""
        middle = np.log(self.share / (1 - self.share))
        drawn = middle + self.factor * (logits(chances) - middle)
        certain = (chances <= 0) | (chances >= 1)
        sharp: NDArray[np.float64] = np.where(certain, chances, 1 / (1 + np.exp(-drawn)))
        return sharp


@dataclass(frozen=True)
class Odds:
    """What comes after a pass, for chances that come true: a `Fit` at one moment.

    For the chance of some hand it is None where it is not known how often those that count win.
    """

    some_hand: Arrivals | None
    alone: tuple[Arrivals, ...]
    sharpness: Sharpness = Sharpness()


class Source(Enum):
    """Where odds come from."""

    FIT = "fit"
    ESTIMATE = "estimate"
    NONE = "none"


@dataclass(frozen=True)
class Fit:
    """What makes the odds on one card true: it chooses nothing.

    Attributes:
        some_hand: For the chance of some hand, hands taken to be independent, and how sharp that is.
        alone: For each `Make` in order, for one such hand and a player who goes for nothing else. Hands
            share tiles, so what makes the chance of some hand true is too little for one; and what is
            completed by a discard that could not be called before is not in reach, so makes are unlike.
            It is stated up to the chance of some hand.
        games: How many games it was fitted to; 0 for an estimate.
        error: Expected calibration error of the chance of some hand when play begins, on games held back;
            None where none were.
    """

    some_hand: Play
    alone: tuple[Play, ...]
    source: Source = Source.FIT
    games: int = 0
    error: float | None = None
    sharpness: Sharpness = Sharpness()

    def odds(self, round_: Round | None, give: int, *, of_some: bool) -> Odds:
        """Return what comes after a pass; arguments as of `Play.coming`, and whether some hand is told of."""
        some = self.some_hand.coming(round_, give) if of_some else None
        return Odds(some, tuple(play.coming(round_, give) for play in self.alone), self.sharpness)


def default_arrivals(round_: Round | None, give: int = 0) -> Arrivals:
    """Return the arrivals assumed when a question names none; see `Play.coming`."""
    return CHOOSING.coming(round_, give)


def drill_arrivals(drill: Drill, give: int) -> Arrivals:
    """Return what comes in a drill as 0-3 own tiles go: the heap's tiles, none a joker, nothing to claim."""
    later = PASS_SIZE * (drill.exchanges_left - 1)
    return Arrivals.of(give + later, drill.then_draws, 0)
