"""Chance that is the same on every machine and with every numpy.

numpy promises stable streams for SeedSequence and the raw output of its bit generators, but not for the
methods built on them (NEP 19), so the shuffle is our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np

T = TypeVar("T")
_SPAN = 1 << 64


class Chance:
    """A stream of random choices named by integers.

    Args:
        seed: Any integers from 0 to 2**64 - 1, such as a seed and an index.
    """

    def __init__(self, *seed: int) -> None:
        self._bits = np.random.PCG64(np.random.SeedSequence(seed))

    def below(self, limit: int) -> int:
        """Return an integer from 0 to ``limit`` - 1, all equally likely (by rejection)."""
        fair = _SPAN - _SPAN % limit
        while (raw := int(self._bits.random_raw())) >= fair:
            pass
        return raw % limit

    def shuffled(self, items: Sequence[T]) -> list[T]:
        """Return the items in random order (Fisher and Yates)."""
        order = list(items)
        for last in range(len(order) - 1, 0, -1):
            other = self.below(last + 1)
            order[last], order[other] = order[other], order[last]
        return order
