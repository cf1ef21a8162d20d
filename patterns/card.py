"""A card: named hands, each expanded to its targets."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from patterns.target import Target


class Trait(Enum):
    """A number idea of the trade that every target of a hand shares."""

    EVENS = "evens"
    ODDS = "odds"
    THREES = "threes"
    CONSECUTIVE = "consecutive"
    ONE_NUMBER = "one-number"
    HONOURS = "honours"
    PAIRS_ONLY = "pairs-only"
    FIVES = "fives"


@dataclass(frozen=True)
class Hand:
    """One line of a card.

    Attributes:
        notation: Its alternatives as written.
        where: The condition on n as written, or None.
        weight: How much the player cares, 0 to 1000; 1 unless the card says otherwise.
        targets: Distinct targets, at least one, in order of expansion.
    """

    name: str
    family: str
    notation: tuple[str, ...]
    where: str | None
    concealed: bool
    weight: float
    targets: tuple[Target, ...]
    traits: frozenset[Trait]


@dataclass(frozen=True, eq=False)
class Card:
    """Hands with distinct names. Compared by identity: tables made from a card are cached on it."""

    name: str
    hands: tuple[Hand, ...]

    @property
    def families(self) -> tuple[str, ...]:
        """Family names in the order they first appear."""
        return tuple(dict.fromkeys(self.family_of_hand))

    @cached_property
    def family_of_hand(self) -> tuple[str, ...]:
        """Family of each hand, in order of hand."""
        return tuple(hand.family for hand in self.hands)

    @property
    def target_count(self) -> int:
        """Targets of all hands together."""
        return sum(len(hand.targets) for hand in self.hands)
