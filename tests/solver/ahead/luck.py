"""Luck that tests can count out."""

from collections.abc import Sequence

import pytest

import solver.ahead as module
from patterns.tiles import Tile
from solver.rounds import Round


def in_heaps(order: Sequence[Tile], exchanges: Sequence[tuple[Round, int]]) -> list[tuple[Tile, ...]]:
    """Cut an order of tiles into what comes in at each exchange."""
    heaps, start = [], 0
    for _, size in exchanges:
        heaps.append(tuple(order[start : start + size]))
        start += size
    return heaps


def all_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every unseen tile be equally likely to come in."""
    monkeypatch.setattr(module, "weights_of", lambda round_: (1,) * 35)
