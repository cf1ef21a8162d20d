"""A player who settles on one target at some point of the Charleston and goes for nothing else."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from patterns.card import Card, Target
from patterns.rack import Pile
from patterns.tiles import KINDS, Tile
from solver.arrivals import after_the_exchanges
from solver.card_tables import tables_of
from solver.chance import Chance
from solver.order import greatest_first
from solver.question import Question
from solver.rescore import score
from solver.rounds import Round
from solver.situation import Situation, still_elsewhere
from solver.table.by_worth import ByWorth
from solver.table.play import Table
from solver.table.seat import Seat


@dataclass(frozen=True)
class Settled:
    """What a player who has settled knows just after a pass, or when play begins.

    Attributes:
        round: The pass just made, or None when the exchanges are over.
        kept: Tiles held, what comes in not yet among them.
        seen: Own passes that can still be elsewhere.
        coming: Tiles that come in now.
    """

    round: Round | None
    kept: Pile
    seen: tuple[Tile, ...]
    coming: int


@dataclass
class Settling:
    """Passes by the advice until one pass is made, then settles on a target; then serves that alone.

    Attributes:
        at: The pass after which to settle; None: when play begins.
        rank: Of the hands, likeliest first, whose best target to take; 0 is the likeliest.
        target: Index among the card's targets of the one settled on.
        moments: What was known at each pass from then on.
    """

    at: Round | None
    rank: int
    name: str = "settled"
    target: int | None = None
    moments: list[Settled] = field(default_factory=list)
    _alone: Card | None = None

    def choose(self, card: Card, seat: Seat, round_: Round, count: int, chance: Chance) -> tuple[Tile, ...]:
        """Return the advice before settling; then the tiles the target misses least."""
        given = ByWorth().choose(self._alone or card, seat, round_, count, chance)
        if self._alone is None and round_ is self.at:
            question = Question(card, seat.rack, round_, count, seen=seat.seen())
            self._settle(card, question.situation, given)
        if self._alone is not None:
            kept = seat.tiles - Counter(given)
            away = still_elsewhere((*seat.passed, *given), kept)
            self.moments.append(Settled(round_, Pile(tuple(kept.elements())), away, count))
        return given

    def wish(self, card: Card, seat: Seat, chance: Chance) -> int:
        """Return the number of tiles that is worth most."""
        return ByWorth().wish(self._alone or card, seat, chance)

    def bind(self, card: Card, table: Table, seat: int) -> None:
        """Keep a seat of a table, ready to play, to the target; settle first if that is still to be done."""
        aim = table.aims[seat]
        tiles = tuple(KINDS[kind] for kind, count in enumerate(aim.held) for _ in range(count))
        seen = tuple(KINDS[kind] for kind, count in enumerate(aim.elsewhere) for _ in range(count))
        if self._alone is None:
            self._settle(card, Situation(Pile(tiles), seen, after_the_exchanges()), ())
        self.moments.append(Settled(None, Pile(tiles), seen, 0))
        aim.open[:] = False
        aim.open[self.target] = True

    def _settle(self, card: Card, situation: Situation, given: tuple[Tile, ...]) -> None:
        tables = tables_of(card)
        found = score(situation, tables, np.ones(len(card.hands)), given)
        hand = greatest_first(found.reach)[self.rank]
        self.target = int(found.target[hand])
        self._alone = one_target(card, tables.targets[self.target], int(hand))


def one_target(card: Card, target: Target, hand: int) -> Card:
    """Return a card with one hand, and that with one target."""
    return Card(card.name, (replace(card.hands[hand], targets=(target,)),))
