"""How hard a card's hands are before any tile is seen."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.card import HAND_SIZE, Card
from patterns.tiles import KINDS
from solver.arrivals import Forecast, Length, default_arrivals
from solver.card_tables import N_NATURALS, tables_of
from solver.reach.evaluate import Demands, reach_of
from solver.reach.kernel import Outlook
from solver.reach.states import missing
from solver.rounds import PASS_SIZE, Round


@lru_cache(maxsize=16)
def _chances(card: Card) -> tuple[float, ...]:
    tables = tables_of(card)
    copies = np.array([tile.copies for tile in KINDS], np.int8)
    later = default_arrivals(Round.FIRST_RIGHT, PASS_SIZE)
    outlook = Outlook(
        naturals=int(copies[:N_NATURALS].sum()),
        jokers=int(copies[N_NATURALS]),
        jokers_held=0,
        arrivals=Forecast(
            later.charleston,
            tuple(Length(HAND_SIZE + each.draws, each.claims, each.share) for each in later.lengths),
        ),
    )
    unseen = copies[:N_NATURALS]
    lack = missing(tables.plain, tables.grouped, np.zeros_like(unseen))
    demands = Demands.of(lack, tables.concealed, unseen)
    reach: NDArray[np.float64] = np.maximum.reduceat(
        reach_of(demands, outlook, unseen), tables.first_of_hand()
    )
    return tuple(reach.tolist())


def chances_from_deal(card: Card) -> tuple[float, ...]:
    """Return, for each hand, the chance of completing its best target from a random deal.

    By the model: 14 tiles dealt, then the default arrivals of a first right pass, every useful tile kept
    from the start for the one target. Between 0 and 1; the smaller, the harder.
    """
    return _chances(card)
