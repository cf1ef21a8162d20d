"""Requests within every cap that ask for as much as they can, made by rule."""

import random
from collections.abc import Callable
from itertools import islice
from typing import Any

from patterns.tiles import DRAGONS, KINDS, WINDS, Tile

_NATURALS = KINDS[:-1]
# Fourteen tiles of different kinds: every set of three may go, and a target may lose any of them.
SPREAD = _NATURALS[:14]
SPREAD_RACK = " ".join(tile.value for tile in SPREAD)


def group(tile: Tile, count: int) -> str:
    """Return a group as a card has it."""
    if tile in WINDS or tile in DRAGONS or tile is Tile.FLOWER:
        return f"{tile.name.lower()}*{count}"
    assert tile.suit is not None
    return f"{tile.rank}{tile.suit.name.lower()}*{count}"


def _drawn(draw: Callable[[], str | None], hands: int, alternatives: int) -> dict[str, Any]:
    """Return a card of distinct targets that are drawn until there are enough; None is no target."""
    targets = dict[str, None]()
    while len(targets) < hands * alternatives:
        if (target := draw()) is not None:
            targets[target] = None
    return _written(list(targets), hands)


def _written(targets: list[str], hands: int) -> dict[str, Any]:
    each = iter(targets)
    alternatives = len(targets) // hands
    return {
        "card": {"name": "Dear"},
        "hand": [
            {"name": f"h{index}", "family": "f", "groups": list(islice(each, alternatives))}
            for index in range(hands)
        ],
    }


def singles(hands: int = 300, alternatives: int = 12, seed: int = 1) -> dict[str, Any]:
    """Return a card of singles: each target has twelve of `SPREAD` and two other kinds, so 4,096 losses.

    Args:
        hands: 300 at most.
        alternatives: Of each, 12 at most.
        seed: Names the choice.
    """
    chance = random.Random(seed)

    def draw() -> str:
        kinds = {*chance.sample(SPREAD, 12), *chance.sample(_NATURALS[14:], 2)}
        return " ".join(group(tile, 1) for tile in _NATURALS if tile in kinds)

    return _drawn(draw, hands, alternatives)


def doubles(hands: int = 300, alternatives: int = 12, seed: int = 1) -> dict[str, Any]:
    """Return a card whose targets want three kinds both in a pair or single and in a group.

    Args:
        hands: 300 at most.
        alternatives: Of each, 12 at most.
        seed: Names the choice.
    """
    chance = random.Random(seed)

    def draw() -> str | None:
        kinds = chance.sample(_NATURALS[:-1], 3)
        plain, groups = [chance.randint(1, 2) for _ in kinds], [3, 3, 3]
        left = 14 - sum(plain) - sum(groups)
        wanted = [(tile, count) for pair in (plain, groups) for tile, count in zip(kinds, pair, strict=True)]
        if left > 0:
            wanted.append((Tile.FLOWER, left))
        return " ".join(group(tile, count) for tile, count in wanted) if left >= 0 else None

    return _drawn(draw, hands, alternatives)


def many(hands: int = 3) -> dict[str, Any]:
    """Return a card of 1,728 targets a hand, from 1,728 choices: the fourth hand would be one too many."""
    wanted = "np*1 (n+5)p*1 nq*1 wind1*1 wind2*3 dragon1*3 dragon2*4"
    return _written([wanted] * hands, hands)
