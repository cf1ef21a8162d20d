"""The vote on the second Charleston: stop, or go on?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from patterns.card import Card
from patterns.rack import Rack
from patterns.tiles import Tile
from solver.ahead.incoming import incoming
from solver.ahead.paired import CLEAR_ERRORS, compare, sample_until_clear
from solver.ahead.path import Path
from solver.arrivals import Coming
from solver.limits import Limits
from solver.question import DEFAULT_EFFORT, Question
from solver.rounds import PASS_SIZE, SECOND_CHARLESTON, Round
from solver.stopping import Stopper


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
        difference: ``go_on - stop``.
        error: Standard error of the difference, from paired samples.
    """

    verdict: Verdict
    stop: float
    go_on: float
    difference: float
    error: float
    samples: int


def vote(
    card: Card,
    rack: Rack,
    seen: tuple[Tile, ...],
    *,
    courtesy: int,
    samples: int,
    seed: int,
    arrivals: Coming | None = None,
    limits: Limits | None = None,
    effort: float = DEFAULT_EFFORT,
    stopper: Stopper | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Vote:
    """Compare stopping with going on after the first Charleston.

    Either way a courtesy pass of ``courtesy`` tiles follows, with the same incoming tiles. The best pass
    is made each time. The value is that of the rack when only draws and claims are still to come.

    Args:
        card: The card.
        rack: The rack after the first left pass.
        seen: Tiles seen elsewhere, such as those passed so far.
        courtesy: Tiles exchanged at the courtesy pass, 0-3.
        samples: Most samples to take, 2 or more; fewer when the answer is clear sooner.
        seed: Names the luck.
        arrivals: Draws and claims to come, or None for the defaults; its ``charleston`` is ignored.
        limits: Which hands count and how much; limits on tiles are ignored.
        effort: Cap on the solver's work for one pass, in deterministic time units.
        stopper: Ends the work on request.
        progress: Told samples done and most samples.
    """
    stopper = stopper or Stopper()
    if arrivals is not None:
        arrivals = arrivals.after(0)
    question = Question(
        card,
        rack,
        Round.SECOND_LEFT,
        arrivals=arrivals,
        seen=seen,
        limits=limits or Limits(),
        alternatives=0,
        effort=effort,
    )
    start = Path.start(question)
    exchanges = [*((round_, PASS_SIZE) for round_ in SECOND_CHARLESTON), (Round.COURTESY, courtesy)]

    def draw(sample: int) -> list[float]:
        *second, last = incoming(question, exchanges, seed, sample)
        stopped = start.pass_best(Round.COURTESY, last, stopper)
        gone_on = start.play(SECOND_CHARLESTON, second, stopper).pass_best(Round.COURTESY, last, stopper)
        return [stopped.value(), gone_on.value()]

    values = sample_until_clear(draw, samples, progress)
    leader, results = compare(values)
    behind = results[1 - leader]
    sure = behind.behind > CLEAR_ERRORS * behind.error
    verdict = (Verdict.STOP, Verdict.GO_ON)[leader] if sure else Verdict.UNCLEAR
    difference = results[1].mean - results[0].mean
    return Vote(verdict, results[0].mean, results[1].mean, difference, behind.error, len(values))
