"""The card and the limits, which questions, records and deals all have."""

from __future__ import annotations

from dataclasses import dataclass

from api.cards import CardShelf, NamedCard
from api.convert.cards import read_card
from api.convert.limits import limits_of
from api.convert.parts import Parts, read_tiles
from api.wire.advice import DEFAULT_CARD
from api.wire.limits import LimitsBody
from patterns.faults import Fault
from patterns.tiles import Tile
from solver.limits import Limits, hand_weights


@dataclass(frozen=True)
class CardAndLimits:
    """What was read of both by content; what cannot be read is missing here and among the faults.

    Attributes:
        place: The part of the body that has them.
        named: The card, or None if it cannot be read.
        stay: Tiles that must stay.
        go: Tiles that must go.
    """

    place: tuple[str | int, ...]
    named: NamedCard | None
    stay: tuple[Tile, ...]
    go: tuple[Tile, ...]

    @classmethod
    def read(cls, parts: Parts, shelf: CardShelf, *place: str | int) -> CardAndLimits:
        """Read both in one part of a body."""
        stay, go = (parts.part((*place, "limits", part), read_tiles) or () for part in ("stay", "go"))
        named = parts.part((*place, "card"), lambda card: read_card(card, shelf), DEFAULT_CARD)
        return cls(place, named, stay, go)

    def limits(self, parts: Parts, body: LimitsBody) -> Limits:
        """Return the limits; names that the card does not have are faults."""
        limits = limits_of(body, self.stay, self.go)
        if self.named is not None:
            with parts.collecting(*self.place, "limits"):
                hand_weights(self.named.card, limits)
        return limits

    def refuse_tiles(self, parts: Parts, detail: str) -> None:
        """Make a fault of tiles that must stay or go, where there is not one rack that has them."""
        for part, tiles in (("stay", self.stay), ("go", self.go)):
            if tiles:
                parts.faults.append(Fault("no-use", (*self.place, "limits", part), detail))
