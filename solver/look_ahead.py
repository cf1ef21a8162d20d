"""Look-ahead: the best few passes, compared by what is reached once the exchanges are over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Rack
from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.arrivals import default_arrivals, drill_arrivals
from solver.deals import Luck
from solver.limits import Limits, hand_weights
from solver.model import Stopper
from solver.passes import PassTable, score
from solver.rounds import PASS_SIZE, Round, sure_to_follow
from solver.situation import Question, Situation, tables_of

# Thousandths of the tiles held that were passed, by round: ranks 1 to 9, wind, dragon, flower.
SHARES: dict[Round, tuple[int, ...]] = {
    Round.FIRST_RIGHT: (294, 214, 174, 111, 91, 121, 166, 287, 357, 556, 315, 0),
    Round.FIRST_ACROSS: (306, 225, 192, 138, 118, 150, 199, 309, 367, 487, 225, 0),
    Round.FIRST_LEFT: (296, 233, 198, 155, 138, 168, 210, 309, 355, 443, 212, 0),
    Round.SECOND_LEFT: (292, 232, 201, 170, 160, 188, 221, 300, 343, 414, 199, 0),
    Round.SECOND_ACROSS: (295, 238, 198, 173, 164, 188, 223, 300, 341, 404, 195, 0),
    Round.SECOND_RIGHT: (293, 244, 202, 168, 158, 186, 221, 303, 342, 400, 195, 0),
    Round.COURTESY: (122, 87, 54, 38, 28, 45, 61, 120, 161, 351, 176, 0),
}


# Parts this luck from that of deals, which are named by a seed and a number too.
_LUCK = 0x1C3A_55E7
# A tile that was never passed may still be.
_LEAST = 2


class Sort(Enum):
    """Kinds of tile that others treat alike: ranks whatever the suit, and the honours."""

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


def sort_of(tile: Tile) -> Sort:
    """Return the sort of a natural.

    Raises:
        ValueError: a joker has none; it is never passed.
    """
    if tile in WINDS:
        return Sort.WIND
    if tile in DRAGONS:
        return Sort.DRAGON
    if tile is Tile.FLOWER:
        return Sort.FLOWER
    if tile is Tile.JOKER:
        raise ValueError("a joker is never passed")
    return Sort(str(tile.rank))


def weights_of(round_: Round) -> tuple[int, ...]:
    """Return, for each natural in the fixed order, how readily others pass it when they hold it."""
    shares = dict(zip(Sort, SHARES[round_], strict=True))
    return tuple(max(_LEAST, shares[sort_of(tile)]) for tile in KINDS if tile is not Tile.JOKER)


def incoming(
    question: Question, exchanges: Sequence[tuple[Round, int]], seed: int, sample: int
) -> list[tuple[Tile, ...]]:
    """Return what comes in at some exchanges, drawn from the unseen naturals; jokers never are.

    At a table each unseen tile comes in proportion to how readily others pass its sort (see
    `passed_shares`); in a drill all are equally likely. What comes depends on the rack, the tiles seen,
    the exchanges, the seed and the sample only, so that choices are compared on equal luck.

    Args:
        question: The question.
        exchanges: Rounds and how many tiles come in at each.
        seed: Names the luck.
        sample: Numbers the sample.
    """
    left = question.situation.unseen[:-1].tolist()
    luck = Luck(_LUCK, seed, sample)
    came = []
    for round_, size in exchanges:
        weights = weights_of(round_) if question.drill is None else (1,) * len(left)
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


# Stop early only when the leader is so many standard errors ahead of every other choice, and not before
# so many samples: looking again and again at a fair coin calls it at three errors about once in a hundred.
CLEAR_ERRORS = 3.0
FEWEST_SAMPLES = 8


@dataclass(frozen=True)
class Comparison:
    """One choice against the leader.

    Attributes:
        mean: Its mean value.
        behind: How far its mean is behind the leader's, 0 for the leader.
        error: Standard error of ``behind`` from paired differences; 0 for the leader, and infinite from
            one sample.
    """

    mean: float
    behind: float
    error: float


def compare(values: NDArray[np.float64]) -> tuple[int, tuple[Comparison, ...]]:
    """Return the leader's index and every choice against it.

    Args:
        values: (samples, choices), one row a sample; at least one sample.
    """
    means = values.mean(axis=0)
    leader = int(means.argmax())
    results = []
    for choice in range(values.shape[1]):
        differences = values[:, leader] - values[:, choice]
        if choice == leader:
            error = 0.0
        elif len(differences) < 2:
            error = float("inf")
        else:
            error = float(differences.std(ddof=1) / np.sqrt(len(differences)))
        results.append(Comparison(float(means[choice]), float(differences.mean()), error))
    return leader, tuple(results)


def sample_until_clear(
    draw: Callable[[int], list[float]], most: int, progress: Callable[[int, int], None] | None
) -> NDArray[np.float64]:
    """Sample until the leader is clear, or as often as allowed.

    Args:
        draw: Returns the value of each choice in a sample, named by its number from 0.
        most: Most samples to take, 1 or more.
        progress: Told samples done and most samples.

    Returns:
        (samples, choices) values.
    """
    rows: list[list[float]] = []
    for sample in range(most):
        rows.append(draw(sample))
        if progress is not None:
            progress(sample + 1, most)
        if clear(np.array(rows)):
            break
    return np.array(rows)


def clear(values: NDArray[np.float64]) -> bool:
    """Return whether the leader is clearly ahead of every other choice."""
    if len(values) < FEWEST_SAMPLES:
        return False
    leader, results = compare(values)
    return all(
        result.behind > CLEAR_ERRORS * result.error
        for choice, result in enumerate(results)
        if choice != leader
    )


@dataclass(frozen=True)
class Path:
    """A rack on its way through the exchanges.

    Attributes:
        question: The question with the rack and the tiles seen as they are now.
    """

    question: Question

    @classmethod
    def start(cls, question: Question) -> Path:
        """Begin at a question; limits on single tiles hold for its own pass only, so they are dropped.

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

    def pass_best(self, round_: Round, incoming: Sequence[Tile], stopper: Stopper) -> Path:
        """Return the path after the best pass of as many tiles as come in."""
        if not incoming:
            return self
        question = self._at(round_, len(incoming))
        stopper.check()
        table = PassTable.of_question(question)
        return self.exchange(table.tiles(int(table.order[0])), incoming)

    def play(self, rounds: Sequence[Round], incoming: Sequence[Sequence[Tile]], stopper: Stopper) -> Path:
        """Return the path after several exchanges, the best pass at each.

        Args:
            rounds: The rounds to play, or as many ``Round`` as a drill has exchanges.
            incoming: What comes in at each, as many tiles as go.
            stopper: Ends the work on request.
        """
        path = self
        for index, (round_, came) in enumerate(zip(rounds, incoming, strict=True)):
            left = len(rounds) - index
            path = replace(path, question=_with_exchanges_left(path.question, left))
            path = path.pass_best(round_, came, stopper)
        return path

    def value(self) -> float:
        """Return the expected hands once all exchanges are over: only draws and claims are to come."""
        question = self.question
        arrivals = question.situation.arrivals.after(0)
        situation = Situation(question.rack, question.seen, arrivals, question.drill is None)
        weights = hand_weights(question.card, question.limits)
        return score(situation, tables_of(question.card), weights, ()).expected

    def _at(self, round_: Round, give: int) -> Question:
        question = replace(self.question, round=round_, give=give)
        if question.arrivals is None:
            return question
        own = drill_arrivals(question.drill, give) if question.drill else default_arrivals(round_, give)
        # Stated draws and claims may leave less room than the exchanges of a round have by default.
        room = question.situation.outlook.naturals - question.arrivals.after(0).most
        return replace(question, arrivals=question.arrivals.after(min(own.charleston, room)))


