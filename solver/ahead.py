"""Sampled futures: what comes in, one way a Charleston may go on, and the vote on the second one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Rack
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.arrivals import default_arrivals
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.model import Stopper
from solver.passes import PassTable, score
from solver.rounds import PASS_SIZE, SECOND_CHARLESTON, Round
from solver.situation import Question, Situation, tables_of

DEFAULT_SAMPLES = 24

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

# Sampling stops early only when one choice is so many standard errors ahead of the other, and not before so
# many samples: looking again and again at a fair coin calls it at three errors about once in a hundred.
CLEAR_ERRORS = 3.0
FEWEST_SAMPLES = 8


class TileSort(Enum):
    """Kinds of tile that others treat alike: ranks whatever the suit, winds, dragons and flowers."""

    ONE = "1"
    TWO = "2"
    THREE = "3"
    FOUR = "4"
    FIVE = "5"
    SIX = "6"
    SEVEN = "7"
    EIGHT = "8"
    NINE = "9"
    WIND = "wind"
    DRAGON = "dragon"
    FLOWER = "flower"


def sort_of(tile: Tile) -> TileSort:
    """Return the sort of a natural.

    Raises:
        ValueError: a joker has none; it is never passed.
    """
    if tile in WINDS:
        return TileSort.WIND
    if tile in DRAGONS:
        return TileSort.DRAGON
    if tile is Tile.FLOWER:
        return TileSort.FLOWER
    if tile is Tile.JOKER:
        raise ValueError("a joker is never passed")
    return TileSort(str(tile.rank))


def weights_of(round_: Round) -> tuple[int, ...]:
    """Return, for each natural in the fixed order, how readily others pass it when they hold it."""
    shares = dict(zip(TileSort, SHARES[round_], strict=True))
    return tuple(max(_LEAST_SHARE, shares[sort_of(tile)]) for tile in KINDS if tile is not Tile.JOKER)


def incoming(
    situation: Situation, exchanges: Sequence[tuple[Round, int]], seed: int, sample: int
) -> list[tuple[Tile, ...]]:
    """Return what comes in at some exchanges of a table, drawn from the unseen naturals; jokers never are.

    Each unseen tile comes in proportion to how readily others pass its sort. What comes depends on the
    tiles held and seen, the exchanges, the seed and the sample only, so that choices are compared on equal
    luck.

    Args:
        situation: Rack and tiles seen; as many naturals are unseen as come in, or more.
        exchanges: Rounds and how many tiles come in at each.
        seed: Names the luck.
        sample: Numbers the sample.
    """
    left = situation.unseen[:-1].tolist()
    luck = Luck(_LUCK, seed, sample)
    came = []
    for round_, size in exchanges:
        weights = weights_of(round_)
        tiles = []
        for _ in range(size):
            place = luck.below(sum(count * weight for count, weight in zip(left, weights, strict=True)))
            for kind, (count, weight) in enumerate(zip(left, weights, strict=True)):  # noqa: B007
                if place < count * weight:
                    break
                place -= count * weight
            left[kind] -= 1
            tiles.append(KINDS[kind])
        came.append(tuple(tiles))
    return came


@dataclass(frozen=True)
class Path:
    """One way a Charleston may go on.

    Attributes:
        question: The question with the rack and the tiles seen as they are now.
    """

    question: Question

    @classmethod
    def start(cls, question: Question) -> Path:
        """Begin at a question; limits on a pass hold for its own pass only, so they are dropped.

        Stated arrivals by exchanges are dropped too: each pass on the way has those of its round.
        """
        limits = question.limits
        kept = Limits.of(only=limits.only, without=limits.without, weights=limits.weights)
        arrivals = question.arrivals and question.arrivals.after(0)
        return cls(replace(question, limits=kept, arrivals=arrivals, alternatives=0))

    def exchange(self, passed: Iterable[Tile], incoming: Sequence[Tile]) -> Path:
        """Return the path after giving some tiles and receiving as many."""
        passed = tuple(passed)
        rack = Counter(self.question.rack.tiles)
        rack.subtract(passed)
        after = Rack((*(+rack).elements(), *incoming))
        return Path(replace(self.question, rack=after, seen=(*self.question.seen, *passed)))

    def best_pass(self, round_: Round, give: int, stopper: Stopper) -> tuple[Tile, ...]:
        """Return the best pass of so many tiles; what comes in is not known yet."""
        stopper.check()
        if not give:
            return ()
        table = PassTable.of_question(self._at(round_, give))
        return table.tiles(int(table.order[0]))

    def play(self, rounds: Sequence[Round], incoming: Sequence[Sequence[Tile]], stopper: Stopper) -> Path:
        """Return the path after several exchanges, the best pass at each."""
        path = self
        for round_, came in zip(rounds, incoming, strict=True):
            path = path.exchange(path.best_pass(round_, len(came), stopper), came)
        return path

    def value(self) -> float:
        """Return the expected hands once all exchanges are over: only draws and claims are to come."""
        question = self.question
        situation = Situation(question.rack, question.seen, question.situation.arrivals.after(0))
        weights = hand_weights(question.card, question.limits)
        return score(situation, tables_of(question.card), weights, ()).expected

    def _at(self, round_: Round, give: int) -> Question:
        question = replace(self.question, round=round_, give=give)
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


@dataclass(frozen=True)
class Vote:
    """Both values and how sure the difference is.

    Attributes:
        stop: Mean expected hands at the end when the second Charleston is not played.
        go_on: The same when it is.
        error: Standard error of the difference, from paired samples.
        samples: Samples taken, 2 or more.
    """

    stop: float
    go_on: float
    error: float
    samples: int

    @classmethod
    def of(cls, values: NDArray[np.float64]) -> Vote:
        """Judge (samples, 2) values of stopping and of going on."""
        stop, go_on = values.mean(axis=0).tolist()
        error = (values[:, 1] - values[:, 0]).std(ddof=1) / np.sqrt(len(values))
        return cls(stop, go_on, float(error), len(values))

    @property
    def difference(self) -> float:
        """How much more going on is worth than stopping."""
        return self.go_on - self.stop

    @property
    def verdict(self) -> Verdict:
        """What is three standard errors ahead, if anything is."""
        if abs(self.difference) <= CLEAR_ERRORS * self.error:
            return Verdict.UNCLEAR
        return Verdict.GO_ON if self.difference > 0 else Verdict.STOP


def vote(
    question: Question, *, courtesy: int, samples: int, seed: int, stopper: Stopper | None = None
) -> Vote:
    """Compare stopping with going on after the first Charleston.

    Either way a courtesy pass of ``courtesy`` tiles follows, with the same incoming tiles. The best pass
    is made each time. The value is that of the rack when only draws and claims are still to come.

    Args:
        question: The rack after the first left pass, of a table; its round, its limits on the pass and
            its stated arrivals by exchanges do not count.
        courtesy: Tiles exchanged at the courtesy pass, 0-3.
        samples: Most samples to take, 2 or more; fewer when the answer is clear sooner.
        seed: Names the luck.
        stopper: Ends the work on request.

    Raises:
        FaultyInputError: limits that name what the card does not have, or leave no hand.
        StoppedError: a stop was asked for.
    """
    stopper = stopper or Stopper()
    start = Path.start(replace(question, round=Round.SECOND_LEFT, give=None))
    exchanges = [*((round_, PASS_SIZE) for round_ in SECOND_CHARLESTON), (Round.COURTESY, courtesy)]

    # Before anything comes in the rack is the same in every sample, and so are these two passes.
    first = start.best_pass(SECOND_CHARLESTON[0], PASS_SIZE, stopper)
    last = start.best_pass(Round.COURTESY, courtesy, stopper)

    def draw(sample: int) -> tuple[float, float]:
        now, *then, by_courtesy = incoming(start.question.situation, exchanges, seed, sample)
        rounds, came = (*SECOND_CHARLESTON[1:], Round.COURTESY), (*then, by_courtesy)
        gone_on = start.exchange(first, now).play(rounds, came, stopper)
        return start.exchange(last, by_courtesy).value(), gone_on.value()

    return sample_until_clear(draw, samples)


def sample_until_clear(draw: Callable[[int], tuple[float, float]], most: int) -> Vote:
    """Sample both choices until one is clearly ahead, or as often as allowed.

    Args:
        draw: Returns the values of stopping and of going on in a sample, named by its number from 0.
        most: Most samples to take, 2 or more.
    """
    rows = [draw(0)]
    for sample in range(1, most):
        rows.append(draw(sample))
        result = Vote.of(np.array(rows))
        if len(rows) >= FEWEST_SAMPLES and result.verdict is not Verdict.UNCLEAR:
            break
    return result
