"""Sampled futures: what comes in, one way a Charleston may go on, and the vote on the second one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Rack
from patterns.stopping import End, StoppedError, check_stop
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.arrivals import default_arrivals
from solver.deals import Luck
from solver.passes import PassTable
from solver.rounds import PASS_SIZE, SECOND_CHARLESTON, Round
from solver.situation import NATURALS, Question, Situation
from solver.why import Standings

DEFAULT_SAMPLES = 40

# How readily others pass each sort of tile they hold: thousandths of the tiles held that were passed, by
# round, for ranks 1 to 9, wind, dragon and flower. Provenance: three careful players at each of 368
# simulated tables (the even shuffles of 736 games, seed 1101, full card; `outcomes incoming`). On the other
# 368 a tile that came in was 1.35 to 1.45 times as likely by these shares as with all unseen tiles alike,
# and 2.4 times at the courtesy pass. Which ranks are of use hangs a little on the card; that winds, dragons
# and ends of suits go first does not.
SHARES: dict[Round, tuple[int, ...]] = {
    Round.FIRST_RIGHT: (273, 187, 140, 58, 48, 89, 149, 171, 259, 668, 626, 0),
    Round.FIRST_ACROSS: (245, 188, 133, 124, 78, 115, 131, 201, 253, 604, 584, 0),
    Round.FIRST_LEFT: (214, 234, 176, 117, 91, 119, 153, 195, 251, 574, 521, 0),
    Round.SECOND_LEFT: (222, 209, 162, 119, 107, 144, 175, 198, 255, 542, 493, 0),
    Round.SECOND_ACROSS: (227, 213, 157, 118, 103, 134, 173, 209, 248, 538, 500, 0),
    Round.SECOND_RIGHT: (232, 211, 161, 111, 98, 119, 169, 199, 256, 555, 491, 0),
    Round.COURTESY: (102, 72, 41, 20, 26, 30, 70, 69, 104, 530, 404, 0),
}
# A tile that was never passed may still be.
_LEAST_SHARE = 2

# Parts this luck from that of deals, which are named by a seed and a number too.
_LUCK = 0x1C3A_55E7

# How much less readily a kind comes of which the rack holds a tile: what is of use here is of use to others,
# too, who keep it. Provenance: expected hands after the second Charleston as predicted and as they came to be
# (`outcomes going-on`, tests/benchmarks/RESULTS.md).
HELD = 0.5

# At most this share of votes is called wrongly, and at most this share of those in which neither choice is
# better is called at all, however often one looks.
ERROR = 0.05
_ENOUGH = log(2 / ERROR)  # either choice may be called wrongly in half of them
# Shares to stake and their weights: Gauss's rule, by which all shares from 0 to 1 count evenly. It is exact
# up to 101 samples, and beyond them still a mixture of bets.
_NODES, _GAUSS = np.polynomial.legendre.leggauss(51)
_STAKES, _LOG_WEIGHTS = (1 + _NODES) / 2, np.log(_GAUSS / 2)
_HALVINGS = 40


def sort_of(tile: Tile) -> int:
    """Return the place of a natural's sort among the shares of a round: others treat all of it alike."""
    if tile.rank is not None:
        return tile.rank - 1
    return 9 if tile in WINDS else 10 if tile in DRAGONS else 11


def weights_of(round_: Round) -> tuple[int, ...]:
    """Return, for each natural in the fixed order, how readily others pass it when they hold it."""
    return tuple(max(_LEAST_SHARE, SHARES[round_][sort_of(tile)]) for tile in NATURALS)


def incoming(
    situation: Situation, exchanges: Sequence[tuple[Round, int]], seed: int, sample: int
) -> list[tuple[Tile, ...]]:
    """Return what comes in at some exchanges of a table, drawn from the unseen naturals; jokers never are.

    Each unseen tile comes in proportion to how readily others pass its sort, less so if the rack holds its
    kind. What comes depends on the tiles held and seen, the exchanges (rounds, with how many tiles come),
    the seed and the number of the sample only.
    """
    left = situation.unseen[:-1].astype(np.int64)
    held = situation.held > 0
    luck = Luck(_LUCK, seed, sample)
    came = []
    for round_, size in exchanges:
        weights = np.rint(weights_of(round_) * np.where(held, 10 * HELD, 10)).astype(np.int64)
        tiles = []
        for _ in range(size):
            shares = np.cumsum(left * weights)
            kind = int(np.searchsorted(shares, luck.below(int(shares[-1])), side="right"))
            left[kind] -= 1
            tiles.append(KINDS[kind])
        came.append(tuple(tiles))
    return came


