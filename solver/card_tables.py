"""A card's targets as arrays, made once a card and shared by every question about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, Target
from patterns.tiles import KINDS, Tile

NATURALS = KINDS[:-1]
N_NATURALS = len(NATURALS)
assert KINDS[-1] is Tile.JOKER


@dataclass(frozen=True, eq=False)
class CardTables:
    """Targets of a card as arrays over (target, natural kind).

    Attributes:
        plain: (T, 35) int8, wanted in singles and pairs.
        grouped: (T, 35) int8, wanted in groups of three or more.
        hand: (T,) int32, index of the hand each target belongs to; ascending.
        concealed: (T,) bool.
        targets: The targets themselves, in the same order.
    """

    card: Card
    plain: NDArray[np.int8]
    grouped: NDArray[np.int8]
    hand: NDArray[np.int32]
    concealed: NDArray[np.bool_]
    targets: tuple[Target, ...]

    def first_of_hand(self) -> NDArray[np.intp]:
        """Return the index of each hand's first target, for `numpy.maximum.reduceat`."""
        return np.searchsorted(self.hand, np.arange(len(self.card.hands)))


@lru_cache(maxsize=16)
def tables_of(card: Card) -> CardTables:
    """Return the arrays of a card; cached on the card's identity."""
    targets = tuple(target for hand in card.hands for target in hand.targets)
    plain = np.zeros((len(targets), N_NATURALS), np.int8)
    grouped = np.zeros_like(plain)
    for row, target in enumerate(targets):
        for tile, in_plain, in_groups in target.needs:
            plain[row, tile.position] = in_plain
            grouped[row, tile.position] = in_groups
    sizes = [len(hand.targets) for hand in card.hands]
    hand = np.repeat(np.arange(len(card.hands), dtype=np.int32), sizes)
    concealed = np.repeat(np.array([hand.concealed for hand in card.hands]), sizes)
    return CardTables(card, plain, grouped, hand, concealed, targets)
