"""Remarks on a card that can be used but may not be what its author meant."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from patterns.card import Card, Hand


@dataclass(frozen=True)
class Remark:
    """Something worth a second look, about one hand (``hand`` is its 0-based index)."""

    hand: int
    detail: str


def _needs(hand: Hand) -> frozenset[object]:
    return frozenset(target.needs for target in hand.targets)


def remarks_of(card: Card) -> list[Remark]:
    """Return the remarks in order of hand: hands with the same targets, hands that need jokers."""
    remarks = []
    first_with: dict[object, int] = {}
    for index, hand in enumerate(card.hands):
        first = first_with.setdefault((_needs(hand), hand.concealed), index)
        if first != index:
            remarks.append(Remark(index, f"{hand.name!r} has the same targets as {card.hands[first].name!r}"))
        jokers = [target.jokers_needed for target in hand.targets]
        if max(jokers):
            every = "every target" if min(jokers) else f"{sum(map(bool, jokers))} of {len(jokers)} targets"
            remarks.append(Remark(index, f"{hand.name!r}: {every} cannot be made without jokers"))
    return remarks


def overlaps(card: Card) -> dict[tuple[int, int], int]:
    """Return, for each pair of hands (indexes, ascending), how many targets they share, if any."""
    owners: dict[object, list[int]] = defaultdict(list)
    for index, hand in enumerate(card.hands):
        for target in hand.targets:
            owners[target.needs].append(index)
    shared: dict[tuple[int, int], int] = defaultdict(int)
    for owner in owners.values():
        for i, first in enumerate(owner):
            for second in owner[i + 1 :]:
                shared[first, second] += 1
    return dict(shared)
