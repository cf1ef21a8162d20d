"""What comes in: tiles that others pass are not all alike."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

from patterns.tiles import DRAGONS, KINDS, WINDS, Tile
from solver.ahead.passed_shares import SHARES
from solver.chance import Chance
from solver.question import Question
from solver.rounds import Round

# Parts this luck from that of deals, which are named by a seed and a number too.
_LUCK = 0x1C3A_55E7
# A tile that was never passed may still be.
_LEAST = 2


class Sort(Enum):
    """Kinds of tile that others treat alike: ranks whatever the suit, and the honours."""

    ONE = "1"
    TWO = "2"
    THREE = "3"
    FOUR = "4"
    FIVE = "5"
    SIX = "6"
    SEVEN = "7"
    EIGHT = "8"
    NINE = "9"
    WIND = "wind"
    DRAGON = "dragon"
    FLOWER = "flower"


def sort_of(tile: Tile) -> Sort:
    """Return the sort of a natural.

    Raises:
        ValueError: a joker has none; it is never passed.
    """
    if tile in WINDS:
        return Sort.WIND
    if tile in DRAGONS:
        return Sort.DRAGON
    if tile is Tile.FLOWER:
        return Sort.FLOWER
    if tile is Tile.JOKER:
        raise ValueError("a joker is never passed")
    return Sort(str(tile.rank))


def weights_of(round_: Round) -> tuple[int, ...]:
    """Return, for each natural in the fixed order, how readily others pass it when they hold it."""
    shares = dict(zip(Sort, SHARES[round_], strict=True))
    return tuple(max(_LEAST, shares[sort_of(tile)]) for tile in KINDS if tile is not Tile.JOKER)


def incoming(
    question: Question, exchanges: Sequence[tuple[Round, int]], seed: int, sample: int
) -> list[tuple[Tile, ...]]:
    """Return what comes in at some exchanges, drawn from the unseen naturals; jokers never are.

    At a table each unseen tile comes in proportion to how readily others pass its sort (see
    `passed_shares`); in a drill all are equally likely. What comes depends on the rack, the tiles seen,
    the exchanges, the seed and the sample only, so that choices are compared on equal luck.

    Args:
        question: The question.
        exchanges: Rounds and how many tiles come in at each.
        seed: Names the luck.
        sample: Numbers the sample.
    """
    left = question.situation.unseen[:-1].tolist()
    chance = Chance(_LUCK, seed, sample)
    came = []
    for round_, size in exchanges:
        weights = weights_of(round_) if question.drill is None else (1,) * len(left)
        tiles = []
        for _ in range(size):
            place = chance.below(sum(count * weight for count, weight in zip(left, weights, strict=True)))
            for kind, (count, weight) in enumerate(zip(left, weights, strict=True)):  # noqa: B007
                if place < count * weight:
                    break
                place -= count * weight
            left[kind] -= 1
            tiles.append(KINDS[kind])
        came.append(tuple(tiles))
    return came
