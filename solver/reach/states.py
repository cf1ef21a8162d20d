"""States of the kinds a target lacks, and signatures that let equal multisets share work.

A signature is the sum, modulo 2**64, of one fixed random number per state: it depends on the multiset
of states only, and losing a tile changes it by a difference. Two different multisets could share one
with a chance of about 3e-8 for a million multisets; the numbers are fixed, so what is true of a rack in
the tests is true of it everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MAX_NEED = 15
_MAX_UNSEEN = 8


def _numbers(seed: int) -> NDArray[np.uint64]:
    """Return a (missing plain, missing grouped, unseen) table of fixed 64-bit numbers (SplitMix64).

    Source of the mixing function: Steele, Lea, Flood (2014), Fast Splittable Pseudorandom Number
    Generators; constants written from memory.
    """
    count = MAX_NEED * MAX_NEED * (_MAX_UNSEEN + 1)
    z = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15) + np.uint64(seed)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (z ^ (z >> np.uint64(31))).reshape(MAX_NEED, MAX_NEED, _MAX_UNSEEN + 1)


def _tables() -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return the numbers for own kinds, and for shared and mixed kinds; zero where not of that sort."""
    own, rest = _numbers(1), _numbers(2)
    own[0] = 0
    own[:, 1:] = 0
    rest[:, 0] = 0
    return own, rest


OWN_NUMBER, REST_NUMBER = _tables()


@dataclass(frozen=True)
class Missing:
    """What each target lacks of each kind, given what is kept.

    Attributes:
        plain: (..., 35) int8, lacking in singles and pairs.
        grouped: (..., 35) int8, lacking in groups of three or more, before any joker.
    """

    plain: NDArray[np.int8]
    grouped: NDArray[np.int8]

    def rows(self) -> Missing:
        """Return the same with all leading axes as one."""
        return Missing(*(each.reshape(-1, each.shape[-1]) for each in (self.plain, self.grouped)))

    def at(self, rows: NDArray[np.intp]) -> Missing:
        """Return some of the rows."""
        return Missing(self.plain[rows], self.grouped[rows])


def missing(plain: NDArray[np.int8], grouped: NDArray[np.int8], kept: NDArray[np.int8]) -> Missing:
    """Return what is lacking: naturals serve singles and pairs first, then groups.

    Args:
        plain: Wanted in singles and pairs.
        grouped: Wanted in groups.
        kept: Naturals kept; all three broadcast against each other.
    """
    zero = np.int8(0)
    return Missing(
        np.maximum(plain - kept, zero),
        np.maximum(grouped - np.maximum(kept - plain, zero), zero),
    )


def numbers(lack: Missing, unseen: NDArray[np.int8]) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return the number of each state as an own kind, and as a shared or mixed one; shapes as ``lack``."""
    index = (lack.plain.astype(np.intp) * MAX_NEED + lack.grouped) * (_MAX_UNSEEN + 1) + unseen
    return OWN_NUMBER.ravel()[index], REST_NUMBER.ravel()[index]


def signatures(lack: Missing, unseen: NDArray[np.int8]) -> tuple[NDArray[np.uint64], NDArray[np.uint64]]:
    """Return the signatures of own kinds, and of shared and mixed kinds, one per target.

    Most kinds are not lacking and add nothing, so the others are looked up alone. Sums wrap modulo 2**64,
    and so do differences of running sums.
    """
    shape, kinds = lack.plain.shape[:-1], lack.plain.shape[-1]
    at = np.flatnonzero(lack.plain | lack.grouped)
    few = Missing(lack.plain.ravel()[at], lack.grouped.ravel()[at])
    ends = np.searchsorted(at, np.arange(0, lack.plain.size + 1, kinds))
    own, rest = (
        np.diff(np.concatenate([[np.uint64(0)], each.cumsum()])[ends]).reshape(shape)
        for each in numbers(few, unseen[at % kinds])
    )
    return own, rest
