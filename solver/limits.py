"""Limits a player or teacher puts on a pass, and which hands they leave in play."""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from patterns.card import Card, Hand, Trait
from patterns.faults import Fault, FaultyInputError
from patterns.tiles import Tile


@dataclass(frozen=True)
class Choice:
    """Families, hands and traits by name."""

    families: tuple[str, ...] = ()
    hands: tuple[str, ...] = ()
    traits: tuple[Trait, ...] = ()

    def __bool__(self) -> bool:
        return any(getattr(self, part.name) for part in fields(self))

    def has(self, hand: Hand) -> bool:
        """Return whether a hand is named, or its family, or one of its traits."""
        return (
            hand.family in self.families
            or hand.name in self.hands
            or bool(hand.traits.intersection(self.traits))
        )


@dataclass(frozen=True)
class AtLeast:
    """At least ``count`` hands (or families) with a reach of ``reach`` or more after the pass."""

    count: int
    reach: float

    @property
    def enough(self) -> float:
        """The reach that counts as enough: a rounding error below the one named still does."""
        return self.reach * (1 - 1e-12)


@dataclass(frozen=True)
class Limits:
    """Limits on one pass; the default limits nothing.

    Attributes:
        stay: Tiles that must stay; a kind named twice means two of it.
        go: Tiles that must go, likewise.
        only: If any is named, only hands that it has count.
        without: Hands that do not count.
        weights: How much hands count, by name, in place of the card's weights.
        no_pairs: Never pass two alike.
        no_flowers: Never pass a flower.
        no_neighbours: Never pass two tiles of one suit whose ranks are one apart.
        keep_hands: Keep at least so many hands at a reach.
        keep_families: Keep at least so many families with a hand at a reach.
    """

    stay: tuple[Tile, ...] = ()
    go: tuple[Tile, ...] = ()
    only: Choice = field(default_factory=Choice)
    without: Choice = field(default_factory=Choice)
    weights: tuple[tuple[str, float], ...] = ()
    no_pairs: bool = False
    no_flowers: bool = False
    no_neighbours: bool = False
    keep_hands: AtLeast | None = None
    keep_families: AtLeast | None = None


def _unknown_names(card: Card, limits: Limits) -> list[Fault]:
    hands = {hand.name for hand in card.hands}
    faults = []
    for part, choice in (("only", limits.only), ("without", limits.without)):
        for sort, names, known in (
            ("families", choice.families, set(card.families)),
            ("hands", choice.hands, hands),
        ):
            faults += [
                Fault("unknown-name", (part, sort, index), f"the card has no {name!r} among its {sort}")
                for index, name in enumerate(names)
                if name not in known
            ]
    return faults + [
        Fault("unknown-name", ("weights", name), f"the card has no {name!r} among its hands")
        for name, _ in limits.weights
        if name not in hands
    ]


def hand_weights(card: Card, limits: Limits) -> NDArray[np.float64]:
    """Return (H,) weights of the card's hands under the limits; 0 for a hand that does not count.

    Raises:
        FaultyInputError: names the card does not have, or no hand left that counts.
    """
    faults = _unknown_names(card, limits)
    if faults:
        raise FaultyInputError(faults)
    changed = dict(limits.weights)
    weights = np.array(
        [
            0.0
            if (limits.only and not limits.only.has(hand)) or limits.without.has(hand)
            else changed.get(hand.name, hand.weight)
            for hand in card.hands
        ]
    )
    if not weights.any():
        raise FaultyInputError([Fault("no-hand-left", (), "the limits leave no hand that counts")])
    return weights
