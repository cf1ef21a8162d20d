"""Hindsight: the best pass had one known what came in."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from patterns.rack import Pile
from patterns.tiles import Tile
from solver.card_tables import tables_of
from solver.limits import hand_weights
from solver.options import options_of
from solver.pass_model import PassProblem, best_passes
from solver.question import Question
from solver.rack_bits import RackBits
from solver.rescore import scores
from solver.situation import Situation, still_elsewhere
from solver.stopping import Stopper


@dataclass(frozen=True)
class Hindsight:
    """What would have been best had one known what came in. It is no part of the grade.

    Attributes:
        passed: The pass, of as many tiles as were given.
        expected: Expected hands after that pass and what came in.
        made: The same for the pass that was made.
    """

    passed: tuple[Tile, ...]
    expected: float
    made: float


def hindsight(
    question: Question, given: tuple[Tile, ...], received: tuple[Tile, ...], stopper: Stopper
) -> Hindsight:
    """Solve a pass again with what came in already there; only tiles of the old rack may go.

    Args:
        question: The question before the pass; it names the number of tiles, and its limits on tiles do
            not count.
        given: The pass that was made.
        received: What came in.
        stopper: Ends the work on request.

    Raises:
        NoAnswerError: the cap on work was hit with nothing found.
        StoppedError: a stop was asked for.
    """
    before = question.situation
    arrivals = before.arrivals.after(max(0, before.arrivals.charleston - len(received)))
    pile = Pile((*before.rack.tiles, *received))
    # What came in may be a tile passed before: it is then no longer elsewhere.
    seen = still_elsewhere(before.seen, Counter(pile.tiles))
    situation = Situation(pile, seen, arrivals, before.jokers_in_wall)
    tables = tables_of(question.card)
    weights = hand_weights(question.card, question.limits)
    bits = RackBits.of(before.held)
    options = options_of(situation, tables, bits, len(given), weights > 0)
    problem = PassProblem(bits, options, weights, question.card.family_of_hand, len(given), ())
    best = next(best_passes(problem, 1, question.effort, stopper)).passed
    found, made = scores(situation, tables, weights, [best, given])
    return Hindsight(best, found.expected, made.expected)
