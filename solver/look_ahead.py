"""Look-ahead: the best few passes, compared by what is reached once the exchanges are over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from patterns.tiles import Tile
from solver.ahead import CLEAR_ERRORS, Comparison, Path, compare, incoming, sample_until_clear
from solver.question import Question
from solver.rounds import PASS_SIZE, Round, sure_to_follow
from solver.stopping import Stopper

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
