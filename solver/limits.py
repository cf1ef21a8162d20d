"""Limits a player or teacher puts on a pass, and which hands count.

Each limit on the pass is one class: its name and sentence, the sort of value that sets it, the
constraint it puts on the model, and a check of the same thing that knows no model. What programs send and
what people set is made from `LIMITS`, so a new limit is written here and nowhere else.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from enum import Enum
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar

from patterns.card import Card, Hand, Trait
from patterns.faults import Fault, FaultyInputError
from patterns.tiles import KINDS, Tile, counted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from solver.model import PassModel

_ROUNDING = 1e-12


class Sort(Enum):
    """What sets a limit: true or false, some tiles, or a number of hands and a reach."""

    YES_NO = "yes-no"
    TILES = "tiles"
    AT_LEAST = "at-least"


@dataclass(frozen=True)
class AtLeast:
    """At least ``count`` hands (or families) with a reach of ``reach`` or more after the pass."""

    count: int
    reach: float

    @property
    def enough(self) -> float:
        """The reach that counts as enough: a rounding error below the one named still does."""
        return self.reach * (1 - _ROUNDING)


Value = bool | Sequence[Tile] | AtLeast | None


@dataclass(frozen=True, eq=False)
class Outcome:
    """A pass, the tiles held before, and the (H,) reach of hands after it; 0 for those that do not count."""

    passed: Counter[Tile]
    held: Counter[Tile]
    reach: NDArray[np.float64]
    families: tuple[str, ...]


class Limit(ABC):
    """One limit on a pass: its name for programs, what it does for people, and what sets it."""

    name: ClassVar[str]
    sentence: ClassVar[str]
    sort: ClassVar[Sort] = Sort.YES_NO

    @classmethod
    def of(cls, value: Value) -> tuple[Limit, ...]:
        """Return the limits that a value of its sort sets, in order; a kind named twice means two of it."""
        return (cls(),) if value else ()

    @property
    @abstractmethod
    def says(self) -> str:
        """This limit in words."""

    def faults(self, held: Mapping[Tile, int] | None) -> list[Fault]:
        """Return what is wrong with it for a rack, or, where that is None, for any."""
        return []

    @abstractmethod
    def add(self, model: PassModel) -> None:
        """Constrain a model."""

    @abstractmethod
    def holds(self, outcome: Outcome) -> bool:
        """Return whether an outcome keeps the limit."""


@dataclass(frozen=True)
class _OfTile(Limit):
    """A limit on the copies of one kind."""

    tile: Tile
    copies: int
    sort = Sort.TILES

    @property
    def says(self) -> str:
        return f"{counted(self.tile, self.copies)} must {self.name}"

    @classmethod
    def of(cls, value: Value) -> tuple[Limit, ...]:
        copies = Counter(value if isinstance(value, Sequence) else ())
        return tuple(cls(tile, copies[tile]) for tile in KINDS if tile in copies)

    def faults(self, held: Mapping[Tile, int] | None) -> list[Fault]:
        if held is None or self.copies <= held.get(self.tile, 0):
            return []
        asked, has = (counted(self.tile, copies) for copies in (self.copies, held.get(self.tile, 0)))
        return [Fault("not-held", (), f"{asked} ({self.tile.value}): the rack has {has}")]


class TilesStay(_OfTile):
    """At least ``copies`` of ``tile`` stay."""

    name = "stay"
    sentence = "Tiles that must stay"

    def add(self, model: PassModel) -> None:
        """Forbid the copy that would leave too few."""
        model.leave(self.copies, self.tile)

    def holds(self, outcome: Outcome) -> bool:
        """Count what is left."""
        return outcome.held[self.tile] - outcome.passed[self.tile] >= self.copies


class TilesGo(_OfTile):
    """At least ``copies`` of ``tile`` go."""

    name = "go"
    sentence = "Tiles that must go"

    def faults(self, held: Mapping[Tile, int] | None) -> list[Fault]:
        """Return a fault for a joker too, whatever the rack."""
        joker = [Fault("joker", (), "a joker may never be passed")] if self.tile is Tile.JOKER else []
        return super().faults(held) + joker

    def add(self, model: PassModel) -> None:
        """Let enough copies go."""
        model.at_least(self.copies, [self.tile])

    def holds(self, outcome: Outcome) -> bool:
        """Count what goes."""
        return outcome.passed[self.tile] >= self.copies


@dataclass(frozen=True)
class _AtMost(Limit):
    """A limit on how many tiles go that have something in common."""

    most: ClassVar[int]
    # What a kind has in common with others; None: it is not counted.
    common: ClassVar[staticmethod[[Tile], Hashable]]

    def _counted(self, kinds: Iterable[Tile]) -> Iterable[list[Tile]]:
        """Return which of some kinds are counted together."""
        together: dict[Hashable, list[Tile]] = {}
        for tile in kinds:
            together.setdefault(self.common(tile), []).append(tile)
        together.pop(None, None)
        return together.values()

    def add(self, model: PassModel) -> None:
        for tiles in self._counted(model.kinds):
            model.at_most(self.most, tiles)

    def holds(self, outcome: Outcome) -> bool:
        counts = (sum(outcome.passed[tile] for tile in tiles) for tiles in self._counted(outcome.passed))
        return max(counts, default=0) <= self.most


class NoPairs(_AtMost):
    """No two tiles of the pass are alike."""

    name = "no_pairs"
    sentence = "Never pass two alike"
    says = "two alike are never passed"
    most = 1
    common = staticmethod(lambda tile: tile)


class NoFlowers(_AtMost):
    """No flower goes."""

    name = "no_flowers"
    sentence = "Never pass a flower"
    says = "a flower is never passed"
    most = 0
    common = staticmethod(lambda tile: tile is Tile.FLOWER or None)


@dataclass(frozen=True)
class NoNeighbors(Limit):
    """No two tiles of the pass are neighbors in one suit."""

    name = "no_neighbors"
    sentence = "Never pass two of one suit whose ranks are one apart"
    says = "two neighbors of one suit are never passed"

    @staticmethod
    def _pairs(kinds: Iterable[Tile]) -> list[tuple[Tile, Tile]]:
        order = sorted(kinds, key=lambda tile: tile.position)
        return [
            (low, high)
            for low, high in pairwise(order)
            if low.suit is not None and low.suit is high.suit and high.position - low.position == 1
        ]

    def add(self, model: PassModel) -> None:
        """Let at most one of two neighboring kinds go."""
        for first, second in self._pairs(model.kinds):
            model.not_both(first, second)

    def holds(self, outcome: Outcome) -> bool:
        """Look for neighbors."""
        return not self._pairs(+outcome.passed)


class NoLikeNumbers(_AtMost):
    """No three tiles of the pass have one number, whatever their suits."""

    name = "no_like_numbers"
    sentence = "Never pass three of one number"
    says = "three of one number are never passed"
    most = 2
    common = staticmethod(lambda tile: tile.rank)


@dataclass(frozen=True)
class _Keep(Limit):
    """A limit on what the pass leaves."""

    wanted: AtLeast
    sort = Sort.AT_LEAST
    by_family: ClassVar[bool] = False
    # What is kept, one and many.
    nouns: ClassVar[tuple[str, str]]

    @property
    def says(self) -> str:
        count, chance = self.wanted.count, f"{100 * self.wanted.reach:g} %"
        return f"at least {count} {self.nouns[count > 1]} with a chance of {chance} must be kept"

    @classmethod
    def of(cls, value: Value) -> tuple[Limit, ...]:
        return (cls(value),) if isinstance(value, AtLeast) else ()

    def _owners(self, families: tuple[str, ...]) -> Sequence[Hashable]:
        """Return, for each hand, what is counted when the hand is left enough."""
        return families if self.by_family else range(len(families))

    def add(self, model: PassModel) -> None:
        model.keep(self.wanted, self._owners(model.families))

    def holds(self, outcome: Outcome) -> bool:
        owners = self._owners(outcome.families)
        reach = outcome.reach.tolist()
        enough = {owner for owner, left in zip(owners, reach, strict=True) if left >= self.wanted.enough}
        return len(enough) >= self.wanted.count


class KeepHands(_Keep):
    """After the pass, at least ``wanted.count`` hands that count have a reach of ``wanted.reach``."""

    name = "keep_hands"
    sentence = "Keep at least this many hands within reach"
    nouns = ("hand", "hands")


class KeepFamilies(_Keep):
    """After the pass, at least ``wanted.count`` families have a hand with a reach of ``wanted.reach``."""

    name = "keep_families"
    by_family = True
    sentence = "Keep at least this many families with a hand within reach"
    nouns = ("family with a hand", "families with a hand")


# In the order in which controls show them and clashes are looked for.
LIMITS: tuple[type[Limit], ...] = (
    TilesStay,
    TilesGo,
    NoPairs,
    NoFlowers,
    NoNeighbors,
    NoLikeNumbers,
    KeepHands,
    KeepFamilies,
)


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
class Limits:
    """Limits on one pass, in the order of `LIMITS`, and which hands count; the default limits nothing.

    If ``only`` names any, only hands that it has count. Weights, by name, stand in place of the card's.
    """

    on_pass: tuple[Limit, ...] = ()
    only: Choice = field(default_factory=Choice)
    without: Choice = field(default_factory=Choice)
    weights: tuple[tuple[str, float], ...] = ()

    @classmethod
    def of(
        cls,
        *,
        only: Choice | None = None,
        without: Choice | None = None,
        weights: tuple[tuple[str, float], ...] = (),
        **values: Value,
    ) -> Limits:
        """Make limits from the values of those on the pass, by name, see `Limit.of`; KeyError for another."""
        on_pass = [limit for kind in LIMITS for limit in kind.of(values.pop(kind.name, None))]
        if values:
            raise KeyError(*values)
        return cls(tuple(on_pass), only or Choice(), without or Choice(), weights)

    @property
    def choose_hands(self) -> bool:
        """Whether they change which hands count, or how much."""
        return bool(self.only or self.without or self.weights)

    def faults(self, held: Mapping[Tile, int] | None) -> list[Fault]:
        """Return what is wrong with the limits on the pass, each at its name; ``held`` as `Limit.faults`."""
        return [fault.inside(limit.name) for limit in self.on_pass for fault in limit.faults(held)]


def _unknown_names(card: Card, limits: Limits) -> list[Fault]:
    known = {"families": set(card.families), "hands": {hand.name for hand in card.hands}}
    named: list[tuple[tuple[str | int, ...], str, str]] = [
        ((part, sort, index), sort, name)
        for part, choice in (("only", limits.only), ("without", limits.without))
        for sort, names in (("families", choice.families), ("hands", choice.hands))
        for index, name in enumerate(names)
    ]
    named += [(("weights", name), "hands", name) for name, _ in limits.weights]
    return [
        Fault("unknown-name", place, f"the card has no {name!r} among its {sort}")
        for place, sort, name in named
        if name not in known[sort]
    ]


def hand_weights(card: Card, limits: Limits) -> NDArray[np.float64]:
    """Return (H,) weights of the card's hands under the limits; 0 for a hand that does not count.

    Raises:
        FaultyInputError: names the card does not have, or no hand left that counts.
    """
    # The command reads the list of limits without loading this.
    import numpy as np

    faults = _unknown_names(card, limits)
    if faults:
        raise FaultyInputError(faults)
    changed = dict(limits.weights)
    weights = np.array([changed.get(hand.name, hand.weight) for hand in card.hands])
    if limits.only:
        weights[[not limits.only.has(hand) for hand in card.hands]] = 0.0
    if limits.without:
        weights[[limits.without.has(hand) for hand in card.hands]] = 0.0
    if not weights.any():
        raise FaultyInputError([Fault("no-hand-left", (), "the limits leave no hand that counts")])
    return weights
