"""A card: named hands, each expanded to its targets; what its hands are like, and remarks on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from functools import cache, cached_property, wraps
from hashlib import sha256
from typing import Any, TypeVar

from patterns.tiles import Tile

HAND_SIZE = 14
SMALLEST_JOKER_GROUP = 3
BIG_GROUP = 5
NARROW_RANKS = 4
Made = TypeVar("Made")


def content_id(*content: object) -> str:
    """Return what names a content for years: 16 hexadecimal digits of the hash of its `repr`."""
    return sha256(repr(content).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class TileGroup:
    """1 to 6 tiles alike. A group of three or more may hold jokers; a single or a pair may not."""

    tile: Tile
    count: int

    @property
    def takes_jokers(self) -> bool:
        """Whether a joker may stand for a tile of this group (common practice, no source)."""
        return self.count >= SMALLEST_JOKER_GROUP


# A card has tens of thousands of either, few of them different: one object stands for all that are equal.
tile_group = cache(TileGroup)


@cache
def _need(tile: Tile, plain: int, grouped: int) -> tuple[Tile, int, int]:
    return tile, plain, grouped


@dataclass(frozen=True)
class Target:
    """The groups of one concrete hand, in the order the card writes them."""

    groups: tuple[TileGroup, ...]

    @property
    def tiles(self) -> list[Tile]:
        """Its 14 tiles in the order of the card."""
        return [group.tile for group in self.groups for _ in range(group.count)]

    @cached_property
    def needs(self) -> tuple[tuple[Tile, int, int], ...]:
        """Per kind in the fixed order: (tile, wanted in singles and pairs, wanted in groups of 3+)."""
        wanted: dict[Tile, list[int]] = {}
        for group in self.groups:
            wanted.setdefault(group.tile, [0, 0])[group.takes_jokers] += group.count
        return tuple(
            _need(tile, plain, grouped)
            for tile, (plain, grouped) in sorted(wanted.items(), key=lambda item: item[0].position)
        )

    @cached_property
    def jokers_needed(self) -> int:
        """Jokers without which the target cannot be: what its groups ask beyond the set's copies."""
        return sum(
            max(0, plain + grouped - tile.copies)
            for tile, plain, grouped in self.needs
            if plain <= tile.copies
        )

    @property
    def possible(self) -> bool:
        """Whether the set's naturals and jokers can make it at all."""
        return self.jokers_needed <= Tile.JOKER.copies and all(
            plain <= tile.copies for tile, plain, _ in self.needs
        )


class Trait(Enum):
    """What a player filters hands on. A hand has a trait when every one of its targets has it."""

    ONE_SUIT = "one-suit"
    TWO_SUITS = "two-suits"
    THREE_SUITS = "three-suits"
    PAIRS_ONLY = "pairs-only"
    BIG_GROUPS = "big-groups"
    NO_FLOWERS = "no-flowers"
    WINDS_DRAGONS_ONLY = "winds-dragons-only"
    NO_JOKER_NEEDED = "no-joker-needed"
    CONCEALED = "concealed"
    NARROW = "narrow"


def _traits_of(target: Target) -> frozenset[Trait]:
    tiles = {tile for tile, _, _ in target.needs}
    suits = {tile.suit for tile in tiles if tile.suit is not None}
    ranks = {tile.rank for tile in tiles if tile.rank is not None}
    holds = {
        Trait.ONE_SUIT: len(suits) == 1,
        Trait.TWO_SUITS: len(suits) == 2,
        Trait.THREE_SUITS: len(suits) == 3,
        Trait.PAIRS_ONLY: all(group.count <= 2 for group in target.groups),
        Trait.BIG_GROUPS: any(group.count >= BIG_GROUP for group in target.groups),
        Trait.NO_FLOWERS: Tile.FLOWER not in tiles,
        Trait.WINDS_DRAGONS_ONLY: not suits,
        Trait.NO_JOKER_NEEDED: target.jokers_needed == 0,
        Trait.NARROW: bool(ranks) and max(ranks) - min(ranks) < NARROW_RANKS,
    }
    return frozenset(trait for trait, held in holds.items() if held)


@dataclass(frozen=True)
class Hand:
    """One line of a card: alternatives and condition on n as written, and its distinct targets, at least one.

    The weight is how much the player cares, 0 to 1000; 1 unless the card says otherwise.
    """

    name: str
    family: str
    notation: tuple[str, ...]
    where: str | None
    concealed: bool
    weight: float
    targets: tuple[Target, ...]

    @cached_property
    def id(self) -> str:
        """Names what it asks for, whatever it is called: 16 hexadecimal digits that stay the same."""
        return content_id([" ".join(each.split()) for each in self.notation], self.where, self.concealed)

    @cached_property
    def traits(self) -> frozenset[Trait]:
        """The traits that every one of its targets has; flowers may stand in any hand, also of winds."""
        shared = frozenset.intersection(*map(_traits_of, self.targets))
        return shared | {Trait.CONCEALED} if self.concealed else shared


@dataclass(frozen=True, eq=False)
class Card:
    """Hands with distinct names. Compared by identity; what was made of it once is kept by `once_a_card`."""

    name: str
    hands: tuple[Hand, ...]
    made: dict[object, Any] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def id(self) -> str:
        """Names its content, all that answers depend on: 16 hexadecimal digits that stay the same."""
        return content_id(*([each.id, each.name, each.family, each.weight] for each in self.hands))

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

    @cached_property
    def digest(self) -> str:
        """Names what odds depend on: the hands and what each counts, whatever they are called (16 digits)."""
        return content_id(*((hand.id, hand.weight) for hand in self.hands))


def once_a_card(make: Callable[[Card], Made]) -> Callable[[Card], Made]:
    """Let what a function makes of a card be made once, and be kept as long as the card is."""

    @wraps(make)
    def made_of(card: Card) -> Made:
        if make not in card.made:
            card.made[make] = make(card)
        made: Made = card.made[make]
        return made

    return made_of


@dataclass(frozen=True)
class Remark:
    """Something worth a second look, about one hand (``hand`` is its 0-based index)."""

    hand: int
    detail: str


def remarks_of(card: Card) -> list[Remark]:
    """Return the remarks in order of hand: hands with the same targets, hands that need jokers."""
    remarks = []
    first_with: dict[object, int] = {}
    for index, hand in enumerate(card.hands):
        needs = frozenset(target.needs for target in hand.targets)
        first = first_with.setdefault((needs, hand.concealed), index)
        if first != index:
            remarks.append(Remark(index, f"{hand.name!r} has the same targets as {card.hands[first].name!r}"))
        jokers = [target.jokers_needed for target in hand.targets]
        if max(jokers):
            every = "every target" if min(jokers) else f"{sum(map(bool, jokers))} of {len(jokers)} targets"
            remarks.append(Remark(index, f"{hand.name!r}: {every} cannot be made without jokers"))
    return remarks