@dataclass(frozen=True)
class Worth:
    """What a rack is worth as the courtesy pass is made: in strength, and in the chance of some hand.

    If measured, that is a chance that came true at simulated tables; if not, hands are taken to be
    independent, and one of another weight than 1 counts as so many.
    """

    value: float
    chance: float
    measured: bool


def going_on(question: Question) -> Question:
    """Return what is asked on the way from a question on: its limits on a pass hold for its own pass only.

    Stated arrivals by exchanges are dropped too: each pass on the way has those of its round.
    """
    limits = replace(question.limits, on_pass=())
    arrivals = question.arrivals and question.arrivals.after(0)
    return replace(question, limits=limits, arrivals=arrivals, alternatives=0)


def exchanged(question: Question, passed: Iterable[Tile], came: Iterable[Tile]) -> Question:
    """Return the question with the rack and the tiles seen after giving some tiles and receiving as many."""
    passed = tuple(passed)
    rack = Counter(question.rack.tiles)
    rack.subtract(passed)
    after = Rack((*(+rack).elements(), *came))
    return replace(question, rack=after, seen=(*question.seen, *passed))


def best_pass(question: Question, round_: Round, give: int) -> tuple[Tile, ...]:
    """Return the best pass of so many tiles in a round; what comes in is not known yet."""
    check_stop()
    if not give:
        return ()
    table = PassTable.of(_at(question, round_, give))
    return table.tiles(int(table.order[0]))


def played(question: Question, rounds: Sequence[Round], incoming: Sequence[Sequence[Tile]]) -> Question:
    """Return the question after several exchanges, the best pass at each."""
    for round_, came in zip(rounds, incoming, strict=True):
        question = exchanged(question, best_pass(question, round_, len(came)), came)
    return question


def worth_of(question: Question, courtesy: int) -> Worth:
    """Return what the best courtesy pass of so many tiles leaves; nothing has come in for it yet."""
    check_stop()
    question = _at(question, Round.COURTESY, courtesy)
    table = PassTable.of(question)
    best = int(table.order[0])
    value, after = float(table.strength[best]), table.score(best)
    hands = Standings(table.situation, table.tables, after, after, question.odds)
    if hands.some_hand is not None and np.isin(table.weights, (0, 1)).all():
        return Worth(value, hands.some_hand, True)
    return Worth(value, float(1 - np.prod((1 - after.reach) ** table.weights)), False)


def _at(question: Question, round_: Round, give: int) -> Question:
    question = replace(question, round=round_, give=give)
    if question.arrivals is None:
        return question
    # Stated draws and claims may leave less room than the exchanges of a round have by default.
    room = question.situation.outlook.naturals - question.arrivals.after(0).most
    exchanges = min(default_arrivals(round_, give).charleston, room)
    return replace(question, arrivals=question.arrivals.after(exchanges))


class Verdict(Enum):
    """What the samples say."""

    STOP = "stop"
    GO_ON = "go on"
    UNCLEAR = "too close to call"


def log_capital(values: NDArray[np.float64], mean: float) -> float:
    """Return the logarithm of what bets that the mean of values is greater than ``mean`` have made of 1.

    Who stakes a share s of all he has on a value x has 1 - s + s x / mean times as much after it. If the mean
    is not greater he is not expected to gain, whatever share he stakes, nor if all shares are tried evenly.
    So his capital ever reaches k with a chance of 1 / k at most, however often one looks: Ville's inequality.
    The (n,) values are drawn alike, and they and the mean are 0 or more.

    Sources: Robbins, Statistical methods related to the law of the iterated logarithm (1970), for coins;
    Cover, Universal portfolios (1991), for the mixture; Waudby-Smith and Ramdas, Estimating means of bounded
    random variables by betting (2024), for this use of it.
    """
    if mean <= 0:
        return inf if values.any() else 0.0
    logs = np.log1p(_STAKES[:, None] * (values / mean - 1)).sum(axis=1)
    return float(np.logaddexp.reduce(logs + _LOG_WEIGHTS))


