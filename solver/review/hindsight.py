"""Hindsight: the best pass had one known what came in."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np

from patterns.rack import Pile
from patterns.tiles import Tile
from solver.card_tables import tables_of
from solver.limits import hand_weights
from solver.options import Options, options_of, without_bits
from solver.pass_model import PassProblem, best_passes
from solver.question import Question
from solver.rack_bits import RackBits
from solver.rescore import score
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
    bits = RackBits.of(situation.held)
    options = options_of(situation, tables, bits, len(given), weights > 0)
    old, options = _of_old_rack(bits, options, received)
    problem = PassProblem(old, options, weights, question.card.family_of_hand, len(given), ())
    best = next(best_passes(problem, 1, question.effort, stopper)).passed
    return Hindsight(
        best,
        score(situation, tables, weights, best).expected,
        score(situation, tables, weights, given).expected,
    )


def _of_old_rack(bits: RackBits, options: Options, received: tuple[Tile, ...]) -> tuple[RackBits, Options]:
    """Leave out the bits of what came in: the model has room for those of one rack only."""
    came = Counter(received)
    old = {tile: count - came[tile] for tile, count in zip(bits.kinds, bits.counts, strict=True)}
    stay = [
        bits.bit(i, copy + 1)
        for i, tile in enumerate(bits.kinds)
        for copy in range(old[tile], bits.counts[i])
    ]
    options = without_bits(options, sum(1 << bit for bit in stay))
    forbidden = np.zeros_like(options.forbidden)
    for new, bit in enumerate(bit for bit in range(bits.size) if bit not in stay):
        forbidden |= ((options.forbidden >> np.uint32(bit)) & np.uint32(1)) << np.uint32(new)
    held = {tile: count for tile, count in old.items() if count}
    return RackBits(tuple(held), tuple(held.values())), replace(options, forbidden=forbidden)