def _with_exchanges_left(question: Question, left: int) -> Question:
    if question.drill is None:
        return question
    return replace(question, drill=replace(question.drill, exchanges_left=left))


MAX_SAMPLES = 200
DEFAULT_SAMPLES = 24


@dataclass(frozen=True)
class AheadPass:
    """One pass and what it leads to."""

    passed: tuple[Tile, ...]
    comparison: Comparison


@dataclass(frozen=True)
class LookAhead:
    """The deeper answer.

    Attributes:
        passes: The passes compared, in the order given (best first by the plain answer).
        chosen: Index of the one to give: the leader if clearly ahead of the first, else the first.
        samples: Samples taken.
        exchanges: Exchanges played in each, the present one included.
    """

    passes: tuple[AheadPass, ...]
    chosen: int
    samples: int
    exchanges: int


def rounds_ahead(question: Question) -> tuple[Round, ...]:
    """Return the rounds that are sure to follow: of the drill, or of this Charleston."""
    if question.drill is not None:
        return (question.round,) * (question.drill.exchanges_left - 1)
    return sure_to_follow(question.round)


def look_ahead(
    question: Question,
    passes: Sequence[tuple[Tile, ...]],
    samples: int,
    seed: int,
    stopper: Stopper,
    progress: Callable[[int, int], None] | None = None,
) -> LookAhead:
    """Compare passes by sampling what comes in and passing best at each later exchange.

    All passes meet the same incoming tiles in each sample (see `incoming`); later passes give three of
    one's own.

    Args:
        question: The question.
        passes: At least one pass of the rack, all of one size.
        samples: Most samples to take, 1 to 200; fewer when the order is clear sooner.
        seed: Names the luck.
        stopper: Ends the work on request.
        progress: Told samples done and most samples.
    """
    start = Path.start(question)
    later = rounds_ahead(question)
    exchanges = [(question.round, len(passes[0])), *((round_, PASS_SIZE) for round_ in later)]

    def draw(sample: int) -> list[float]:
        now, *then = incoming(question, exchanges, seed, sample)
        return [start.exchange(passed, now).play(later, then, stopper).value() for passed in passes]

    values = sample_until_clear(draw, samples, progress)
    leader, comparisons = compare(values)
    first = comparisons[0]
    ahead = leader != 0 and first.behind > CLEAR_ERRORS * first.error
    return LookAhead(
        tuple(AheadPass(passed, result) for passed, result in zip(passes, comparisons, strict=True)),
        leader if ahead else 0,
        len(values),
        1 + len(later),
    )
