"""What a player sees: the rack, what else has been seen, and the arrivals to come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from patterns.rack import Pile
from patterns.tiles import KINDS, Tile
from solver.arrivals import Coming
from solver.card_tables import N_NATURALS, CardTables
from solver.reach.evaluate import Demands, reach_of
from solver.reach.kernel import Outlook
from solver.reach.states import missing

_COPIES = np.array([tile.copies for tile in KINDS], np.int8)


def counts_of(tiles: Iterable[Tile]) -> NDArray[np.int8]:
    """Return (36,) copies of each kind in the fixed order."""
    counter = Counter(tiles)
    return np.array([counter[tile] for tile in KINDS], np.int8)


def still_elsewhere(passed: Iterable[Tile], held: Mapping[Tile, int]) -> tuple[Tile, ...]:
    """Return tiles passed, as far as they can still be elsewhere, in the fixed order.

    A tile of a kind passed before may come back; it is taken for another one as long as the set has enough
    of them beside those held.
    """
    return tuple(
        tile
        for tile, count in sorted(Counter(passed).items(), key=lambda item: item[0].position)
        for _ in range(min(count, tile.copies - held.get(tile, 0)))
    )


@dataclass(frozen=True, eq=False)
class Situation:
    """Rack, other tiles seen and arrivals: everything reach depends on besides the card.

    The pool is every tile not seen. Passing a tile does not put it back: the player knows that it went.

    Attributes:
        rack: The tiles before the pass: a rack, or in hindsight a rack and what came in.
        seen: Tiles seen elsewhere.
        arrivals: Tiles to come.
        jokers_in_wall: False for a drill, whose heap has no jokers.
    """

    rack: Pile
    seen: tuple[Tile, ...]
    arrivals: Coming
    jokers_in_wall: bool = True

    @cached_property
    def held(self) -> NDArray[np.int8]:
        """(35,) naturals in the rack."""
        return counts_of(self.rack.tiles)[:N_NATURALS]

    @cached_property
    def unseen(self) -> NDArray[np.int8]:
        """(36,) tiles of each kind that are neither in the rack nor seen elsewhere."""
        return _COPIES - counts_of((*self.rack.tiles, *self.seen))

    @cached_property
    def outlook(self) -> Outlook:
        """Pool sizes, jokers held and arrivals."""
        return Outlook(
            naturals=int(self.unseen[:N_NATURALS].sum()),
            jokers=int(self.unseen[N_NATURALS]) if self.jokers_in_wall else 0,
            jokers_held=self.rack.tiles.count(Tile.JOKER),
            arrivals=self.arrivals,
        )

    def reach(
        self,
        tables: CardTables,
        kept: NDArray[np.int8],
        targets: NDArray[np.intp] | slice = slice(None),
    ) -> NDArray[np.float64]:
        """Return the reach of targets when only some tiles of the rack are kept.

        Args:
            tables: The card.
            kept: (..., 35) naturals kept; the jokers always are.
            targets: (T,) indexes among the card's targets; all of them if not given.

        Returns:
            (..., T) probabilities.
        """
        unseen, hidden = self.unseen[:N_NATURALS], tables.concealed[targets]
        lack = missing(tables.plain[targets], tables.grouped[targets], kept[..., None, :]).rows()
        concealed = np.resize(hidden, len(lack.plain))
        reach = reach_of(Demands.of(lack, concealed, unseen), self.outlook, unseen)
        return reach.reshape(*kept.shape[:-1], len(hidden))