def verdict_of(chances: NDArray[np.float64], stop: float) -> Verdict:
    """Return whether going on, by (n,) sampled chances, is clearly better or worse than stopping."""
    if log_capital(chances, stop) >= _ENOUGH:
        return Verdict.GO_ON
    return Verdict.STOP if log_capital(1 - chances, 1 - stop) >= _ENOUGH else Verdict.UNCLEAR


def mean_between(values: NDArray[np.float64]) -> tuple[float, float]:
    """Return bounds of the mean of (n,) values from 0 to 1, wrong at any look in a share `ERROR` at most."""
    return _least(values), 1 - _least(1 - values)


def _least(values: NDArray[np.float64]) -> float:
    low, high = 0.0, float(values.mean())
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if log_capital(values, middle) >= _ENOUGH else (low, middle)
    return low


@dataclass(frozen=True)
class Vote:
    """Both choices, stopping and going on (on average), and how sure the difference is.

    Attributes:
        error: Standard error of ``go_on.value``.
        low: The chance when going on is at least this, and at most ``high``: both hold at every look, but for
            a share `ERROR` of votes.
        samples: Samples taken, 2 or more.
        verdict: What is better by the chance, if the samples say so.
    """

    stop: Worth
    go_on: Worth
    error: float
    low: float
    high: float
    samples: int
    verdict: Verdict

    @classmethod
    def of(cls, stop: Worth, gone_on: Sequence[Worth]) -> Vote:
        """Judge by samples of going on, 2 or more."""
        values = np.array([worth.value for worth in gone_on])
        chances = np.array([worth.chance for worth in gone_on])
        error = float(values.std(ddof=1) / np.sqrt(len(values)))
        go_on = Worth(float(values.mean()), float(chances.mean()), stop.measured)
        return cls(stop, go_on, error, *mean_between(chances), len(gone_on), verdict_of(chances, stop.chance))

    @property
    def difference(self) -> float:
        """How much more going on is worth than stopping."""
        return self.go_on.value - self.stop.value


def vote(question: Question, *, courtesy: int, samples: int, seed: int) -> Vote:
    """Compare stopping with going on after the first Charleston.

    Either way a courtesy pass of ``courtesy`` tiles (0-3) follows, and the best pass is made each time. Both
    are judged by the chance of some hand as the courtesy pass is made: exact when stopping, as nothing comes
    in before it, and by 2 or more samples of what comes in when going on, fewer when the answer is clear. The
    question is of the rack after the first left pass, at a table; its round, its limits on the pass and its
    stated arrivals by exchanges do not count.
    """
    start = going_on(replace(question, round=Round.SECOND_LEFT, give=None))
    exchanges = [(round_, PASS_SIZE) for round_ in SECOND_CHARLESTON]
    # Before anything comes in the rack is the same in every sample, and so is this pass.
    first = best_pass(start, SECOND_CHARLESTON[0], PASS_SIZE)

    def draw(sample: int) -> Worth:
        now, *then = incoming(start.situation, exchanges, seed, sample)
        return worth_of(played(exchanged(start, first, now), SECOND_CHARLESTON[1:], then), courtesy)

    return sample_until_clear(worth_of(start, courtesy), draw, samples)


def sample_until_clear(stop: Worth, draw: Callable[[int], Worth], most: int) -> Vote:
    """Sample going on until one choice is clearly better, or time is over, or as many samples are taken.

    Those are 2 or more, and named by their number from 0.

    Raises:
        StoppedError: the work is to end, and not for time; or for time, and there are no two samples.
    """
    found = [draw(0)]
    for sample in range(1, most):
        try:
            found.append(draw(sample))
        except StoppedError as stopped:
            if stopped.end is not End.TIME or len(found) < 2:
                raise
            # What the samples say is true at any look.
            break
        if verdict_of(np.array([worth.chance for worth in found]), stop.chance) is not Verdict.UNCLEAR:
            break
    return Vote.of(stop, found)
