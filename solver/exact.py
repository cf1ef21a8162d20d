"""The cross-check: every pass of a rack, scored by the re-scorer. For tests and benchmarks only."""

from __future__ import annotations

from collections.abc import Iterator

from patterns.tiles import Tile
from solver.card_tables import tables_of
from solver.limits import hand_weights
from solver.question import Question
from solver.rescore import Score, keeps, score
from solver.terms.all_limits import limit_terms


def all_passes(question: Question) -> Iterator[tuple[Tile, ...]]:
    """Yield each distinct pass, whatever the limits: at most 364 of three tiles."""
    naturals = [tile for tile in question.rack.tiles if tile is not Tile.JOKER]

    def grow(start: int, left: int) -> Iterator[tuple[Tile, ...]]:
        if not left:
            yield ()
            return
        used = None
        for index in range(start, len(naturals)):
            if naturals[index] is not used:
                used = naturals[index]
                for rest in grow(index + 1, left - 1):
                    yield (used, *rest)

    yield from grow(0, question.tiles_given)


def exact_scores(question: Question) -> list[Score]:
    """Return the scores of all passes that keep the limits, best first (equal ones in no fixed order)."""
    tables, situation = tables_of(question.card), question.situation
    weights, limits = hand_weights(question.card, question.limits), limit_terms(question.limits)
    scores = (score(situation, tables, weights, passed) for passed in all_passes(question))
    kept = [result for result in scores if keeps(situation, tables, limits, result)]
    return sorted(kept, key=lambda result: -result.expected)
