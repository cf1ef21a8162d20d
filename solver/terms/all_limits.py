"""From the limits of a question to the terms that enforce them."""

from __future__ import annotations

from collections import Counter

from patterns.tiles import Tile
from solver.limits import Limits
from solver.terms.keep_families import KeepFamilies
from solver.terms.keep_hands import KeepHands
from solver.terms.limit import Limit
from solver.terms.no_flowers import NoFlowers
from solver.terms.no_neighbours import NoNeighbours
from solver.terms.no_pairs import NoPairs
from solver.terms.tiles_go import TilesGo
from solver.terms.tiles_stay import TilesStay


def limit_terms(limits: Limits) -> tuple[Limit, ...]:
    """Return one term a limit, tiles kind by kind, in a fixed order."""
    terms: list[Limit] = [TilesStay(tile, count) for tile, count in _by_kind(limits.stay)]
    terms += [TilesGo(tile, count) for tile, count in _by_kind(limits.go)]
    if limits.no_pairs:
        terms.append(NoPairs())
    if limits.no_flowers:
        terms.append(NoFlowers())
    if limits.no_neighbours:
        terms.append(NoNeighbours())
    if limits.keep_hands is not None:
        terms.append(KeepHands(limits.keep_hands))
    if limits.keep_families is not None:
        terms.append(KeepFamilies(limits.keep_families))
    return tuple(terms)


def _by_kind(tiles: tuple[Tile, ...]) -> list[tuple[Tile, int]]:
    return sorted(Counter(tiles).items(), key=lambda item: item[0].position)
