"""From what targets lack to their reach: work shared by signature, the rest vectorised."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solver.reach.kernel import Outlook, kernel
from solver.reach.polynomials import MAX_JOKERS, Mixed, Own, Shared, own_polynomial, shared_polynomial
from solver.reach.states import Missing, signatures


@dataclass(frozen=True, eq=False)
class _Ways:
    """A counting polynomial and the kernel it needs.

    Attributes:
        name: Own kinds: unseen tiles of them. Others: unseen tiles of shared kinds, and the mixed states.
        ways: The polynomial, flat.
    """

    name: Hashable
    ways: NDArray[np.float64]


def _own_ways(states: tuple[Own, ...]) -> _Ways:
    polynomial = own_polynomial(states)
    return _Ways(len(polynomial) - 1, polynomial)


def _rest_ways(shared: tuple[Shared, ...], mixed: tuple[Mixed, ...]) -> _Ways:
    polynomial = shared_polynomial(shared)
    return _Ways((len(polynomial) - 1, mixed), polynomial.ravel())


_MAX_REMEMBERED = 100_000
_own_known: dict[int, _Ways] = {}
_rest_known: dict[int, _Ways] = {}


@dataclass(frozen=True)
class Demands:
    """Many demands, each known by its signatures.

    Attributes:
        own: (n,) uint64 signatures of own kinds.
        rest: (n,) uint64 signatures of shared and mixed kinds.
        concealed: (n,) bool, whether claims are of no use.
        lack: Returns what the demands at some indexes lack; asked only for signatures not met before.
    """

    own: NDArray[np.uint64]
    rest: NDArray[np.uint64]
    concealed: NDArray[np.bool_]
    lack: Callable[[NDArray[np.intp]], Missing]

    @classmethod
    def of(cls, lack: Missing, concealed: NDArray[np.bool_], unseen: NDArray[np.int8]) -> Demands:
        """Make demands from what each lacks: (n, 35) arrays, (n,) concealed, (35,) unseen."""
        own, rest = signatures(lack, unseen)
        return cls(own, rest, concealed, lack.at)


def _read(
    demands: Demands, rows: list[int], unseen: NDArray[np.int8]
) -> tuple[dict[int, _Ways], dict[int, _Ways]]:
    """Count the ways behind the signatures of some demands."""
    own_ways: dict[int, _Ways] = {}
    rest_ways: dict[int, _Ways] = {}
    lack = demands.lack(np.array(rows, np.intp))
    for row, plain, grouped in zip(rows, lack.plain.tolist(), lack.grouped.tolist(), strict=True):
        own: list[Own] = []
        shared: list[Shared] = []
        mixed: list[Mixed] = []
        for p, g, a in zip(plain, grouped, unseen.tolist(), strict=True):
            if p and g:
                mixed.append((p, g, a))
            elif p:
                own.append((p, a))
            elif g:
                shared.append((g, a))
        own_ways[int(demands.own[row])] = _own_ways(tuple(sorted(own)))
        rest_ways[int(demands.rest[row])] = _rest_ways(tuple(sorted(shared)), tuple(sorted(mixed)))
    return own_ways, rest_ways


def _remember(own_ways: dict[int, _Ways], rest_ways: dict[int, _Ways]) -> None:
    """Keep ways for later questions; forget all others first when there are too many."""
    if len(_own_known) + len(_rest_known) > _MAX_REMEMBERED:
        _own_known.clear()
        _rest_known.clear()
    _own_known.update(own_ways)
    _rest_known.update(rest_ways)


def reach_of(demands: Demands, outlook: Outlook, unseen: NDArray[np.int8]) -> NDArray[np.float64]:
    """Return the reach of each demand.

    Args:
        demands: The demands.
        outlook: Pool sizes and arrivals.
        unseen: (35,) naturals of each kind not seen.

    Returns:
        (n,) probabilities in [0, 1].
    """
    if not len(demands.own):
        return np.zeros(0)
    own_keys, own_row, own_of = np.unique(demands.own, return_index=True, return_inverse=True)
    rest_keys, rest_row, rest_of = np.unique(demands.rest, return_index=True, return_inverse=True)
    # Own copies: another thread may make the memory forget at any time.
    own = [_own_known.get(key) for key in own_keys.tolist()]
    rest = [_rest_known.get(key) for key in rest_keys.tolist()]
    unknown = {int(row) for ways, row in zip(own, own_row, strict=True) if ways is None}
    unknown |= {int(row) for ways, row in zip(rest, rest_row, strict=True) if ways is None}
    if unknown:
        own_read, rest_read = _read(demands, sorted(unknown), unseen)
        own = [ways or own_read[key] for ways, key in zip(own, own_keys.tolist(), strict=True)]
        rest = [ways or rest_read[key] for ways, key in zip(rest, rest_keys.tolist(), strict=True)]
        _remember(own_read, rest_read)
    hidden = demands.concealed & (outlook.arrivals.mean_claims > 0)
    pair = (own_of * len(rest_keys) + rest_of) * 2 + hidden
    pairs, pair_of = np.unique(pair, return_inverse=True)
    values = _values(
        _Buckets([ways for ways in own if ways]),
        _Buckets([ways for ways in rest if ways]),
        pairs // 2 // len(rest_keys),
        pairs // 2 % len(rest_keys),
        (pairs % 2).astype(bool),
        outlook,
    )
    # Rounding may carry a certain target a little beyond 1.
    return np.minimum(values, 1.0)[pair_of]


def _values(
    owns: _Buckets,
    rests: _Buckets,
    own_at: NDArray[np.intp],
    rest_at: NDArray[np.intp],
    hidden: NDArray[np.bool_],
    outlook: Outlook,
) -> NDArray[np.float64]:
    """Evaluate distinct demands, grouped by the kernel they use."""
    concealed_outlook = replace(outlook, arrivals=outlook.arrivals.without_claims())
    group = (owns.bucket[own_at] * len(rests.names) + rests.bucket[rest_at]) * 2 + hidden
    order = np.argsort(group, kind="stable")
    starts = np.flatnonzero(np.diff(group[order], prepend=-1))
    own_row, rest_row = owns.row[own_at], rests.row[rest_at]
    values = np.zeros(len(group))
    for members in np.split(order, starts[1:]):
        first = members[0]
        own, rest = owns.bucket[own_at[first]], rests.bucket[rest_at[first]]
        own_size = owns.names[own]
        shared_size, mixed = rests.names[rest]
        chances = kernel(concealed_outlook if hidden[first] else outlook, own_size, shared_size, mixed)
        left = owns.rows[own][own_row[members]]
        right = rests.rows[rest][rest_row[members]]
        met = left @ chances.reshape(own_size + 1, (shared_size + 1) * (MAX_JOKERS + 1))
        values[members] = np.einsum("ij,ij->i", met, right)
    return values


class _Buckets:
    """Polynomials stacked by what kernel they need.

    Attributes:
        names: What tells a bucket from the others.
        bucket: (n,) bucket of each polynomial.
        row: (n,) its row there.
        rows: Per bucket, its polynomials as one array.
    """

    def __init__(self, all_ways: list[_Ways]) -> None:
        number: dict[Any, int] = {}
        stacks: list[list[NDArray[np.float64]]] = []
        buckets, row = [], []
        for ways in all_ways:
            bucket = number.setdefault(ways.name, len(stacks))
            if bucket == len(stacks):
                stacks.append([])
            buckets.append(bucket)
            row.append(len(stacks[bucket]))
            stacks[bucket].append(ways.ways)
        self.names = list(number)
        self.bucket, self.row = np.array(buckets, np.intp), np.array(row, np.intp)
        self.rows = [np.array(stack) for stack in stacks]
