"""Traits: number ideas of the trade, read off a hand's targets."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from patterns.card import Trait
from patterns.target import Target
from patterns.tiles import DRAGONS, WINDS, Tile


def _ranks(target: Target) -> list[int]:
    return sorted({tile.rank for tile, _, _ in target.needs if tile.rank is not None})


def _all_ranks_in(wanted: frozenset[int]) -> Callable[[Target], bool]:
    return lambda target: bool(_ranks(target)) and wanted.issuperset(_ranks(target))


def _consecutive(target: Target) -> bool:
    ranks = _ranks(target)
    return len(ranks) >= 3 and ranks[-1] - ranks[0] == len(ranks) - 1


def _one_number(target: Target) -> bool:
    suits = {tile.suit for tile, _, _ in target.needs if tile.suit is not None}
    return len(_ranks(target)) == 1 and len(suits) > 1


def _honours(target: Target) -> bool:
    return all(tile in (*WINDS, *DRAGONS, Tile.FLOWER) for tile, _, _ in target.needs)


_TESTS: dict[Trait, Callable[[Target], bool]] = {
    Trait.EVENS: _all_ranks_in(frozenset({2, 4, 6, 8})),
    Trait.ODDS: _all_ranks_in(frozenset({1, 3, 5, 7, 9})),
    Trait.THREES: _all_ranks_in(frozenset({3, 6, 9})),
    Trait.CONSECUTIVE: _consecutive,
    Trait.ONE_NUMBER: _one_number,
    Trait.HONOURS: _honours,
    Trait.PAIRS_ONLY: lambda target: all(group.count <= 2 for group in target.groups),
    Trait.FIVES: lambda target: any(group.count >= 5 for group in target.groups),
}


def traits_of(targets: Sequence[Target]) -> frozenset[Trait]:
    """Return the traits that every one of the targets has."""
    return frozenset(trait for trait, test in _TESTS.items() if all(map(test, targets)))
