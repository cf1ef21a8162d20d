"""One way a Charleston may go on: racks, tiles seen, and what is reached at the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from patterns.rack import Rack
from patterns.tiles import Tile
from solver.arrivals import default_arrivals
from solver.card_tables import tables_of
from solver.limits import Limits, hand_weights
from solver.pass_model import best_passes
from solver.problem import problem_of
from solver.question import Question
from solver.rescore import score
from solver.rounds import Round
from solver.situation import Situation
from solver.stopping import Stopper


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
        kept = Limits(only=limits.only, without=limits.without, weights=limits.weights)
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
        best = next(best_passes(problem_of(question), 1, question.effort, stopper))
        return self.exchange(best.passed, incoming)

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
        own = question.drill.arrivals(give) if question.drill else default_arrivals(round_, give)
        # Stated draws and claims may leave less room than the exchanges of a round have by default.
        room = question.situation.outlook.naturals - question.arrivals.after(0).most
        return replace(question, arrivals=question.arrivals.after(min(own.charleston, room)))


def _with_exchanges_left(question: Question, left: int) -> Question:
    if question.drill is None:
        return question
    return replace(question, drill=replace(question.drill, exchanges_left=left))
