"""One way a Charleston may go on: racks, tiles seen, and what is reached at the end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from patterns.rack import Rack
from patterns.tiles import KINDS, Tile
from solver.arrivals import Arrivals, default_arrivals
from solver.card_tables import tables_of
from solver.chance import Chance
from solver.limits import Limits, hand_weights
from solver.pass_model import best_passes
from solver.problem import problem_of
from solver.question import Question
from solver.rescore import score
from solver.rounds import PASS_SIZE, Round
from solver.situation import Situation
from solver.stopping import Stopper

# Parts this luck from that of deals, which are named by a seed and a number too.
_LUCK = 0x1C3A_55E7


def incoming_order(question: Question, seed: int, sample: int) -> list[Tile]:
    """Return the unseen naturals in a random order: the tiles that come in, three at a time.

    Every unseen tile is taken to be equally likely to be passed; jokers never are. The order depends on
    the rack, the tiles seen, the seed and the sample only, so that choices are compared on equal luck.
    """
    unseen = question.situation.unseen.tolist()
    pool = [
        tile
        for tile, count in zip(KINDS, unseen, strict=True)
        if tile is not Tile.JOKER
        for _ in range(count)
    ]
    return Chance(_LUCK, seed, sample).shuffled(pool)


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
        arrivals = question.arrivals and replace(question.arrivals, charleston=0)
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

    def play(self, rounds: Sequence[Round], incoming: Sequence[Tile], stopper: Stopper) -> Path:
        """Return the path after several exchanges of three, the best pass at each.

        Args:
            rounds: The rounds to play, or as many ``Round`` as a drill has exchanges.
            incoming: Three tiles a round.
            stopper: Ends the work on request.
        """
        path = self
        for index, round_ in enumerate(rounds):
            left = len(rounds) - index
            path = replace(path, question=_with_exchanges_left(path.question, left))
            path = path.pass_best(round_, incoming[PASS_SIZE * index : PASS_SIZE * (index + 1)], stopper)
        return path

    def value(self) -> float:
        """Return the expected hands once all exchanges are over: only draws and claims are to come."""
        question = self.question
        arrivals = Arrivals(0, question.situation.arrivals.draws, question.situation.arrivals.claims)
        situation = Situation(question.rack, question.seen, arrivals, question.drill is None)
        weights = hand_weights(question.card, question.limits)
        return score(situation, tables_of(question.card), weights, ()).expected

    def _at(self, round_: Round, give: int) -> Question:
        question = replace(self.question, round=round_, give=give)
        if question.arrivals is None:
            return question
        own = question.drill.arrivals(give) if question.drill else default_arrivals(round_, give)
        return replace(question, arrivals=replace(question.arrivals, charleston=own.charleston))


def _with_exchanges_left(question: Question, left: int) -> Question:
    if question.drill is None:
        return question
    return replace(question, drill=replace(question.drill, exchanges_left=left))
